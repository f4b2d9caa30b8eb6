"""The sync exchange: one request pushes and pulls (README.md beside this)."""

import json
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection

from .. import timesource
from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from ..records.vectors import check_jobs, digest
from ..store import entry_rows
from ..store.engine import reading, writing
from .apply import Outcome, check_identities
from .sender import Sender, take_from
from .summaries import Summaries, Title

PROTOCOL = 1
MAX_ENTRIES = BUDGETS.entries_a_request  # and in an answer; phones learn it from the answer
MAX_PULL_BYTES = BUDGETS.answer_bytes


@dataclass
class _Pulled:
    """Entries on their way to the phone, as the texts they are stored as."""

    room: int
    bodies: list[str] = field(default_factory=list)
    size: int = 0
    aside: dict[str, dict[str, Any]] = field(default_factory=dict)
    more: bool = False
    large: list[tuple[str, str, int]] = field(default_factory=list)  # beyond the budget: alone, and last

    @property
    def full(self) -> bool:
        return len(self.bodies) >= self.room or self.size >= MAX_PULL_BYTES

    @property
    def rows(self) -> int:
        """Return how many entries can be read at once, however large they are."""
        fit = (MAX_PULL_BYTES - self.size) // BUDGETS.entry_bytes
        return min(self.room - len(self.bodies), max(1, fit))

    def add(self, job_id: str, entry: str, body: str, aside: str | None) -> None:
        """Take one entry; ``entry`` is its identity."""
        self.bodies.append(body)
        self.size += len(body)
        if aside is not None:
            self.aside.setdefault(job_id, {})[entry] = json.loads(aside)


def exchange(request: Any, summaries: Summaries, sender: Sender | None = None) -> str:
    """Return the JSON text that answers a request; AppError if it is not of the form."""
    sender = sender or Sender()
    entries, jobs, pull = _parse(request)
    check_identities(entries)
    outcomes: list[Outcome] = []
    if entries:
        with writing() as connection:
            outcomes = take_from(connection, sender, request["device_id"], entries, now_text())
    with reading() as connection:
        return _answer(connection, jobs, outcomes, _Pulled(pull), summaries, sender)


def now_text() -> str:
    """Return the current moment as the database holds it."""
    return timesource.now_utc().isoformat(timespec="milliseconds")


def _parse(request: Any) -> tuple[list[Any], dict[str, dict[str, Any]], int]:
    if not isinstance(request, dict):
        raise AppError("request_malformed", t("api.body_object"))
    if request.get("protocol") != PROTOCOL or isinstance(request["protocol"], bool):
        raise AppError("protocol_unknown", field="protocol")
    device = request.get("device_id")
    if not isinstance(device, str) or not 1 <= len(device) <= 80:
        raise AppError("request_malformed", t("api.device_id"), "device_id")
    entries, pull = request.get("entries", []), request.get("pull", MAX_ENTRIES)
    if not isinstance(entries, list):
        raise AppError("request_malformed", t("api.entries_list"), "entries")
    if len(entries) > MAX_ENTRIES:
        raise AppError("too_many_entries", t("api.max_entries", max=f"{MAX_ENTRIES:,}"), "entries")
    if type(pull) is not int or not 0 <= pull <= MAX_ENTRIES:
        raise AppError("request_malformed", t("api.pull", max=f"{MAX_ENTRIES:,}"), "pull")
    return entries, check_jobs(request.get("jobs", {})), pull


def _answer(
    connection: Connection,
    jobs: dict[str, Any],
    outcomes: list[Outcome],
    pulled: _Pulled,
    summaries: Summaries,
    sender: Sender,
) -> str:
    states: dict[str, Any] = {}
    wanted: set[str] = set()
    known = set(entry_rows.job_ids(connection))
    for job_id, requested in jobs.items():
        if not sender.may_see(job_id):
            states[job_id] = {"refused": "access_job"}
            continue
        held = entry_rows.heads(connection, job_id) if job_id in known else {}
        stamp = digest(held)
        same = requested.get("digest") == stamp
        states[job_id] = {"same": True} if same else {"have": held}
        if "have" in requested:
            _pull(connection, job_id, held, requested["have"], pulled)
        if job_id in known:
            wanted.update(summaries.photos_wanted(connection, job_id, stamp))
    _pull_large(connection, pulled)
    titles = summaries.titles(connection)
    head = {
        "ok": True,
        "protocol": PROTOCOL,
        "jobs": states,
        "fates": outcomes,
        "aside": pulled.aside,
        "more": pulled.more,
        "photos_wanted": sorted(wanted),
        "others": [t.as_json() for t in titles if _is_other(t, jobs, sender)],
        "max_entries": MAX_ENTRIES,
    }
    text = json.dumps(head, separators=(",", ":"))
    # The entries go out as they are stored: parsing them only to write them again is most of the work.
    return f'{text[:-1]},"entries":[{",".join(pulled.bodies)}]}}'


def _is_other(title: Title, jobs: dict[str, Any], sender: Sender) -> bool:
    return title.job_id not in jobs and not title.removed and sender.may_see(title.job_id)


def _pull(
    connection: Connection, job_id: str, held: dict[str, int], have: dict[str, int], pulled: _Pulled
) -> None:
    for writer in sorted(held):
        known = have.get(writer, 0)
        if held[writer] <= known:
            continue
        if not pulled.full:
            known = _pull_writer(connection, job_id, writer, known, pulled)
        pulled.more |= known < held[writer]
        if pulled.full:
            return


def _pull_writer(connection: Connection, job_id: str, writer: str, known: int, pulled: _Pulled) -> int:
    """Pull what fits of a writer's entries after ``known``, and return the number of the last."""
    while not pulled.full and (rows := entry_rows.beyond(connection, job_id, writer, known, pulled.rows)):
        for number, body, aside in rows:
            if body is None:
                pulled.large.append((job_id, writer, number))
                return known
            pulled.add(job_id, f"{writer}:{number}", body, aside)
            known = number
            if pulled.full:
                break
    return known


def _pull_large(connection: Connection, pulled: _Pulled) -> None:
    """Pull an entry beyond the budget, from an earlier version, if nothing else is left to pull."""
    if not pulled.large or pulled.bodies or pulled.room < 1:
        return
    job_id, writer, number = pulled.large[0]
    pulled.more = len(pulled.large) > 1 or number < entry_rows.head(connection, job_id, writer)
    aside = entry_rows.stored(connection, job_id, writer, number, number)[number][1]
    pulled.add(
        job_id, f"{writer}:{number}", entry_rows.body_of(connection, job_id, writer, number) or "", aside
    )
