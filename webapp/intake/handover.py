"""The hand-over file: a job and its photos as one zip, the same as a phone makes with no server."""

import hashlib
from collections.abc import Callable
from typing import BinaryIO

from ..pack.archive import PackWriter
from ..records import job_file
from ..records.entry import JobFileJson
from .jobs import PhotoBytes, photo_hashes

ENDINGS = {
    "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/heif": "heif",
    "image/gif": "gif", "image/tiff": "tif",
}  # fmt: skip


def write(
    job: JobFileJson, photo_bytes: PhotoBytes, out: BinaryIO, tell: Callable[[int, int], None]
) -> list[str]:
    """Write the hand-over file of a job and return the hashes of the photos that are not here."""
    media_types = {p["sha256"]: p["media_type"] for p in job["photos"]}
    media_types |= {h: media_types.get(h, "") for h in photo_hashes(job["entries"], job["aside"])}
    missing = []
    with PackWriter(out) as writer:
        writer.add("job.json", job_file.dumps(job), "application/json")
        for done, sha256 in enumerate(sorted(media_types), start=1):
            data = photo_bytes(sha256)
            if data is None or hashlib.sha256(data).hexdigest() != sha256:
                missing.append(sha256)
            else:
                ending = ENDINGS.get(media_types[sha256], "bin")
                writer.add(f"photos/{sha256}.{ending}", data, media_types[sha256])
            tell(done, len(media_types))
    return missing
