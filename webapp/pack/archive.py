"""The zip of a pack: stored, in a fixed order, with one fixed date, so that equal input gives equal bytes.

It is never larger than what ``fallbook verify`` and ``fallbook import`` take.
"""

import hashlib
import zipfile
from types import TracebackType
from typing import BinaryIO, TypedDict

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t

FIXED_DATE = (1980, 1, 1, 0, 0, 0)  # the first that a zip can hold; the date of a pack is in its manifest
PLAIN_FILE = 0o100644 << 16


class PackedFile(TypedDict):
    """A file of a pack, as the manifest lists it."""

    name: str
    sha256: str
    size_bytes: int
    media_type: str


class LeftOutPhoto(TypedDict):
    """A photo that is not in a pack, and why in words."""

    sha256: str
    record_id: str
    why: str


class PackWriter:
    """Writes files one after another into a stream and remembers what it wrote."""

    def __init__(self, out: BinaryIO) -> None:
        self._zip = zipfile.ZipFile(out, "w", zipfile.ZIP_STORED, allowZip64=True)
        self.files: list[PackedFile] = []
        self._count = self._bytes = 0

    def add(self, name: str, data: bytes, media_type: str, listed: bool = True) -> None:
        """Write one file; AppError ``pack_too_large`` where nobody would read the zip with it."""
        self._count, self._bytes = self._count + 1, self._bytes + len(data)
        refuse_too_many(self._count)
        if self._bytes > BUDGETS.zip_bytes or (name == "job.json" and len(data) > BUDGETS.job_file_bytes):
            raise AppError(
                "pack_too_large", t("pack.too_many_bytes", mb=f"{BUDGETS.zip_bytes // 1_000_000:,}")
            )
        info = zipfile.ZipInfo(name, FIXED_DATE)
        info.create_system = 3
        info.external_attr = PLAIN_FILE
        self._zip.writestr(info, data)
        if listed:
            sha256 = hashlib.sha256(data).hexdigest()
            self.files.append(
                {"name": name, "sha256": sha256, "size_bytes": len(data), "media_type": media_type}
            )

    def __enter__(self) -> "PackWriter":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._zip.close()


def refuse_too_many(files: int) -> None:
    """Refuse to make a zip of more files than anybody takes."""
    if files > BUDGETS.zip_members:
        raise AppError("pack_too_large", t("pack.too_many_files", most=f"{BUDGETS.zip_members:,}"))
