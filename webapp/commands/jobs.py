"""``fallbook jobs``."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..messages import t
from .common import data_option, json_option
from .jobs_here import jobs_of
from .output import note, say, show_json, table

if TYPE_CHECKING:
    from ..store.job_list import ListedJob

COLUMNS = ("id", "title", "reference", "last_entry", "runs", "readings", "observations", "photos")
NUMBERS = (4, 5, 6, 7)


@click.command()
@data_option
@json_option
def jobs(data: Path | None, as_json: bool) -> None:
    """List the jobs in the data folder: title, client's reference, when the last entry came, what they hold.

    The id is cut to what tells the jobs apart.  Wherever a command takes a JOB, the beginning of its id, its
    title or its reference will do.

    \b
    Example: fallbook jobs
             fallbook jobs --json | jq '.[].title'
    """
    found = jobs_of(data)
    if as_json:
        show_json([asdict(job) for job in found])
        return
    if not found:
        note(t("cli.jobs.none"))
        return
    for line in table(
        [t(f"cli.heading.{name}") for name in COLUMNS], [_row(job) for job in found], right=NUMBERS
    ):
        say(line)


def _row(job: "ListedJob") -> tuple[str, ...]:
    title = job.title or t("cli.jobs.no_title")
    counts = [f"{job.counts[name]:,}" for name in ("runs", "readings", "observations", "photos")]
    last = job.last_received_at[:16].replace("T", " ")
    return (
        job.short_id,
        t("cli.removed", title=title) if job.removed else title,
        job.client_reference,
        last,
        *counts,
    )
