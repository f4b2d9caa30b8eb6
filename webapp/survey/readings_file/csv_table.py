"""A table in a text file of unknown making: bytes to text, text to rows of cells.

Nothing in a cell is ever run: a formula is text like any other.
"""

import re
from collections.abc import Sequence
from typing import TypedDict

from ..errors import SurveyError
from .csv_numbers import NUMERIC, is_long

MAX_BYTES = 5_000_000
MAX_ROWS = 20_000
MAX_LINE = 20_000  # characters
MAX_JOINED = 20  # lines that one quoted cell may run over
LOOKED_AT = 5000  # lines that the separator is found from
SEPARATORS = (";", "\t", ",", "|")
KINDS = (
    ((0x50, 0x4B, 0x03, 0x04), "zip"), ((0x50, 0x4B, 0x05, 0x06), "zip"), ((0xFF, 0xD8, 0xFF), "picture"),
    ((0x89, 0x50, 0x4E, 0x47), "picture"), ((0x25, 0x50, 0x44, 0x46), "pdf"), ((0x1F, 0x8B), "packed"),
    ((0xD0, 0xCF, 0x11, 0xE0), "office"), ((0x23, 0x41, 0x31, 0x3D), "exchange"),
)  # fmt: skip
# What Windows 1252 puts where ISO-8859-1 has no letters, from 0x80 on; 0 where it has none either.
WINDOWS = (
    0x20AC, 0, 0x201A, 0x192, 0x201E, 0x2026, 0x2020, 0x2021, 0x2C6, 0x2030, 0x160, 0x2039, 0x152, 0, 0x17D,
    0, 0, 0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014, 0x2DC, 0x2122, 0x161, 0x203A, 0x153, 0,
    0x17E, 0x178,
)  # fmt: skip
SURROGATE = re.compile(rb"[\xd8-\xdf]")
HIGH = re.compile(r"[\x80-\x9f]")
QUOTED = re.compile(r'"[^"]*"')
SAID = re.compile(r'"?sep=([;\t,|])"?[;\t,|]*', re.IGNORECASE)
UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff]")
LINE_END = re.compile(r"\r\n|\r|\n")
EDGE = " \t\u00a0\u2007\u2009\u202f"


def decode_text(data: Sequence[int]) -> dict[str, str]:
    """Return the text that bytes hold, and in which character set.

    Returns
    -------
    dict
        ``text``, in which what cannot be printed is a ``?``, and ``charset``: UTF-8, UTF-16 (with or
        without its mark) or ISO-8859-1 (with the letters of Windows 1252).

    Raises
    ------
    SurveyError
        ``csv_empty``; ``csv_too_large`` (field ``bytes``); ``csv_kind``, with the kind as its field:
        ``zip``, ``picture``, ``pdf``, ``packed``, ``office``, ``exchange`` or ``binary``.

    References
    ----------
    RFC 4180 leaves the character set open; the marks are those of Unicode 15, section 23.8.

    Examples
    --------
    >>> decode_text(b"a;b")
    {'text': 'a;b', 'charset': 'UTF-8'}
    >>> decode_text(bytes([0xB0]))
    {'text': '°', 'charset': 'ISO-8859-1'}
    """
    if len(data) > MAX_BYTES:
        raise SurveyError("csv_too_large", "bytes")
    raw = bytes(data)
    if not raw.strip(b"\xef\xbb\xbf \t\r\n"):
        raise SurveyError("csv_empty")
    for start, kind in KINDS:
        if raw.startswith(bytes(start)):
            raise SurveyError("csv_kind", kind)
    text, charset = _decoded(raw)
    if not text.strip(EDGE + "\r\n"):
        raise SurveyError("csv_empty")
    return {"text": UNPRINTABLE.sub("?", text), "charset": charset}


def _decoded(raw: bytes) -> tuple[str, str]:
    for mark, name in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if raw.startswith(mark):
            try:
                text = raw[2:].decode(name)
            except UnicodeDecodeError as error:
                raise SurveyError("csv_kind", "binary") from error
            if "\0" in text:
                raise SurveyError("csv_kind", "binary")
            return text, "UTF-16"
    if b"\0" in raw and (name := _unmarked(raw)):
        return raw.decode(name), "UTF-16"
    if b"\0" in raw:
        raise SurveyError("csv_kind", "binary")
    plain = raw.removeprefix(b"\xef\xbb\xbf")
    try:
        return plain.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
        return HIGH.sub(lambda m: chr(WINDOWS[ord(m[0]) - 0x80] or 0x3F), text), "ISO-8859-1"


def _unmarked(raw: bytes) -> str:
    """The byte order of UTF-16 without its mark, where every other byte is zero; else empty."""
    high, low = raw[1::2], raw[::2]
    for name, zeros, letters in (("utf-16-le", high, low), ("utf-16-be", low, high)):
        if len(raw) % 2 == 0 and b"\0" not in letters and 10 * zeros.count(0) >= 9 * len(zeros):
            return name if not SURROGATE.search(zeros) else ""
    return ""


