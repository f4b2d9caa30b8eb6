"""Rows of a damaged SQLite file, page by page, without SQLite: only read, and nothing is trusted.

The file format is https://www.sqlite.org/fileformat2.html; sections are named where they are used.  Every
version of a page counts, in the file and in the write-ahead log.  Whoever asks proves a row by its hash.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from io import FileIO
from pathlib import Path

Value = int | float | str | bytes | None
Row = tuple[Value, ...]
USUAL_PAGE = 4096
LARGE, SMALL = 1 << 20, 512  # bytes read at once; where the disk refuses, sector by sector
_INDEX_INTERIOR, _INDEX_LEAF, _TABLE_LEAF = 2, 10, 13
_WAL_HEADER, _FRAME_HEADER = 32, 24
_MOST_COLUMNS = 40
_INTEGER_BYTES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}


class NotACell(Exception):
    """What lies here is no row."""


@dataclass
class Page:
    """One version of a page, and what was found on it."""

    number: int
    data: bytes
    sound: bool = True  # every cell that its header names could be read
    rows: list[Row] = field(default_factory=list)


class Pages:
    """All versions of all pages of a database file and its write-ahead log."""

    def __init__(self, database: Path) -> None:
        """``database`` is the SQLite file; the log lies beside it.  Either may be missing."""
        self._file = _bytes_of(database)
        self._log = _bytes_of(database.with_name(f"{database.name}-wal"))
        self.page_size = self._page_size()
        reserved = (
            self._file[20] if len(self._file) > 20 and self._file.startswith(b"SQLite format 3\0") else 0
        )
        self._usable = self.page_size - (reserved if reserved <= 32 else 0)
        self._versions: dict[int, list[bytes]] = {}
        self._prefer = -1  # the newest version of a page that a row goes on to
        self._read()

    def __len__(self) -> int:
        return len(self._versions)

    def pages(self) -> Iterator[Page]:
        """Yield every version of every page with its rows; one that is not sound is searched byte by byte."""
        for prefer in (-1, 0) if self._log else (-1,):
            self._prefer = prefer
            for number, versions in sorted(self._versions.items()):
                for data in versions:
                    page = Page(number, data)
                    self._by_header(page)
                    if not page.sound:
                        page.rows += self._searched(data)
                    yield page

    def _page_size(self) -> int:
        """Section 1.3.2; where the header is damaged, what the log says, else what is usual."""
        stated = struct.unpack(">H", self._file[16:18])[0] if len(self._file) >= 18 else 0
        in_log = struct.unpack(">I", self._log[8:12])[0] if len(self._log) >= 12 else 0
        for size in (65536 if stated == 1 else stated, in_log):
            if 512 <= size <= 65536 and size & (size - 1) == 0:
                return int(size)
        return USUAL_PAGE

    def _read(self) -> None:
        size = self.page_size
        for start in range(0, len(self._file), size):
            page = self._file[start : start + size].ljust(size, b"\0")
            self._versions[start // size + 1] = [page]
        step = size + _FRAME_HEADER
        for start in range(_WAL_HEADER, len(self._log), step):
            number = int.from_bytes(self._log[start : start + 4], "big")
            page = self._log[start + _FRAME_HEADER : start + step]
            if 0 < number < 1 << 31 and len(page) == size:
                held = self._versions.setdefault(number, [])
                if page not in held[-1:]:
                    held.append(page)

    def _by_header(self, page: Page) -> None:
        """Read the cells that a page's header names (section 1.6)."""
        start = 100 if page.number == 1 else 0
        kind = page.data[start]
        if kind not in (_INDEX_INTERIOR, _INDEX_LEAF, _TABLE_LEAF):
            page.sound = kind == 5 or not any(page.data)  # an interior page of a table holds no rows
            return
        first = start + (12 if kind == _INDEX_INTERIOR else 8)
        count = int.from_bytes(page.data[start + 3 : start + 5], "big")
        if first + 2 * count > len(page.data):
            page.sound = False
            return
        taken = self._free(page.data, start)
        for (offset,) in struct.iter_unpack(">H", page.data[first : first + 2 * count]):
            try:
                row, length = self._cell(page.data, offset, kind)
                page.rows.append(row)
                taken += max(length, 4)
            except NotACell:
                page.sound = False
        content = int.from_bytes(page.data[start + 5 : start + 7], "big") or 65536
        # What is neither a cell nor free was a cell, whatever the header counts.
        page.sound = page.sound and taken == self._usable - content

    @staticmethod
    def _free(data: bytes, start: int) -> int:
        """Return how many bytes among the cells of a page are free (section 1.6)."""
        at, free, seen = int.from_bytes(data[start + 1 : start + 3], "big"), data[start + 7], set[int]()
        while at and at not in seen and at + 4 <= len(data):
            seen.add(at)
            free += int.from_bytes(data[at + 2 : at + 4], "big")
            at = int.from_bytes(data[at : at + 2], "big")
        return free

    def _searched(self, data: bytes) -> Iterator[Row]:
        """Try every place of a page whose header or pointers cannot be trusted."""
        for offset in range(len(data) - 4):
            for kind in (_INDEX_LEAF, _TABLE_LEAF):
                try:
                    row, _ = self._cell(data, offset, kind)
                except NotACell:
                    continue
                if len(row) > 2 and (row[0] is None or isinstance(row[0], str)):
                    yield row

    def _cell(self, data: bytes, offset: int, kind: int) -> tuple[Row, int]:
        """Return the row of one cell (section 1.6), its overflow pages read too, and the cell's length."""
        at = offset + (4 if kind == _INDEX_INTERIOR else 0)
        size, at = varint(data, at)
        if kind == _TABLE_LEAF:
            _, at = varint(data, at)  # the rowid
        local = self._local(size, kind)
        if size < 2 or at + local > len(data):
            raise NotACell
        if local == size:
            return record(data[at : at + size]), at + size - offset
        columns(data[at : at + local], size)  # no chain is followed for what is no row
        last = at + local
        more = int.from_bytes(data[last : last + 4], "big")
        return record(data[at:last] + self._overflow(more, size - local)), last + 4 - offset

    def _local(self, size: int, kind: int) -> int:
        """Return how many bytes of a row lie on its own page (section 1.6)."""
        usable = self._usable
        most = usable - 35 if kind == _TABLE_LEAF else (usable - 12) * 64 // 255 - 23
        if size <= most:
            return size
        least = (usable - 12) * 32 // 255 - 23
        found = least + (size - least) % (usable - 4)
        return found if found <= most else least

    def _overflow(self, number: int, size: int) -> bytes:
        """Return what lies on a chain of pages, newest versions first."""
        found, seen, wanted = [], set[int](), size
        while wanted > 0:
            versions = self._versions.get(number)
            if not versions or number in seen:
                raise NotACell
            seen.add(number)
            page = versions[self._prefer]
            found.append(page[4 : 4 + min(wanted, self._usable - 4)])
            wanted -= len(found[-1])
            number = int.from_bytes(page[:4], "big")
        return b"".join(found)


