"""Whole jobs in and out of the data folder, as job files."""

import json
from typing import Any

from ..access.granting import By, note
from ..errors import AppError
from ..messages import t
from ..records import job_file
from ..records.entry import JobFileJson
from ..records.job_file import JobFile, PhotoBytes, photo_hashes
from ..store import access_rows, held_back_rows, photo_rows, whole_jobs
from ..store.damage import one_job
from ..store.engine import reading, writing
from ..sync.apply import Taking
from ..sync.exchange import now_text
from ..sync.photos import Photos
from ..sync.sender import is_foreign, spans

__all__ = [
    "PhotoBytes",
    "accept_held_back",
    "photo_hashes",
    "stored_job_file",
    "take_job",
    "take_jobs",
    "tally",
]


def stored_job_file(job_id: str) -> JobFileJson:
    """Return a job as a job file; photos are those whose bytes are here."""
    with reading() as connection:
        entries, aside = whole_jobs.whole_job(connection, job_id)
        if not entries:
            raise AppError("job_not_found")
        with one_job(connection):
            photos = photo_rows.find_all(connection, photo_hashes(entries, aside))
    return job_file.build(job_id, entries, aside, photos.values())


def take_job(job: JobFile, photo_bytes: PhotoBytes, photos: Photos, by: By | None = None) -> dict[str, Any]:
    """Take a job: photos first, then all entries in one transaction.  Taking it again changes nothing.

    A job without id has photos alone, which a phone held and none of its jobs named.
    AppError ``job_file_differs``, with nothing taken, where a job file that came by itself has an entry that
    is here with another content.
    """
    by = by or By()
    taken = 0
    if job.alone:
        with reading() as connection:
            _refuse_others(Taking(connection, now_text(), job.aside).others(job.entries))
    for photo in job.photos:
        if photos.row(photo["sha256"]) or photos.is_erased(photo["sha256"]):
            continue
        if (data := photo_bytes(photo["sha256"])) is not None:
            photos.keep_whole(photo["sha256"], data, photo["media_type"])
            taken += 1
    with writing() as connection:
        taking = Taking(connection, now_text(), job.aside)
        outcomes = taking.take(job.entries)
        if job.alone:  # one may have come since
            _refuse_others([outcome[0] for outcome in outcomes if outcome[2:3] == ["identity_taken"]])
        if taking.new or taken:
            detail = {"entries": len(taking.new), "photos": taken, "writers": spans(taking.new)}
            note(connection, by, "imported", job.job_id or None, detail)
        access_rows.reserve(connection, {entry["writer"] for entry in taking.new}, now_text())
        named = photo_hashes(job.entries, job.aside)
        missing = len(set(named) - photo_rows.find_all(connection, named).keys())
    return {"job_id": job.job_id, "photos": taken, "photos_missing": missing, **tally(outcomes)}


def _refuse_others(identities: list[str]) -> None:
    """Refuse a job file of which some entries are here with another content."""
    if identities:
        raise AppError("job_file_differs", t("api.file_differs", n=len(identities), entry=identities[0]))


def take_jobs(jobs: list[tuple[JobFile, PhotoBytes]], photos: Photos, by: By | None = None) -> dict[str, Any]:
    """Take the jobs of one file; the counts are summed, the job named is the first."""
    taken = [take_job(job, photo_bytes, photos, by) for job, photo_bytes in jobs]
    counts = {name: sum(one[name] for one in taken) for name in taken[0] if name != "job_id"}
    return {"job_id": taken[0]["job_id"] or None, **counts}


def accept_held_back(job_id: str, by: By) -> dict[str, int]:
    """Take into the records what one phone brought under a writer of another's, as the office decides."""
    with writing() as connection:
        rows = [r for r in held_back_rows.held_back(connection, job_id) if is_foreign(r["reasons"])]
        entries = [json.loads(row["body"]) for row in rows]
        taking = Taking(connection, now_text())
        outcomes = taking.take(entries)
        for row, outcome in zip(rows, outcomes, strict=True):
            if outcome[1] in ("kept", "kept_already") or outcome[2] == "entry_refused":
                held_back_rows.drop_held_back(connection, row)
        if taking.new:
            detail = {"entries": len(taking.new), "writers": spans(taking.new)}
            note(connection, by, "taken_from_beside", job_id, detail)
    return tally(outcomes)


def tally(outcomes: list[list[Any]]) -> dict[str, int]:
    """Return how many entries met which outcome."""
    names = ("kept", "kept_already", "set_aside", "not_taken")
    return {name: sum(1 for outcome in outcomes if outcome[1] == name) for name in names}
