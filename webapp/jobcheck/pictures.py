"""The photos of a job file: each that a record names is there and whole."""

import hashlib
from collections.abc import Iterator, Mapping

from ..errors import AppError
from ..records import job_file_parts
from ..records.entry import ListedPhoto, RecordJson
from ..records.job_file import PhotoBytes
from .faults import FAULT, NOTE, Fault, fault, pointer
from .form import sound_records

Value = Mapping[str, object]


def check_photos(value: Value, photo_bytes: PhotoBytes, *, carried: bool) -> Iterator[Fault]:
    """Tell of the photos.  ``carried``: the job came with photos, so that one that is not there is lost."""
    photos = value.get("photos")
    listed: dict[str, tuple[int, ListedPhoto]] = {
        p["sha256"]: (index, p)
        for index, p in enumerate(photos if isinstance(photos, list) else [])
        if job_file_parts.is_photo(p)
    }
    named: set[str] = set()
    for index, record in sound_records(value):
        if record["kind"] != "photo":
            continue
        sha256 = record["fields"].get("sha256")
        if not isinstance(sha256, str) or not job_file_parts.SHA256.fullmatch(sha256):
            continue
        named.add(sha256)
        if not record.get("removed"):
            own = listed.get(sha256)
            yield from _photo(index, record, own[1] if own else None, photo_bytes, FAULT if carried else NOTE)
    for sha256, (index, _) in listed.items():
        if sha256 not in named:
            yield fault("photo_unnamed", pointer("photos", index), None, NOTE)


def _photo(
    index: int, record: RecordJson, listed: ListedPhoto | None, photo_bytes: PhotoBytes, lost: str
) -> Iterator[Fault]:
    place, fields = pointer("records", index, "fields", "sha256"), record["fields"]
    try:
        data = photo_bytes(fields["sha256"])
    except (AppError, OSError):  # it is there and cannot be read
        data = b""
    if data is None:
        yield fault("photo_missing", place, record, lost, sha256=fields["sha256"])
    elif hashlib.sha256(data).hexdigest() != fields["sha256"]:
        yield fault("photo_damaged", place, record)
        return
    sizes = {"size_bytes": fields.get("size_bytes"), "listed": listed["size_bytes"] if listed else None}
    found = len(data) if data is not None else sizes["listed"]
    for stated in sizes.values():
        if isinstance(stated, int) and isinstance(found, int) and stated != found:
            where = pointer("records", index, "fields", "size_bytes")
            yield fault("photo_size", where, record, found=f"{found:,}", stated=f"{stated:,}")
    recorded = fields.get("media_type")
    if listed and isinstance(recorded, str) and recorded != listed["media_type"]:
        where = pointer("records", index, "fields", "media_type")
        yield fault("photo_type", where, record, NOTE, record=recorded, listed=listed["media_type"])
