"""Jobs on this server."""

from typing import Any

from flask import Blueprint, Response
from sqlalchemy import Connection

from ..access import guard
from ..errors import AppError
from ..intake.jobs import stored_job_file
from ..records import job_file
from ..records.vectors import digest
from ..schemas.base import is_uuid
from ..store import entry_rows, entry_some, whole_jobs
from ..store.damage import one_job
from ..store.engine import reading
from ..sync.summaries import Title
from ..web.state import state
from .bodies import answer, answer_value

bp = Blueprint("jobs", __name__)


@bp.get("/api/jobs")
def jobs() -> Response:
    """List the jobs."""
    return answer_value({"ok": True, "jobs": list_jobs()})


def list_jobs() -> list[dict[str, Any]]:
    """Return all jobs by title, removed ones last."""
    with reading() as connection:
        found, _ = entry_rows.jobs_found(connection)
        rows = [
            _row(connection, title)
            for title in state().summaries.titles(connection, found)
            if guard.who().may_see(title.job_id)
        ]
    return sorted(rows, key=lambda r: (r["removed"], r["title"].casefold(), r["job_id"]))


def _row(connection: Connection, title: Title) -> dict[str, Any]:
    row: dict[str, Any] = {**title.as_json(), "removed": title.removed, "last_received_at": None}
    damaged = title.damaged or title.job_id in state().summaries.damaged
    try:
        with one_job(connection):
            newest = entry_rows.newest(connection, title.job_id)
            row["last_received_at"] = newest and newest.received_at
            entry_some.some(
                connection, title.job_id, [newest[:2]] if newest else []
            )  # damage shows here first
    except AppError:
        damaged = True
    return row | {"damaged": True} if damaged else row


@bp.get("/api/jobs/<job_id>")
def job(job_id: str) -> Response:
    """Give a job as a job file."""
    return answer(job_file.dumps(stored_job_file(check_job_id(job_id))))


@bp.get("/api/jobs/<job_id>/proof")
def proof(job_id: str) -> Response:
    """Read every entry of a job there and then, and say which are here, all as they were stored."""
    with reading() as connection:
        heads = whole_jobs.proved_heads(connection, check_job_id(job_id))
    if not heads:
        raise AppError("job_not_found")
    return answer_value({"ok": True, "entries": sum(heads.values()), "digest": digest(heads)})


def check_job_id(job_id: str) -> str:
    """Return the id if it can be one; AppError if no job can have it."""
    if not is_uuid(job_id):
        raise AppError("job_not_found")
    return job_id
