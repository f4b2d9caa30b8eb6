"""Where the bytes of photos lie: in the data folder, or in an S3-compatible store (place_s3.py).

A photo gathers in pieces and becomes whole under its SHA-256; a whole photo never changes.
"""

import hashlib
import itertools
import os
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, Protocol

from ..errors import AppError
from .folder import sync_file, sync_folder

Bytes = bytes | memoryview
ASIDE = "damaged_photos"
MARK, MARKED = "mark", "The photos of a Fallbook data folder.\n"
_READ_BYTES = 1024 * 1024


class PhotoStorage(Protocol):
    """What photos need of a place.  ``trusted``: it loses nothing, so nobody looks again at every sync."""

    trusted: bool

    def size(self, sha256: str) -> int | None:
        """Return the size of a whole photo; None if it is not here."""

    def open(self, sha256: str) -> BinaryIO:
        """Return a whole photo's bytes as a stream; OSError if it is not here."""

    def path(self, sha256: str) -> Path | None:
        """Return the file of a whole photo, where the place has files of its own."""

    def part_size(self, sha256: str) -> int:
        """Return how many bytes of a photo have gathered."""

    def append(self, sha256: str, offset: int, piece: bytes) -> None:
        """Add a piece behind what has gathered; on disk when this returns, or not there at all."""

    def part_hash(self, sha256: str) -> str:
        """Return the SHA-256 of what has gathered."""

    def complete(self, sha256: str) -> None:
        """Make whole what has gathered; its name lasts from the next ``settle`` on."""

    def put(self, sha256: str, data: Bytes) -> None:
        """Keep a whole photo, or nothing of it; its name lasts from the next ``settle`` on."""

    def set_aside(self, sha256: str) -> None:
        """Move what lies damaged under a photo's name to where nothing is overwritten."""

    def mark(self) -> None:
        """Mark the place as the one that photos are put into."""

    def check(self) -> None:
        """Read the mark; AppError ``photos_lost`` where the place is not the one that was marked."""

    def settle(self, names: Iterable[str]) -> None:
        """Make the names of whole photos last."""

    def drop_part(self, sha256: str) -> None:
        """Throw away what has gathered."""

    def gathering(self) -> Iterator[str]:
        """Yield the hash of each photo of which pieces have gathered."""

    def last_piece_s(self, sha256: str) -> float | None:
        """Return when the last piece of a photo came [s since 1970]; None where none has gathered."""

    def delete(self, sha256: str) -> None:
        """Delete a photo, whatever lies of it, for good."""

    def names(self) -> Iterator[tuple[str, int, bool]]:
        """Yield the name of everything here, its size, and whether it is a whole photo."""


def hash_of(stream: BinaryIO) -> str:
    """Return the SHA-256 of a stream."""
    found = hashlib.sha256()
    while block := stream.read(_READ_BYTES):
        found.update(block)
    return found.hexdigest()