class CsvRow(TypedDict):
    """A row of a text, by its line; ``closed``: no quotation mark was left open in it."""

    line: int
    cells: list[str]
    closed: bool


class CsvTable(TypedDict):
    """The rows of a text as cells; ``ended``: its last line has an end."""

    separator: str
    rows: list[CsvRow]
    ended: bool


def split_table(text: str, separator: str) -> CsvTable:
    """Return the rows of a text as cells.

    Parameters
    ----------
    separator : str
        One of ``;``, tab, ``,`` and ``|``; empty to find it.

    Returns
    -------
    dict
        ``separator``, where none is given the one that a first line ``sep=;`` says, else the one that most
        lines have equally often; ``rows``, each with ``line`` (from 1), ``cells`` and ``closed`` (false where
        a quotation mark is not closed); ``ended``, whether the last line has its line end. Empty lines are
        left out.

    Raises
    ------
    SurveyError
        ``csv_empty``; ``csv_too_large`` (field ``rows``) for more than 20,000 rows; ``csv_kind`` (field
        ``long``) for a line of more than 20,000 characters.

    References
    ----------
    RFC 4180; semicolons, tabs and mixed line ends: common practice, no source.

    Examples
    --------
    >>> split_table('m;deg\\r\\n"1;0";2\\n', "")["rows"][1]
    {'line': 2, 'cells': ['1;0', '2'], 'closed': True}
    """
    lines = LINE_END.split(text)
    if any(len(line) > MAX_LINE for line in lines):
        raise SurveyError("csv_kind", "long")
    declared = SAID.fullmatch(lines[0])
    found = separator or (declared[1] if declared else _separator(lines))
    rows: list[CsvRow] = []
    at = 1 if declared else 0
    while at < len(lines):
        cells, used = _cells(lines, at, found)
        if any(cells):
            if len(rows) == MAX_ROWS:
                raise SurveyError("csv_too_large", "rows")
            rows.append({"line": at + 1, "cells": cells, "closed": used > 0})
        at += max(used, 1)
    if not rows:
        raise SurveyError("csv_empty")
    return {"separator": found, "rows": rows, "ended": lines[-1].strip(EDGE) == ""}


def _separator(lines: Sequence[str]) -> str:
    """The sign that most lines of numbers have equally often; where there are none, that most lines have."""
    looked_at = [QUOTED.sub("0", line) for line in lines[:LOOKED_AT] if line.strip(EDGE)]
    best, most = SEPARATORS[0], (0, 0)
    for sign in SEPARATORS:
        alike: dict[int, int] = {}
        of_numbers: dict[int, int] = {}
        for line in looked_at:
            if (count := line.count(sign)) > 0:
                alike[count] = alike.get(count, 0) + 1
                of_numbers[count] = of_numbers.get(count, 0) + _of_numbers(line.split(sign))
        points = (max(of_numbers.values(), default=0), max(alike.values(), default=0))
        if points > most:
            best, most = sign, points
    return best


def _of_numbers(cells: Sequence[str]) -> int:
    """1 for a line whose cells are numbers, two at least; else 0."""
    filled = [cell for cell in (cell.strip(EDGE) for cell in cells) if cell]
    return int(len(filled) > 1 and all(not is_long(cell) and NUMERIC.fullmatch(cell) for cell in filled))


def _cells(lines: Sequence[str], at: int, separator: str) -> tuple[list[str], int]:
    """Return the cells of the row that begins at a line and how many lines it takes; 0 if it never closes."""
    text = lines[at]
    if '"' not in text:
        return [cell.strip(EDGE) for cell in text.split(separator)], 1
    for more in range(MAX_JOINED):
        cells = _quoted(text, separator)
        if cells is not None:
            return cells, more + 1
        if at + more + 1 >= len(lines):
            break
        text = f"{text}\n{lines[at + more + 1]}"
    return [cell.strip(EDGE) for cell in lines[at].split(separator)], 0


def _quoted(text: str, separator: str) -> list[str] | None:
    """Return the cells of a text with quotation marks; None if one is not closed."""
    cells: list[str] = []
    at = 0
    while True:
        while at < len(text) and text[at] in EDGE and text[at] != separator:
            at += 1
        if at < len(text) and text[at] == '"':
            cell, at = _inside(text, at + 1)
            if at < 0:
                return None
        else:
            cell = ""
        end = text.find(separator, at)
        tail = text[at:] if end < 0 else text[at:end]
        cells.append((cell + tail).strip(EDGE))
        if end < 0:
            return cells
        at = end + 1


def _inside(text: str, at: int) -> tuple[str, int]:
    """Return what stands between quotation marks and where it ends; -1 if it does not."""
    parts: list[str] = []
    while True:
        end = text.find('"', at)
        if end < 0:
            return "", -1
        parts.append(text[at:end])
        if text[end + 1 : end + 2] != '"':
            return "".join(parts), end + 1
        parts.append('"')
        at = end + 2
