"""Photos arrive in pieces, go on where they broke off, and are whole only when the hash says so."""

import errno
import hashlib
import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from ..store import change_rows, erasure_rows, photo_rows
from ..store.engine import reading, writing
from ..store.photo_storage import Bytes, FolderStorage, PhotoStorage, hash_of
from ..store.rows import PhotoRow
from .exchange import now_text
from .photo_remarks import HEAD_BYTES, keep_remarks, remark_on
from .photo_turns import PhotoTurns

SHA256 = re.compile(r"[0-9a-f]{64}")
MEDIA_TYPE = re.compile(r"[a-z0-9][a-z0-9!#$&^_.+-]{0,60}/[a-z0-9][a-z0-9!#$&^_.+-]{0,30}")
MAX_BYTES = BUDGETS.photo_bytes
MAX_TOGETHER = BUDGETS.photos_a_request


class OffsetMismatch(AppError):
    """A piece that does not start where the last one ended; says where to go on."""

    def __init__(self, offset: int) -> None:
        super().__init__(
            "photo_offset_mismatch", t("api.goes_on_at", offset=f"{offset:,}"), field="Upload-Offset"
        )
        self.offset = offset

    def as_json(self) -> dict[str, object]:
        """Return the error shape, with the offset beside it."""
        return super().as_json() | {"offset": self.offset}


@dataclass(frozen=True)
class Progress:
    """How much of a photo is here."""

    offset: int
    complete: bool


@dataclass(frozen=True)
class _Arrived:
    """A photo whose bytes are in their place; ``head`` has the first of them where they are at hand."""

    sha256: str
    size_bytes: int
    media_type: str
    head: Bytes | None = None


@dataclass(frozen=True)
class Whole:
    """A photo that comes in one go."""

    sha256: str
    data: Bytes
    media_type: str


