"""``fallbook check``."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path

from ... import jobcheck
from ...errors import AppError
from ...intake.open_job import open_file
from ...messages import t
from ...records import job_file
from ..loading import loaded
from ..output import counted, fault_count, note, one_line, say, show_json
from . import infile


def check(job: str, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Check a job: all its faults, each with its place."""
    value, found = _of_file(job) if infile.is_file_name(job) else _of_data(job, data)
    faults = [one for one in found if one.severity == "fault"]
    notes = [one for one in found if one.severity != "fault"]
    if as_json:
        show_json(_plain(value, faults, notes))
    else:
        _tell(infile.shown(job), [*faults, *([] if quiet else notes)])
    if faults:
        raise AppError("job_file_faulty", fault_count(len(faults), as_json))
    if not quiet and not as_json:
        records = value.get("records")
        say(
            t(
                "cli.check.sound",
                job=infile.shown(job),
                records=counted(len(records) if isinstance(records, list) else 0, "record"),
                notes=counted(len(notes), "note"),
            )
        )


def _of_file(name: str) -> tuple[Mapping[str, object], Sequence[jobcheck.Fault]]:
    report: list[str] = []
    with infile.as_file(name) as path, open_file(path, report.extend) as found:
        if found.exchanged is None:
            value, faults = jobcheck.check_text(found.text, found.photo_bytes, carried=found.carries_photos)
            return value, [*(jobcheck.Fault("pack_mismatch", "", words) for words in found.faults), *faults]
        job = found.exchanged
        built = job_file.build(job.job_id, job.entries, job.aside, job.photos)
        for line in report:
            note(f"{infile.shown(name)}: {line}")
        return built, jobcheck.check_job(built, found.photo_bytes, carried=False)


def _of_data(name: str, data: Path | None) -> tuple[Mapping[str, object], Sequence[jobcheck.Fault]]:
    with loaded("stored_job:stored_job")(name, data) as (value, photo_bytes):
        return value, jobcheck.check_job(value, photo_bytes, carried=True)


def _tell(name: str, found: Sequence[jobcheck.Fault]) -> None:
    for one in found:
        place = f"{name}:{one.line}" if one.line else name
        message = t("cli.note", text=one.message) if one.severity == "note" else one.message
        parts = [place, one.pointer, one.title, message]
        say(one_line(f"{': '.join(part for part in parts if part)} [{one.code}]"))


def _plain(
    value: Mapping[str, object], faults: Sequence[jobcheck.Fault], notes: Sequence[jobcheck.Fault]
) -> dict[str, object]:
    return {
        "ok": not faults,
        "job_id": value.get("job_id"),
        "faults": [asdict(one) for one in faults],
        "notes": [asdict(one) for one in notes],
    }
