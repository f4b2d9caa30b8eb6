"""``fallbook jobs``."""

from dataclasses import asdict
from pathlib import Path

from ...messages import t
from ...store.job_list import ListedJob
from ..output import note, say, show_json, table
from .jobs_here import jobs_of

COLUMNS = ("id", "title", "reference", "last_entry", "runs", "readings", "observations", "photos")
NUMBERS = (4, 5, 6, 7)


def jobs(data: Path | None, as_json: bool) -> None:
    """List the jobs in the data folder."""
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


def _row(job: ListedJob) -> tuple[str, ...]:
    title = t("cli.jobs.damaged") if job.damaged else job.title or t("cli.jobs.no_title")
    counts = [f"{job.counts[name]:,}" for name in ("runs", "readings", "observations", "photos")]
    last = job.last_received_at[:16].replace("T", " ")
    return (
        job.short_id,
        t("cli.removed", title=title) if job.removed else title,
        job.client_reference,
        last,
        *counts,
    )