class Photos:
    """The photos of one server: pieces, wholes and their rows."""

    def __init__(self, folder: Path, *, shared: bool = False, place: PhotoStorage | None = None) -> None:
        """``shared``: other processes take pieces of photos too; ``place``: not the data folder."""
        self.place: PhotoStorage = place or FolderStorage(folder)
        self._turns = PhotoTurns(folder, shared)

    def progress(self, sha256: str) -> Progress:
        """Return how much of a photo is here; offset 0 when nothing is there yet."""
        if row := self.row(sha256):
            return Progress(row["size_bytes"], True)
        return Progress(self.place.part_size(sha256), False)

    def row(self, sha256: str) -> PhotoRow | None:
        """Return what is known of a whole photo; None if it is not here, or its file is lost or damaged."""
        check_name(sha256)
        with reading() as connection:
            found = photo_rows.find(connection, sha256)
        return found if found and self.is_whole(sha256, found["size_bytes"]) else None

    def is_erased(self, sha256: str) -> bool:
        """Say whether the office took a photo away."""
        with reading() as connection:
            return bool(erasure_rows.erased_photos(connection, [sha256]))

    def _refuse_erased(self, sha256: str) -> None:
        if self.is_erased(check_name(sha256)):
            raise AppError("photo_erased")

    def is_whole(self, sha256: str, size_bytes: int) -> bool:
        """Say whether a photo that has a row lies in its place, as long as it was."""
        return self.place.trusted or self.place.size(check_name(sha256)) == size_bytes

    def mark(self) -> None:
        """Mark the place of photos as ours, unless photos are known and none of them lies there."""
        with reading() as connection:
            known = photo_rows.some(connection, 20)
        if not known or any(self.place.size(sha256) is not None for sha256 in known):
            self.place.mark()

    def prove(self, sha256: str) -> bool:
        """Hash a photo's file; one that is not what its name says is kept aside, and missing from then on."""
        with self._turns.one(check_name(sha256)):
            try:
                with self.place.open(sha256) as stream:
                    whole = hash_of(stream) == sha256
            except FileNotFoundError:
                return False
            if not whole:
                with suppress(OSError):  # a disk that is only to be read: it stays where it is
                    self.place.set_aside(sha256)
            return whole

    def open(self, sha256: str) -> BinaryIO:
        """Return a whole photo's bytes as a stream; AppError ``photo_not_found`` if they are not here."""
        try:
            return self.place.open(check_name(sha256))
        except OSError as error:
            raise AppError("photo_not_found") from error

    def bytes_of(self, sha256: str) -> bytes | None:
        """Return a photo's bytes, or None if it is not here or its bytes are not those of its name."""
        if not self.row(sha256):
            return None
        with self.open(sha256) as stream:
            data = stream.read()
        return data if hashlib.sha256(data).hexdigest() == sha256 else None

    def take_piece(self, sha256: str, offset: int, total: int, piece: bytes, media_type: str) -> Progress:
        """Take one piece.  Says complete only when the whole is on disk and its hash is right."""
        self._refuse_erased(sha256)
        if total > MAX_BYTES:
            raise AppError("photo_too_large", field="Upload-Length")
        if not 0 <= offset <= total or total < 1 or offset + len(piece) > total:
            raise AppError("request_malformed", t("api.offset_length_body"), "Upload-Offset")
        with self._turns.one(sha256):
            if row := self.row(sha256):
                return Progress(row["size_bytes"], True)
            if offset == 0 and len(piece) == total:
                self._put(Whole(sha256, piece, media_type))
            elif not self._whole_without_row(sha256, total):
                here = self._gather(sha256, offset, total, piece)
                if here < total:
                    return Progress(here, False)
            head = piece[:HEAD_BYTES] if len(piece) == total else None
            self._keep(_Arrived(sha256, total, media_type, head))
            return Progress(total, True)

    def take_wholes(self, wholes: Sequence[Whole]) -> list[Progress | AppError]:
        """Take several photos.  Returns the outcome of each, in order; one that is refused holds up no other.

        A photo is not said complete before its bytes, the name of its file and its row are on disk; the disk
        is waited for once for all rows, not once a photo.
        """
        with reading() as connection:
            rows = photo_rows.find_all(connection, [one.sha256 for one in wholes])
            erased = erasure_rows.erased_photos(connection, [one.sha256 for one in wholes])
        outcomes: list[Progress | AppError] = []
        new: list[Whole] = []
        down: list[AppError] = []
        for one in wholes:
            row = rows.get(one.sha256)
            if row and self.is_whole(one.sha256, row["size_bytes"]):
                outcomes.append(Progress(row["size_bytes"], True))
                continue
            if one.sha256 in erased:
                outcomes.append(AppError("photo_erased"))
                continue
            # A store that twice gave no answer is not waited for again: few threads serve all phones.
            outcome = down[0] if len(down) == 2 else self._put_alone(one)
            outcomes.append(outcome)
            if isinstance(outcome, Progress):
                new.append(one)
            elif outcome.code == "photo_store_down" and len(down) < 2:
                down.append(outcome)
        self._keep(*map(_arrived, new))
        return outcomes

    def keep_whole(self, sha256: str, data: bytes, media_type: str) -> Progress:
        """Keep a photo that came in one go, with a job file or a pack."""
        self._refuse_erased(sha256)
        with self._turns.one(sha256):
            if self.row(sha256):
                return Progress(len(data), True)
            self.place.drop_part(sha256)
            one = Whole(sha256, data, media_type)
            self._put(one)
            self._keep(_arrived(one))
            return Progress(len(data), True)

    def drop_half(self, sha256: str, before_s: float) -> bool:
        """Throw away what has gathered of a photo, unless a piece has come since a moment [s since 1970]."""
        with self._turns.one(check_name(sha256)):
            came_s = self.place.last_piece_s(sha256)
            if came_s is None or came_s >= before_s:
                return False
            self.place.drop_part(sha256)
            return True

    def _gather(self, sha256: str, offset: int, total: int, piece: bytes) -> int:
        """Add a piece and return how much is here; with the last one the photo stands in its place."""
        here = self._gathered(sha256, total)
        if offset != here:
            raise OffsetMismatch(here)
        if piece:
            self.place.append(sha256, offset, piece)
        if offset + len(piece) == total:
            if self.place.part_hash(sha256) != sha256:
                self.place.drop_part(sha256)
                raise AppError("photo_hash_mismatch")
            self._make_room(sha256)
            self.place.complete(sha256)
        return offset + len(piece)

    def _put_alone(self, one: Whole) -> Progress | AppError:
        """Bring one of several to its place.  A fault is its own, and in the log when it comes alone."""
        try:
            with self._turns.one(one.sha256):
                self._put(one)
        except AppError as error:
            return error
        except OSError as error:
            full = error.errno in (errno.ENOSPC, errno.EDQUOT)
            return AppError("disk_full" if full else "server_fault")
        return Progress(len(one.data), True)

    def _put(self, one: Whole) -> None:
        """Bring a photo's bytes to its place, whole or not at all; from then on nobody writes there again."""
        if self._whole_without_row(one.sha256, len(one.data)):
            return
        if hashlib.sha256(one.data).hexdigest() != one.sha256:
            raise AppError("photo_hash_mismatch")
        if here := self._gathered(one.sha256, len(one.data)):
            raise OffsetMismatch(here)
        self._make_room(one.sha256)
        self.place.put(one.sha256, one.data)

    def _make_room(self, sha256: str) -> None:
        """Keep aside what lies damaged in the place of a photo whose bytes have just been proved."""
        if self.place.size(sha256) is not None:
            self.place.set_aside(sha256)

    def _gathered(self, sha256: str, total: int) -> int:
        """Return how much of a photo is here.  More than it has is none of it; no phone could go on."""
        here = self.place.part_size(sha256)
        if here <= total:
            return here
        self.place.drop_part(sha256)
        return 0

    def _whole_without_row(self, sha256: str, total: int) -> bool:
        """The server may have died between the rename and the row."""
        if self.place.size(sha256) != total:
            return False
        with self.place.open(sha256) as stream:
            return hash_of(stream) == sha256

    def _keep(self, *arrived: _Arrived) -> None:
        """Make the names of whole files last, and only then write the rows."""
        if not arrived:
            return
        self.place.settle(one.sha256 for one in arrived)
        now = now_text()
        rows: list[PhotoRow] = [
            {
                "sha256": one.sha256,
                "size_bytes": one.size_bytes,
                "media_type": clean_media_type(one.media_type),
                "received_at": now,
            }
            for one in arrived
        ]
        keep_remarks(
            {one.sha256: remark_on(self.place, one.sha256, one.size_bytes, one.head) for one in arrived}
        )
        with writing() as connection:
            photo_rows.add(connection, rows)

    def why_not_shown(self, sha256: str) -> str:
        """Return why no report will show a photo that is here; "" where it may."""
        with reading() as connection:
            return photo_rows.remarks(connection, [sha256]).get(sha256, "")

    def look_whether_shown(self, sha256: str, size_bytes: int) -> None:
        """Look at a photo that an earlier version took; what it did not say phones hear now."""
        if keep_remarks({sha256: remark_on(self.place, sha256, size_bytes)}):
            with writing() as connection:
                change_rows.note_photos(connection, [sha256])


def _arrived(one: Whole) -> _Arrived:
    return _Arrived(one.sha256, len(one.data), one.media_type, one.data[:HEAD_BYTES])


def check_name(sha256: str) -> str:
    """Return the name if it is the SHA-256 in lower case; AppError if not."""
    if not SHA256.fullmatch(sha256):
        raise AppError("photo_name")
    return sha256


def clean_media_type(media_type: str) -> str:
    """Return a media type that is safe to send back, parameters left out."""
    bare = media_type.split(";")[0].strip().lower()
    return bare if MEDIA_TYPE.fullmatch(bare) else "application/octet-stream"
