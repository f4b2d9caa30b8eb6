"""The jobs of a data folder as a list, and the job that somebody means by a name.

Plain SQL on whatever connection there is, so that a list needs no more than SQLite.

::

    all_jobs(query)           every job: titles, counts of what stands, when the last entry came
    named(jobs, text)         the one meant: its id or the beginning of it, its title, its reference
    sqlite_query(database)    the query of an SQLite file, opened to read
"""

import json
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from ..errors import AppError
from ..messages import any_of, t
from ..records.entry import Entry
from ..records.fold import AnyRecord, Record, fold
from .folder import uri_to_read
from .migrate_names import is_known

Query = Callable[[str], Iterable[Sequence[Any]]]
MIN_SHOWN_CHARACTERS = 8  # of an id, as it is shown
MIN_ID_CHARACTERS = 4  # of an id, as it may be given
SHOWN = 8
REMOVAL = '%"removed":true%'  # as canonical JSON has it
COUNTED = {
    "run": "runs",
    "node": "nodes",
    "reading": "readings",
    "observation": "observations",
    "photo": "photos",
}


@dataclass(frozen=True)
class ListedJob:
    """One job of the list; the counts are of records that stand."""

    job_id: str
    short_id: str
    title: str
    client_reference: str
    site: str
    removed: bool
    last_received_at: str
    entries: int
    set_aside: int
    counts: dict[str, int] = field(default_factory=dict)
    damaged: bool = False  # it cannot be read; titles and counts are empty


@contextmanager
def sqlite_query(database: Path, *, writable: bool) -> Iterator[Query]:
    """Return the query of an SQLite file that is there; AppError if a newer Fallbook made it."""
    uri = f"{database.absolute().as_uri()}?mode=rw"
    with (
        nullcontext(uri) if writable else uri_to_read(database) as where,
        closing(sqlite3.connect(where, uri=True, timeout=10)) as connection,
    ):
        connection.execute("BEGIN")
        for (revision,) in connection.execute("SELECT version_num FROM alembic_version"):
            if not is_known(revision):
                raise AppError("folder_newer")
        yield connection.execute


def all_jobs(query: Query) -> list[ListedJob]:
    """Return all jobs by title, removed ones last; where the database is damaged, those around the damage."""
    try:
        found = _listed(query)
    except Exception as error:
        from . import damage

        if not (damage.is_damage(error) or isinstance(error, ValueError)):
            raise
        ids = damage.job_ids(query)
        length = short_length(ids)
        found = [_listed_alone(query, job_id, job_id[:length].rstrip("-")) for job_id in ids]
    return sorted(found, key=lambda job: (job.removed, job.title.casefold(), job.job_id))


def _listed_alone(query: Query, job_id: str, short_id: str) -> ListedJob:
    """Return one job of a damaged database."""
    from . import damage

    own = f"FROM (SELECT * FROM entry WHERE job_id = '{job_id}') AS entry"  # noqa: S608  a UUID
    try:
        (job,) = _listed(lambda text: query(text.replace("FROM entry", own)))
    except Exception as error:
        if not (damage.is_damage(error) or isinstance(error, ValueError)):
            raise
        counts = dict.fromkeys(COUNTED.values(), 0)
        return ListedJob(job_id, short_id, "", "", "", False, "", 0, 0, counts, damaged=True)
    return replace(job, short_id=short_id)


def _listed(query: Query) -> list[ListedJob]:
    heads: dict[str, list[Entry]] = {}
    for job_id, body in query("SELECT job_id, body FROM entry WHERE kind = 'job' AND aside IS NULL"):
        heads.setdefault(job_id, []).append(json.loads(body))
    counts = _counts(query)
    whole = "SELECT job_id, count(*), max(received_at), count(aside) FROM entry GROUP BY job_id"
    rows = [tuple(row) for row in query(whole)]
    length = short_length([row[0] for row in rows])
    found = []
    for job_id, entries, last, aside in rows:
        head = _head(heads.get(job_id, []))
        title, reference, site = (
            str(head.fields.get(name) or "") for name in ("title", "client_reference", "site")
        )
        found.append(
            ListedJob(
                job_id,
                job_id[:length].rstrip("-"),
                title,
                reference,
                site,
                head.removed,
                last,
                entries,
                aside,
                counts[job_id],
            )
        )
    return found


def _head(entries: list[Entry]) -> AnyRecord:
    records = fold(entries)
    return records[0] if records else Record("", "job", {})


def _counts(query: Query) -> dict[str, dict[str, int]]:
    """Return how many records of each kind stand in each job."""
    found: dict[str, dict[str, int]] = {}
    many = (
        "SELECT job_id, kind, count(DISTINCT record_id) FROM entry WHERE aside IS NULL GROUP BY job_id, kind"
    )
    jobs = Counter[tuple[str, str]]()
    for job_id, kind, number in query(many):
        jobs[job_id, kind] = number
    jobs.subtract(_removed(query))
    for job_id, _ in jobs:
        found.setdefault(job_id, {name: jobs[job_id, kind] for kind, name in COUNTED.items()})
    for (job_id,) in query("SELECT DISTINCT job_id FROM entry"):
        found.setdefault(job_id, dict.fromkeys(COUNTED.values(), 0))
    return found


def _removed(query: Query) -> Counter[tuple[str, str]]:
    """Count the removed records: only those that an entry once removed have to be looked at whole."""
    rows = query(
        "SELECT job_id, kind, body FROM entry WHERE aside IS NULL AND (job_id, record_id) IN "  # noqa: S608
        f"(SELECT job_id, record_id FROM entry WHERE aside IS NULL AND body LIKE '{REMOVAL}')"
    )
    touched: dict[str, list[Entry]] = {}
    for job_id, _, body in rows:
        touched.setdefault(job_id, []).append(json.loads(body))
    return Counter((job, r.kind) for job, entries in touched.items() for r in fold(entries) if r.removed)


def short_length(ids: Sequence[str]) -> int:
    """Return how much of the ids tells them all apart."""
    length = MIN_SHOWN_CHARACTERS
    while length < 36 and len({one[:length].rstrip("-") for one in ids}) < len(set(ids)):
        length += 1
    return length


def named(jobs: Sequence[ListedJob], text: str) -> ListedJob:
    """Return the one job that ``text`` means; AppError if there is none, or if it may mean several."""
    wanted, start = _plain(text), text.strip().lower()
    whole = [job for job in jobs if job.job_id == start]
    found = whole or [
        job
        for job in jobs
        if wanted in (_plain(job.title), _plain(job.client_reference))
        or (len(start) >= MIN_ID_CHARACTERS and job.job_id.startswith(start))
    ]
    standing = [job for job in found if not job.removed] or found
    if len(standing) == 1:
        return standing[0]
    if not standing:
        raise AppError("job_not_found", _near(jobs, text))
    candidates = "; ".join(f"{job.short_id} {job.title or t('cli.untitled')}" for job in standing[:SHOWN])
    raise AppError("job_ambiguous", f"{candidates}{'; ...' if len(standing) > SHOWN else ''}.")


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _near(jobs: Sequence[ListedJob], text: str) -> str:
    from difflib import get_close_matches

    names = {_plain(name): name for job in jobs for name in (job.title, job.client_reference) if name}
    close = [names[name] for name in get_close_matches(_plain(text), names, 2)]
    return t("cli.did_you_mean", names=any_of(close)) if close else t("cli.see_jobs")
