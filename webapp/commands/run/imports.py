"""``fallbook import``."""

from pathlib import Path
from typing import Any

from ...intake.jobs import take_job
from ...intake.open_job import open_jobs
from ...messages import t
from ...web.state import state_of
from ..output import Progress, counted, note, say, show_json
from . import infile
from .opening import opened


def take(files: tuple[Path, ...], create: bool, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Take jobs into the data folder."""
    taken: list[dict[str, Any]] = []
    with opened(data, CREATE=create) as app, Progress(quiet) as tell:
        for number, path in enumerate(files, start=1):
            tell(f"{number}/{len(files)} {infile.shown(path)}")
            report: list[str] = []
            with infile.as_file(path) as file, open_jobs(file, report.extend) as jobs:
                for job, photo_bytes in jobs:
                    found = take_job(job, photo_bytes, state_of(app).photos)
                    taken.append({"file": infile.shown(path), **found, "report": report})
                    if not as_json:
                        _tell(taken[-1], tell, quiet)
                    report = []
    if as_json:
        show_json(taken)


def _tell(found: dict[str, Any], tell: Progress, quiet: bool) -> None:
    tell.clear()
    for line in found["report"]:
        note(f"{found['file']}: {line}")
    if not quiet:
        job_id = found["job_id"]
        taken = t(
            "cli.import.taken",
            file=found["file"],
            job=t("cli.about_job", job_id=job_id) if job_id else t("cli.import.no_job"),
            entries=counted(found["kept"], "entry"),
            again=found["kept_already"],
            aside=found["set_aside"],
            photos=counted(found["photos"], "photo"),
            missing=counted(found["photos_missing"], "photo"),
        )
        say(taken)