class FolderStorage:
    """The folder ``photos`` of the data folder, out of which anybody may move a file."""

    trusted = False

    def __init__(self, folder: Path) -> None:
        self._folder = folder / "photos"
        self._lasting: set[Path] = set()  # folders whose own names are known to be on disk

    def size(self, sha256: str) -> int | None:
        """Return the size of a whole photo; None if it is not here."""
        try:
            return self.path(sha256).stat().st_size
        except OSError:  # not there, or the disk does not say
            return None

    def open(self, sha256: str) -> BinaryIO:
        """Return a whole photo's bytes as a stream."""
        return self.path(sha256).open("rb")

    def path(self, sha256: str) -> Path:
        """Return where a whole photo lies."""
        return self._folder / sha256[:2] / sha256

    def part_size(self, sha256: str) -> int:
        """Return how many bytes of a photo have gathered."""
        try:
            return self._part(sha256).stat().st_size
        except FileNotFoundError:
            return 0

    def append(self, sha256: str, offset: int, piece: bytes) -> None:
        """Add a piece behind what has gathered."""
        part = self._part(sha256)
        try:
            with self._open(part, "ab") as file:
                write_all(file, piece)
        except OSError:
            with suppress(FileNotFoundError):
                os.truncate(part, offset)  # a disk that filled up half-way must not leave half a piece
            raise

    def part_hash(self, sha256: str) -> str:
        """Return the SHA-256 of what has gathered."""
        with self._part(sha256).open("rb") as file:
            return hash_of(file)

    def complete(self, sha256: str) -> None:
        """Make whole what has gathered."""
        os.replace(self._part(sha256), self.path(sha256))

    def put(self, sha256: str, data: Bytes) -> None:
        """Keep a whole photo."""
        part = self._part(sha256)
        try:
            with self._open(part, "wb") as file:
                write_all(file, data)
            os.replace(part, self.path(sha256))
        except OSError:
            part.unlink(missing_ok=True)
            raise

    def set_aside(self, sha256: str) -> None:
        """Move what lies damaged under a photo's name into the folder ``damaged_photos``."""
        aside = self._folder.with_name(ASIDE)
        aside.mkdir(mode=0o700, exist_ok=True)
        for number in itertools.count():
            try:
                os.link(self.path(sha256), aside / f"{sha256}.{number}")  # fails where the name is taken
            except FileExistsError:
                continue
            except OSError:  # a disk that knows no links
                if (aside / f"{sha256}.{number}").exists():
                    continue
                os.replace(self.path(sha256), aside / f"{sha256}.{number}")
            else:
                self.path(sha256).unlink()
            break
        sync_folder(aside)

    def mark(self) -> None:
        """Put a small file into the folder; a disk that is not mounted has none."""
        mark = self._folder / MARK
        if not mark.exists():
            self._folder.mkdir(mode=0o700, exist_ok=True)
            mark.write_text(MARKED, encoding="ascii")

    def check(self) -> None:
        """Read the mark."""
        try:
            if (self._folder / MARK).read_text(encoding="ascii") == MARKED:
                return
        except (OSError, ValueError):
            pass
        raise AppError("photos_lost")

    def settle(self, names: Iterable[str]) -> None:
        """Make the names of whole photos last: their folders', and once the names of these folders."""
        folders = {self.path(name).parent for name in names}
        for folder in folders:
            sync_folder(folder)
        if new := folders - self._lasting:
            sync_folder(self._folder)
            if not self._lasting:
                sync_folder(self._folder.parent)
            self._lasting |= new

    def drop_part(self, sha256: str) -> None:
        """Throw away what has gathered."""
        self._part(sha256).unlink(missing_ok=True)

    def gathering(self) -> Iterator[str]:
        """Yield the hash of each photo of which pieces have gathered."""
        yield from sorted(path.stem for path in self._folder.glob("??/*.part") if len(path.stem) == 64)

    def last_piece_s(self, sha256: str) -> float | None:
        """Return when the last piece of a photo came [s since 1970]."""
        try:
            return self._part(sha256).stat().st_mtime
        except FileNotFoundError:
            return None

    def delete(self, sha256: str) -> None:
        """Delete a photo, what has gathered of it, and what was set aside, for good."""
        aside = self._folder.with_name(ASIDE)
        found = [self.path(sha256), self._part(sha256), *sorted(aside.glob(f"{sha256}.*"))]
        for path in found:
            path.unlink(missing_ok=True)
        for folder in {path.parent for path in found}:
            if folder.is_dir():
                sync_folder(folder)

    def names(self) -> Iterator[tuple[str, int, bool]]:
        """Yield the name of every file, its size, and whether it is a whole photo."""
        for path in sorted(self._folder.rglob("*")):
            with suppress(OSError):  # a folder that may not be looked into
                if not path.is_dir() and path.name != MARK:
                    yield path.name, path.stat().st_size, not path.suffix

    def _part(self, sha256: str) -> Path:
        return self.path(sha256).with_suffix(".part")

    def _open(self, part: Path, mode: str) -> BinaryIO:
        """Open a file to write; its folder is made where it is not there, whoever took it away."""
        try:
            return part.open(mode)  # type: ignore[return-value]
        except FileNotFoundError:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            part.parent.mkdir(mode=0o700, exist_ok=True)
            self._lasting.discard(part.parent)
            return part.open(mode)  # type: ignore[return-value]


def write_all(file: BinaryIO, data: Bytes) -> None:
    """Write, and wait until it is on disk."""
    file.write(data)
    file.flush()
    sync_file(file.fileno())


def copy_whole(source: PhotoStorage, target: PhotoStorage, sha256: str) -> bool:
    """Copy a whole photo; False if it was there already.  OSError if the source lacks it or it is damaged."""
    if target.size(sha256) is not None and target.size(sha256) == source.size(sha256):
        return False
    target.drop_part(sha256)
    with source.open(sha256) as stream:
        offset = 0
        while piece := stream.read(8 * _READ_BYTES):
            target.append(sha256, offset, piece)
            offset += len(piece)
    if offset == 0 or target.part_hash(sha256) != sha256:
        target.drop_part(sha256)
        raise OSError(f"photo {sha256} is damaged")
    target.complete(sha256)
    target.settle([sha256])
    return True
