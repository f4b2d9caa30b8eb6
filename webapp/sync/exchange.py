"""The sync exchange: one request pushes and pulls (README.md beside this)."""

import json
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection

from .. import timesource
from ..errors import AppError
from ..messages import t
from ..records.vectors import check_jobs, digest
from ..store import entry_rows
from ..store.engine import reading, writing
from .apply import Outcome, check_identities
from .sender import Sender, take_from
from .summaries import Summaries, Title

PROTOCOL = 1
MAX_ENTRIES = 5000  # in a request and in an answer; phones learn it from the answer
MAX_PULL_BYTES = 8_000_000


@dataclass
class _Pulled:
    """Entries on their way to the phone, as the texts they are stored as."""

    room: int
    bodies: list[str] = field(default_factory=list)
    size: int = 0
    aside: dict[str, dict[str, Any]] = field(default_factory=dict)
    more: bool = False

    @property
    def full(self) -> bool:
        return len(self.bodies) >= self.room or self.size >= MAX_PULL_BYTES


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
    for job_id, requested in jobs.items():
        if not sender.may_see(job_id):
            states[job_id] = {"refused": "access_job"}
            continue
        held = entry_rows.heads(connection, job_id)
        stamp = digest(held)
        same = requested.get("digest") == stamp
        states[job_id] = {"same": True} if same else {"have": held}
        if "have" in requested:
            _pull(connection, job_id, held, requested["have"], pulled)
        wanted.update(summaries.photos_wanted(connection, job_id, stamp))
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
        if pulled.full:
            pulled.more = True
            return
        room = pulled.room - len(pulled.bodies)
        for number, body, aside in entry_rows.beyond(connection, job_id, writer, known, room):
            pulled.bodies.append(body)
            pulled.size += len(body)
            known = number
            if aside is not None:
                pulled.aside.setdefault(job_id, {})[f"{writer}:{number}"] = json.loads(aside)
            if pulled.full:
                break
        if known < held[writer]:
            pulled.more = True
            return
