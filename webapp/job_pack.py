"""From a job file to its pack: the records assembled into the report model, and that written."""

import dataclasses
import importlib.metadata
import zlib
from collections.abc import Callable, Mapping
from typing import Any, BinaryIO

from .assembly.job import assemble, assemble_checked
from .pack.write import Progress, write
from .process_limits import give_back
from .records import job_file

PhotoBytes = Callable[[str], bytes | None]


def build(
    job: Mapping[str, object], photo_bytes: PhotoBytes, out: BinaryIO, progress: Progress | None = None
) -> dict[str, Any]:
    """Write the pack of a job into ``out`` and return its manifest.

    ``job`` is a job file with its entries; ``photo_bytes`` gives the bytes of a photo by its
    SHA-256, or None. The same job and photos give the same bytes: nothing comes from a clock.
    """
    if "entries" not in job:  # a pack's job file carries the entries behind its records
        whole = job_file.check(dict(job))
        job = job_file.build(whole.job_id, whole.entries, whole.aside, whole.photos)
    contents = dataclasses.replace(assemble(dict(job), app_version()), photo_bytes=photo_bytes)
    return write(contents, lambda: job_file.dumps(job), out, progress)


def build_stored(
    stored: job_file.StoredJob, photo_bytes: PhotoBytes, out: BinaryIO, progress: Progress | None = None
) -> dict[str, Any]:
    """Write the same pack from what the database holds, in as little memory as a long job can do with."""
    whole_file = job_file.build(stored.job_id, stored.entries, stored.aside, stored.photos)
    packed = zlib.compress(job_file.dumps(whole_file), 1)
    del whole_file
    give_back()
    whole = job_file.check_stored(stored)
    contents = dataclasses.replace(assemble_checked(whole, app_version()), photo_bytes=photo_bytes)
    del stored, whole  # where nobody else holds it either, a third of what a long job takes is free again
    give_back()
    return write(contents, lambda: zlib.decompress(packed), out, progress)


def app_version() -> str:
    """Return the version of Fallbook that is installed."""
    try:
        return importlib.metadata.version("fallbook")
    except importlib.metadata.PackageNotFoundError:
        return "not installed"
