"""Read a zip that a stranger may have made: no name leaves its folder, nothing unpacks without end."""

import re
import stat
import zipfile
from pathlib import Path
from types import TracebackType

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t

MAX_MEMBERS = BUDGETS.zip_members
MAX_BYTES = BUDGETS.zip_bytes
MAX_RATIO = BUDGETS.inflate_ratio
_FREE_BYTES = 10_000_000
_BLOCK_BYTES = 1024 * 1024
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)  # others unpack all of a piece at once
_DRIVE = re.compile(r"[A-Za-z]:")


class SafeZip:
    """A zip opened for reading, all its names checked before anything is read."""

    def __init__(self, path: Path) -> None:
        try:
            self._zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
            raise AppError("zip_damaged") from error
        try:
            self._members = _check(self._zip.infolist())
        except BaseException:
            self._zip.close()
            raise

    @property
    def names(self) -> list[str]:
        """Return the names of the files."""
        return list(self._members)

    def size(self, name: str) -> int:
        """Return how many bytes a file says it has."""
        return self._members[name].file_size

    def read(self, name: str, limit_bytes: int) -> bytes:
        """Return a file's bytes, unpacked block by block; AppError if it is too large or damaged."""
        if name not in self._members:
            raise AppError("zip_damaged", t("file.zip_member_missing", name=name))
        found = bytearray()
        try:
            with self._zip.open(self._members[name]) as file:
                while block := file.read(_BLOCK_BYTES):
                    found += block
                    if len(found) > limit_bytes:
                        raise AppError("zip_too_large")
        except (
            zipfile.BadZipFile,
            EOFError,
            OSError,
            ValueError,
            NotImplementedError,
            RuntimeError,
        ) as error:
            raise AppError("zip_damaged") from error
        except Exception as error:
            if isinstance(error, AppError):
                raise
            raise AppError("zip_damaged") from error  # zlib.error, lzma errors
        return bytes(found)

    def close(self) -> None:
        """Close the file."""
        self._zip.close()

    def __enter__(self) -> "SafeZip":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _check(members: list[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    if len(members) > MAX_MEMBERS or sum(m.file_size for m in members) > MAX_BYTES:
        raise AppError("zip_too_large")
    found: dict[str, zipfile.ZipInfo] = {}
    seen: set[str] = set()
    for member in members:
        name = member.orig_filename
        if not _is_safe(name) or stat.S_ISLNK(member.external_attr >> 16):
            raise AppError("zip_unsafe_name", f"({name[:80]!a})")
        if name.casefold() in seen:
            raise AppError("zip_unsafe_name", t("file.zip_name_twice", name=f"{name[:80]!a}"))
        seen.add(name.casefold())
        if member.flag_bits & 0x1:
            raise AppError("zip_damaged", t("file.zip_encrypted"))
        if member.compress_type not in _METHODS:
            raise AppError("zip_damaged", t("file.zip_method"))
        if member.file_size > _FREE_BYTES and member.file_size > MAX_RATIO * max(member.compress_size, 1):
            raise AppError("zip_too_large")
        if not name.endswith("/"):
            found[name] = member
    return found


def _is_safe(name: str) -> bool:
    if not name or name.startswith("/") or "\\" in name or _DRIVE.match(name):
        return False
    if any(ord(c) < 32 for c in name):
        return False
    return all(part not in ("", ".", "..") for part in name.removesuffix("/").split("/"))
