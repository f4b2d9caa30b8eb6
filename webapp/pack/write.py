"""The job pack: one zip with the report, the tables, the job itself, its photos and a manifest.

``write`` writes one from the report model. Each file
of a pack comes from one module in ``EXPORTS`` with FILENAME, MEDIA_TYPE and render(contents).
"""

import hashlib
from collections.abc import Callable
from typing import BinaryIO

from ..report_model.contents import PackContents
from ..survey.wording.messages import message
from . import (
    condition_csv,
    falls_csv,
    inspection_txt,
    levels_csv,
    levels_svg,
    manifest_json,
    observations_csv,
    plan_geojson,
    readings_csv,
    report_pdf,
)
from .archive import LeftOutPhoto, PackWriter, refuse_too_many

EXPORTS = (
    report_pdf, levels_svg, observations_csv, readings_csv, levels_csv, falls_csv, plan_geojson,
    condition_csv, inspection_txt,
)  # fmt: skip
Progress = Callable[[int, int, str], None]

__all__ = ["EXPORTS", "write"]


def _say_nothing(done: int, total: int, step: str) -> None:
    return None


def write(
    contents: PackContents, job_text: Callable[[], bytes], out: BinaryIO, progress: Progress | None = None
) -> dict[str, object]:
    """Write the pack of ``contents`` into ``out`` and return its manifest; ``job_text`` gives the job file.

    The same contents give the same bytes: nothing comes from a clock.
    """
    refuse_too_many(len(EXPORTS) + 2 + len(contents.photos))  # before the pages are made
    say = progress or _say_nothing
    total = len(EXPORTS) + 2 + 2 * len(contents.photos)
    done = 0

    def step(key: str) -> None:
        nonlocal done
        done += 1
        say(min(done, total), total, message(contents.words, f"pack.step.{key}", {}))

    with PackWriter(out) as writer:
        for export in EXPORTS:
            if export is report_pdf:
                for name, data in report_pdf.files(contents, lambda: step("report_photos")):
                    writer.add(name, data, report_pdf.MEDIA_TYPE)
            else:
                writer.add(export.FILENAME, export.render(contents), export.MEDIA_TYPE)
            step(export.FILENAME.replace(".", "_"))
        writer.add("job.json", job_text(), "application/json")
        step("job_file")
        left_out = _write_photos(contents, writer, step)
        manifest = manifest_json.manifest(contents, writer.files, left_out)
        writer.add(manifest_json.FILENAME, manifest_json.dumps(manifest), "application/json", listed=False)
    say(total, total, message(contents.words, "pack.step.done", {}))
    return manifest


def _write_photos(
    contents: PackContents, writer: PackWriter, step: Callable[[str], None]
) -> list[LeftOutPhoto]:
    """Write each photo once; return those that are not in the pack, and why."""
    left_out: list[LeftOutPhoto] = []
    written = set()
    for photo in sorted(contents.photos, key=lambda p: (p.sha256, p.record_id)):
        step("photos")
        if photo.sha256 in written:
            continue
        written.add(photo.sha256)
        data = contents.photo_bytes(photo.sha256)
        if data is not None and hashlib.sha256(data).hexdigest() == photo.sha256:
            writer.add(photo.filename, data, photo.media_type or "application/octet-stream")
            continue
        why = message(contents.words, f"pack.left_out.{'missing' if data is None else 'damaged'}", {})
        left_out.append({"sha256": photo.sha256, "record_id": photo.record_id, "why": why})
    return left_out
