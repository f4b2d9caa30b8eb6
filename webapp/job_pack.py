"""From a job file to its pack: the records assembled into the report model, and that written."""

import dataclasses
import importlib.metadata
from collections.abc import Callable, Mapping
from typing import Any, BinaryIO

from .assembly.job import assemble
from .pack.write import Progress, write
from .process_limits import give_back
from .records import job_file

PhotoBytes = Callable[[str], bytes | None]


def build(
    job: Mapping[str, Any], photo_bytes: PhotoBytes, out: BinaryIO, progress: Progress | None = None
) -> dict[str, Any]:
    """Write the pack of a job into ``out`` and return its manifest.

    ``job`` is a job file with its entries; ``photo_bytes`` gives the bytes of a photo by its
    SHA-256, or None. The same job and photos give the same bytes: nothing comes from a clock.
    """
    if "entries" not in job:  # a pack's job file carries the entries behind its records
        whole = job_file.check(dict(job))
        job = job_file.build(whole.job_id, whole.entries, whole.aside, whole.photos)
    text = job_file.dumps(job)
    contents = dataclasses.replace(assemble(dict(job), app_version()), photo_bytes=photo_bytes)
    del job  # where nobody else holds it either, a third of what a long job takes is free again
    give_back()
    return write(contents, text, out, progress)


def app_version() -> str:
    """Return the version of Fallbook that is installed."""
    try:
        return importlib.metadata.version("fallbook")
    except importlib.metadata.PackageNotFoundError:
        return "not installed"
