"""The job pack: one zip with the report, the tables, the job itself, its photos and a manifest.

``build`` writes one, ``verify`` proves one whole, ``read_job`` takes the job out again. Each file
of a pack comes from one module in ``EXPORTS`` with NAME, FILENAME, MEDIA_TYPE and render(contents).
"""

import dataclasses
import hashlib
import importlib.metadata
from collections.abc import Callable, Mapping
from typing import Any, BinaryIO

from . import (
    condition_csv,
    falls_csv,
    inspection_txt,
    levels_csv,
    levels_svg,
    observations_csv,
    plan_geojson,
    readings_csv,
    report_pdf,
)
from . import manifest as manifests
from .archive import PackWriter
from .contents import PackContents
from .reading import read_job, verify

EXPORTS = (
    report_pdf, levels_svg, observations_csv, readings_csv, levels_csv, falls_csv, plan_geojson,
    condition_csv, inspection_txt,
)  # fmt: skip
PhotoBytes = Callable[[str], bytes | None]
Progress = Callable[[int, int, str], None]

__all__ = ["EXPORTS", "build", "read_job", "verify"]


def _say_nothing(done: int, total: int, step: str) -> None:
    return None


def build(
    job_file: Mapping[str, Any], photo_bytes: PhotoBytes, out: BinaryIO, progress: Progress | None = None
) -> dict[str, Any]:
    """Write the pack of a job into ``out`` and return its manifest.

    ``job_file`` is a job file with its entries; ``photo_bytes`` gives the bytes of a photo by its
    SHA-256, or None. The same job and photos give the same bytes: nothing comes from a clock.
    """
    from .. import assemble, jobfile  # assemble itself imports pack.contents

    say = progress or _say_nothing
    if "entries" not in job_file:  # a pack's job file carries the entries behind its records
        whole = jobfile.check(dict(job_file))
        job_file = jobfile.build(whole.job_id, whole.entries, whole.aside, whole.photos)
    contents = dataclasses.replace(assemble.assemble(dict(job_file), app_version()), photo_bytes=photo_bytes)
    total = len(EXPORTS) + 2 + 2 * len(contents.photos)
    done = 0

    def step(words: str) -> None:
        nonlocal done
        done += 1
        say(min(done, total), total, words)

    with PackWriter(out) as writer:
        for export in EXPORTS:
            if export is report_pdf:
                data = report_pdf.render(contents, lambda: step("Photos for the report"))
            else:
                data = export.render(contents)
            writer.add(export.FILENAME, data, export.MEDIA_TYPE)
            step(export.NAME)
        writer.add("job.json", jobfile.dumps(job_file), "application/json")
        step("Job file")
        left_out = _write_photos(contents, writer, step)
        manifest = manifests.manifest(contents, writer.files, left_out)
        writer.add(manifests.FILENAME, manifests.dumps(manifest), "application/json", listed=False)
    say(total, total, "Done")
    return manifest


def _write_photos(
    contents: PackContents, writer: PackWriter, step: Callable[[str], None]
) -> list[dict[str, Any]]:
    """Write each photo once; return those that are not in the pack, and why."""
    left_out, written = [], set()
    for photo in sorted(contents.photos, key=lambda p: (p.sha256, p.record_id)):
        step("Photos")
        if photo.sha256 in written:
            continue
        written.add(photo.sha256)
        data = contents.photo_bytes(photo.sha256)
        if data is not None and hashlib.sha256(data).hexdigest() == photo.sha256:
            writer.add(photo.filename, data, photo.media_type or "application/octet-stream")
            continue
        why = "still on a phone, or lost" if data is None else "its bytes are not those of its SHA-256"
        left_out.append({"sha256": photo.sha256, "record_id": photo.record_id, "why": why})
    return left_out


def app_version() -> str:
    """Return the version of Fallbook that is installed."""
    try:
        return importlib.metadata.version("fallbook")
    except importlib.metadata.PackageNotFoundError:
        return "not installed"
