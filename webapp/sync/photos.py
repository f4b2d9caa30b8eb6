"""Photos arrive in pieces, go on where they broke off, and are whole only when the hash says so."""

import hashlib
import os
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..errors import AppError
from ..store import photos as store
from ..store.engine import reading, writing
from ..store.folder import sync_folder
from .exchange import now_text

SHA256 = re.compile(r"[0-9a-f]{64}")
MEDIA_TYPE = re.compile(r"[a-z0-9][a-z0-9!#$&^_.+-]{0,60}/[a-z0-9][a-z0-9!#$&^_.+-]{0,30}")
MOST_BYTES = 200_000_000
MOST_PIECE_BYTES = 8 * 1024 * 1024
_READ_BYTES = 1024 * 1024


class OffsetMismatch(AppError):
    """A piece that does not start where the last one ended; says where to go on."""

    def __init__(self, offset: int) -> None:
        super().__init__("photo_offset_mismatch", f"It goes on at byte {offset:,}.", field="Upload-Offset")
        self.offset = offset

    def as_json(self) -> dict[str, Any]:
        """Return the error shape, with the offset beside it."""
        return super().as_json() | {"offset": self.offset}


@dataclass(frozen=True)
class Progress:
    """How much of a photo is here."""

    offset: int
    complete: bool


class Photos:
    """The photos of one data folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._guard = threading.Lock()
        self._locks: dict[str, tuple[threading.Lock, int]] = {}

    def progress(self, sha256: str) -> Progress:
        """Return how much of a photo is here; offset 0 when nothing is there yet."""
        if row := self.row(sha256):
            return Progress(row["size_bytes"], True)
        part = store.part_of(self._folder, sha256)
        return Progress(part.stat().st_size if part.exists() else 0, False)

    def row(self, sha256: str) -> dict[str, Any] | None:
        """Return what is known of a whole photo; None if it is not here, or its file was lost."""
        check_name(sha256)
        with reading() as connection:
            found = store.find(connection, sha256)
        return found if found and self.is_file(sha256) else None

    def is_file(self, sha256: str) -> bool:
        """Say whether a photo's file is there."""
        return self.path(sha256).exists()

    def path(self, sha256: str) -> Path:
        """Return where a whole photo lies."""
        return store.path_of(self._folder, check_name(sha256))

    def bytes_of(self, sha256: str) -> bytes | None:
        """Return a photo's bytes, or None if it is not here."""
        path = self.path(sha256)
        return path.read_bytes() if self.row(sha256) and path.exists() else None

    def take_piece(self, sha256: str, offset: int, total: int, piece: bytes, media_type: str) -> Progress:
        """Take one piece.  Says complete only when the whole is on disk and its hash is right."""
        check_name(sha256)
        if total > MOST_BYTES:
            raise AppError("photo_too_large", field="Upload-Length")
        if not 0 <= offset <= total or total < 1 or offset + len(piece) > total:
            raise AppError(
                "request_malformed", "Offset, length and body do not fit together.", "Upload-Offset"
            )
        with self._alone(sha256):
            if row := self.row(sha256):
                return Progress(row["size_bytes"], True)
            part = store.part_of(self._folder, sha256)
            here = part.stat().st_size if part.exists() else 0
            if self._whole_without_row(sha256, total):
                return self._keep(sha256, total, media_type)
            if offset != here:
                raise OffsetMismatch(here)
            _append(part, piece)
            if offset + len(piece) < total:
                return Progress(offset + len(piece), False)
            return self._finish(sha256, part, total, media_type)

    def keep_whole(self, sha256: str, data: bytes, media_type: str) -> Progress:
        """Keep a photo that came in one go, with a job file or a pack."""
        with self._alone(check_name(sha256)):
            if self.row(sha256):
                return Progress(len(data), True)
            part = store.part_of(self._folder, sha256)
            part.unlink(missing_ok=True)
            _append(part, data)
            return self._finish(sha256, part, len(data), media_type)

    def _whole_without_row(self, sha256: str, total: int) -> bool:
        """The server may have died between the rename and the row."""
        path = self.path(sha256)
        return path.exists() and path.stat().st_size == total and hash_of(path) == sha256

    def _finish(self, sha256: str, part: Path, total: int, media_type: str) -> Progress:
        if hash_of(part) != sha256:
            part.unlink()
            raise AppError("photo_hash_mismatch")
        os.replace(part, self.path(sha256))
        sync_folder(part.parent)
        sync_folder(part.parent.parent)
        return self._keep(sha256, total, media_type)

    def _keep(self, sha256: str, total: int, media_type: str) -> Progress:
        with writing() as connection:
            store.add(connection, sha256, total, clean_media_type(media_type), now_text())
        return Progress(total, True)

    @contextmanager
    def _alone(self, sha256: str) -> Iterator[None]:
        """One request at a time for each photo; the lock goes when nobody waits for it."""
        with self._guard:
            lock, users = self._locks.get(sha256, (threading.Lock(), 0))
            self._locks[sha256] = (lock, users + 1)
        try:
            with lock:
                yield
        finally:
            with self._guard:
                users = self._locks[sha256][1] - 1
                if users:
                    self._locks[sha256] = (lock, users)
                else:
                    del self._locks[sha256]


def check_name(sha256: str) -> str:
    """Return the name if it is the SHA-256 in lower case; AppError if not."""
    if not SHA256.fullmatch(sha256):
        raise AppError("photo_name")
    return sha256


def clean_media_type(media_type: str) -> str:
    """Return a media type that is safe to send back, parameters left out."""
    bare = media_type.split(";")[0].strip().lower()
    return bare if MEDIA_TYPE.fullmatch(bare) else "application/octet-stream"


def hash_of(path: Path) -> str:
    """Return the SHA-256 of a file."""
    found = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(_READ_BYTES):
            found.update(block)
    return found.hexdigest()


def _append(part: Path, piece: bytes) -> None:
    part.parent.mkdir(mode=0o700, exist_ok=True)
    before = part.stat().st_size if part.exists() else 0
    try:
        with part.open("ab") as file:
            file.write(piece)
            file.flush()
            os.fsync(file.fileno())
    except OSError:
        os.truncate(part, before)  # a disk that filled up half-way must not leave half a piece
        raise