def varint(data: bytes, at: int) -> tuple[int, int]:
    """Return a number of 1 to 9 bytes and the place behind it (section 1.6)."""
    value = 0
    for step in range(9):
        if at >= len(data):
            raise NotACell
        byte = data[at]
        at += 1
        if step == 8:
            return value << 8 | byte, at
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            break
    return value, at


def columns(data: bytes, size: int) -> tuple[list[int], int]:
    """Return the serial types of a record of ``size`` bytes, and where its values begin (section 2.1)."""
    head, at = varint(data, 0)
    if not 2 <= head <= min(size, len(data)):
        raise NotACell
    kinds: list[int] = []
    total = head
    while at < head:
        kind, at = varint(data, at)
        kinds.append(kind)
        total += width(kind)
        if total > size or len(kinds) > _MOST_COLUMNS:
            raise NotACell
    if at != head or total != size:
        raise NotACell
    return kinds, head


def record(data: bytes) -> Row:
    """Return the values of a record (section 2.1)."""
    kinds, at = columns(data, len(data))
    found: list[Value] = []
    for kind in kinds:
        found.append(_value(kind, data[at : at + width(kind)]))
        at += width(kind)
    return tuple(found)


def width(kind: int) -> int:
    """Return how many bytes a value of a serial type takes."""
    if kind >= 12:
        return (kind - 12) // 2
    if kind in (10, 11):
        raise NotACell
    return {**_INTEGER_BYTES, 7: 8}.get(kind, 0)


def _value(kind: int, data: bytes) -> Value:
    if kind in _INTEGER_BYTES:
        return int.from_bytes(data, "big", signed=True)
    if kind == 7:
        return float(struct.unpack(">d", data)[0])
    if kind in (8, 9):
        return kind - 8
    if kind < 12:
        return None
    if kind % 2 == 0:
        return data
    try:
        return data.decode()
    except UnicodeDecodeError:
        return data


def _bytes_of(path: Path) -> bytes:
    """Return what can be read of a file: what the disk refuses is zeros."""
    try:
        with path.open("rb", buffering=0) as file:
            return _blocks(file, path.stat().st_size)
    except FileNotFoundError:
        return b""


def _blocks(file: FileIO, size: int) -> bytes:
    found, at, block = bytearray(size), 0, LARGE
    while at < size:
        file.seek(at)
        try:
            piece = file.read(min(block, size - at))
        except OSError:
            if block == LARGE:
                block = SMALL
                continue
            at += SMALL
            continue
        if not piece:
            break
        found[at : at + len(piece)] = piece
        at += len(piece)
    return bytes(found)
