"""``fallbook check``."""

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import AppError
from ..messages import t
from . import infile
from .common import (
    TO_READ,
    counted,
    data_option,
    fault_count,
    is_file_name,
    json_option,
    opened,
    quiet_option,
)
from .jobs_here import JobOrFile, job_id_of
from .output import note, one_line, say, show_json

if TYPE_CHECKING:
    from ..jobcheck import Fault


@click.command()
@click.argument("job", type=JobOrFile())
@json_option
@quiet_option
@data_option
def check(job: str, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Check a job: all its faults, each with its place, its record and what is wrong.

    JOB is a job file, a folder that holds job.json, a pack, a hand-over file, an exchange file, - for
    standard input, or a job in the data folder.  A fault is told as file:line: place: record: sentence
    [code]; a place is a JSON pointer (RFC 6901).  Notes are worth knowing and make nothing unsound.  What is
    only unlikely, such as a reading out of order, is told by fallbook figures.

    Exit code 1 if there is a fault, 2 if JOB is no job at all.

    \b
    Example: fallbook check school/job.json
             fallbook check --json - < job.json | jq '.faults[].pointer'
    """
    value, found = _of_file(job) if is_file_name(job) else _of_data(job, data)
    faults = [one for one in found if one.severity == "fault"]
    notes = [one for one in found if one.severity != "fault"]
    if as_json:
        show_json(_plain(value, faults, notes))
    else:
        _tell(infile.shown(job), [*faults, *([] if quiet else notes)])
    if faults:
        raise AppError("job_file_faulty", fault_count(len(faults), as_json))
    if not quiet and not as_json:
        records = value.get("records") or []
        say(
            t(
                "cli.check.sound",
                job=infile.shown(job),
                records=counted(len(records), "record"),
                notes=counted(len(notes), "note"),
            )
        )


def _of_file(name: str) -> tuple[dict[str, Any], "Sequence[Fault]"]:
    from .. import jobcheck
    from ..intake.open_job import open_file
    from ..records import job_file

    report: list[str] = []
    with infile.as_file(name) as path, open_file(path, report.extend) as found:
        if found.exchanged is None:
            value, faults = jobcheck.check_text(found.text, found.photo_bytes, carried=found.carries_photos)
            return value, [*(jobcheck.Fault("pack_mismatch", "", words) for words in found.faults), *faults]
        job = found.exchanged
        value = job_file.build(job.job_id, job.entries, job.aside, job.photos)
        for line in report:
            note(f"{infile.shown(name)}: {line}")
        return value, jobcheck.check_job(value, found.photo_bytes, carried=False)


def _of_data(name: str, data: Path | None) -> tuple[dict[str, Any], "Sequence[Fault]"]:
    from .. import jobcheck
    from ..intake.jobs import stored_job_file
    from ..web.state import state_of

    job_id = job_id_of(data, name)
    with opened(data, **TO_READ) as app:
        value = stored_job_file(job_id)
        return value, jobcheck.check_job(value, state_of(app).photos.bytes_of, carried=True)


def _tell(name: str, found: "Sequence[Fault]") -> None:
    for one in found:
        place = f"{name}:{one.line}" if one.line else name
        message = t("cli.note", text=one.message) if one.severity == "note" else one.message
        parts = [place, one.pointer, one.title, message]
        say(one_line(f"{': '.join(part for part in parts if part)} [{one.code}]"))


def _plain(value: dict[str, Any], faults: "Sequence[Fault]", notes: "Sequence[Fault]") -> dict[str, Any]:
    return {
        "ok": not faults,
        "job_id": value.get("job_id"),
        "faults": [asdict(one) for one in faults],
        "notes": [asdict(one) for one in notes],
    }
