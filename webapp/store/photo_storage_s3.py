"""Photos in an S3-compatible store: ``photos/<sha256>`` whole, ``parts/<sha256>/<offset>`` while they gather.

Every piece is an object of its own, so an upload goes on at whichever server the phone reaches next.
Keys and region come from where boto3 looks for them (environment, profile, the machine's role).
"""

import hashlib
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO, TypedDict
from urllib.parse import urlsplit

from .. import timesource
from ..errors import AppError
from ..messages import t
from .photo_storage import Bytes

_SPOOL_BYTES = 8 * 1024 * 1024
CHECK_EVERY_S = 10.0
_GONE = {"404", "NoSuchKey", "NotFound"}


class _Object(TypedDict):
    """What a list of objects says of one."""

    Key: str
    Size: int
    LastModified: datetime


@contextmanager
def _reaching() -> Iterator[None]:
    """Turn what the store refuses, or does not answer, into one error that a phone tries again."""
    from botocore.exceptions import BotoCoreError, ClientError  # type: ignore[import-untyped]

    try:
        yield
    except (BotoCoreError, ClientError) as error:
        raise AppError("photo_store_down", f"({type(error).__name__})") from error


class S3Storage:
    """One bucket, or a prefix in it."""

    trusted = True

    def __init__(self, url: str, endpoint: str | None = None) -> None:
        """``url`` is ``s3://bucket/prefix``; ``endpoint`` the address of a store that is not Amazon's."""
        try:
            import boto3  # type: ignore[import-untyped]
            from botocore.config import Config  # type: ignore[import-untyped]
        except ImportError as error:
            raise AppError("photo_store_setting", t("upkeep.bucket_library")) from error
        parts = urlsplit(url)
        if parts.scheme != "s3" or not parts.netloc:
            raise AppError("photo_store_setting", t("upkeep.bucket_form"))
        self._bucket = parts.netloc
        self._prefix = f"{parts.path.strip('/')}/" if parts.path.strip("/") else ""
        settings = Config(
            connect_timeout=10, read_timeout=60, retries={"max_attempts": 3, "mode": "standard"}
        )
        self._checked_at_s = -CHECK_EVERY_S
        self._client: Any = boto3.client("s3", endpoint_url=endpoint, config=settings)

    def size(self, sha256: str) -> int | None:
        """Return the size of a whole photo; None if it is not here."""
        found = self._head(self._whole(sha256))
        return None if found is None else int(found["ContentLength"])

    def open(self, sha256: str) -> BinaryIO:
        """Return a whole photo's bytes as a stream, in memory while it is small."""
        if self.size(sha256) is None:
            raise FileNotFoundError(sha256)
        stream: Any = tempfile.SpooledTemporaryFile(max_size=_SPOOL_BYTES)  # the caller closes it
        with _reaching():
            self._client.download_fileobj(self._bucket, self._whole(sha256), stream)
        stream.seek(0)
        found: BinaryIO = stream
        return found

    def path(self, sha256: str) -> Path | None:
        """Return None: a bucket has no files."""
        return None

    def part_size(self, sha256: str) -> int:
        """Return how many bytes of a photo have gathered without a gap."""
        return sum(size for _, size in self._pieces(sha256))

    def append(self, sha256: str, offset: int, piece: bytes) -> None:
        """Add a piece behind what has gathered."""
        with _reaching():
            self._client.put_object(Bucket=self._bucket, Key=self._piece(sha256, offset), Body=piece)

    def part_hash(self, sha256: str) -> str:
        """Return the SHA-256 of what has gathered."""
        found = hashlib.sha256()
        for block in self._blocks(sha256):
            found.update(block)
        return found.hexdigest()

    def complete(self, sha256: str) -> None:
        """Make whole what has gathered: one put, so that nobody ever sees half of it."""
        with tempfile.TemporaryFile() as whole:
            for block in self._blocks(sha256):
                whole.write(block)
            whole.seek(0)
            with _reaching():
                self._client.upload_fileobj(whole, self._bucket, self._whole(sha256))
        self.drop_part(sha256)

    def put(self, sha256: str, data: Bytes) -> None:
        """Keep a whole photo."""
        with _reaching():
            self._client.put_object(Bucket=self._bucket, Key=self._whole(sha256), Body=bytes(data))

    def set_aside(self, sha256: str) -> None:
        """Move what lies damaged under a photo's name below ``damaged/``."""
        whole = self._whole(sha256)
        with _reaching():
            tag = str(self._client.head_object(Bucket=self._bucket, Key=whole)["ETag"]).strip('"')
            source = {"Bucket": self._bucket, "Key": whole}
            aside = f"{self._prefix}damaged/{sha256}.{tag}"
            self._client.copy_object(Bucket=self._bucket, Key=aside, CopySource=source)
            self._client.delete_object(Bucket=self._bucket, Key=whole)

    def mark(self) -> None:
        """Do nothing: a bucket is named by its address."""

    def check(self) -> None:
        """Ask whether the bucket answers, at most every ten seconds; AppError ``photo_store_down``."""
        now_s = timesource.monotonic_s()
        if now_s > self._checked_at_s + CHECK_EVERY_S:
            self._head(f"{self._prefix}mark")
            self._checked_at_s = now_s

    def settle(self, names: Iterable[str]) -> None:
        """Do nothing: what a bucket has taken lasts."""

    def drop_part(self, sha256: str) -> None:
        """Throw away what has gathered."""
        for key, _ in self._list(f"parts/{sha256}/"):
            with _reaching():
                self._client.delete_object(Bucket=self._bucket, Key=key)

    def gathering(self) -> Iterator[str]:
        """Yield the hash of each photo of which pieces have gathered."""
        yield from dict.fromkeys(key.rsplit("/", 2)[-2] for key, _ in self._list("parts/"))

    def last_piece_s(self, sha256: str) -> float | None:
        """Return when the last piece of a photo came, by the clock of the store [s since 1970]."""
        came = [one["LastModified"].timestamp() for one in self._objects(f"parts/{sha256}/")]
        return max(came, default=None)

    def delete(self, sha256: str) -> None:
        """Delete a photo, what has gathered of it, and what was set aside, for good."""
        self.drop_part(sha256)
        damaged = [key for key, _ in self._list(f"damaged/{sha256}.")]
        for key in (self._whole(sha256), *damaged):
            with _reaching():
                self._client.delete_object(Bucket=self._bucket, Key=key)

    def names(self) -> Iterator[tuple[str, int, bool]]:
        """Yield the name of everything here, its size, and whether it is a whole photo."""
        for key, size in self._list("photos/"):
            yield key.rsplit("/", 1)[-1], size, True
        gathered: dict[str, int] = {}
        for key, size in self._list("parts/"):
            name = key.rsplit("/", 2)[-2]
            gathered[name] = gathered.get(name, 0) + size
        for name, size in gathered.items():
            yield f"{name}.part", size, False

    def _pieces(self, sha256: str) -> list[tuple[str, int]]:
        """Return key and size of the pieces that follow one another from the first byte."""
        found, offset = [], 0
        for key, size in self._list(f"parts/{sha256}/"):
            if int(key.rsplit("/", 1)[-1]) != offset:
                break
            found.append((key, size))
            offset += size
        return found

    def _blocks(self, sha256: str) -> Iterator[bytes]:
        for key, _ in self._pieces(sha256):
            with _reaching():
                block = self._client.get_object(Bucket=self._bucket, Key=key)["Body"].read()
            yield block

    def _list(self, below: str) -> Iterator[tuple[str, int]]:
        for one in self._objects(below):
            yield one["Key"], one["Size"]

    def _objects(self, below: str) -> Iterator[_Object]:
        with _reaching():
            pages = self._client.get_paginator("list_objects_v2")
            for page in pages.paginate(Bucket=self._bucket, Prefix=self._prefix + below):
                yield from page.get("Contents", ())

    def _head(self, key: str) -> dict[str, Any] | None:
        from botocore.exceptions import ClientError

        with _reaching():
            try:
                found: dict[str, Any] = self._client.head_object(Bucket=self._bucket, Key=key)
                return found
            except ClientError as error:
                if error.response.get("Error", {}).get("Code") in _GONE:
                    return None
                raise

    def _whole(self, sha256: str) -> str:
        return f"{self._prefix}photos/{sha256}"

    def _piece(self, sha256: str, offset: int) -> str:
        return f"{self._prefix}parts/{sha256}/{offset:012}"
