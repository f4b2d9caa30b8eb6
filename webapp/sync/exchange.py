"""The sync exchange: one request pushes and pulls (README.md beside this)."""

import json
import logging
from contextlib import closing, suppress
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from .. import timesource
from ..budgets import BUDGETS, LIMITS
from ..errors import AppError
from ..messages import t
from ..records.entry import Aside, Entry
from ..records.erasure import stamp as erasure_stamp
from ..records.fold import entry_id
from ..records.vectors import check_jobs, check_lists, digest
from ..store import access_rows, change_rows, entry_rows, erasure_rows
from ..store.damage import is_damage, of_job, one_job, reasons_of
from ..store.engine import reading, writing
from ..store.entry_rows import Following
from .apply import Outcome, check_identities
from .erasing import Told, hear, news, own_job, told_of
from .lists import Listing, begin, lists_of
from .sender import Note, Sender, take_from
from .summaries import Summaries
from .wants import Wants

LOG = logging.getLogger("fallbook")
PROTOCOL = 1
MAX_ENTRIES = BUDGETS.entries_a_request  # and in an answer; phones learn it from the answer
MAX_PULL_BYTES = BUDGETS.answer_bytes


@dataclass
class _Pulled:
    """Entries on their way to the phone, as the texts they are stored as."""

    room: int
    bodies: list[str] = field(default_factory=list)
    size: int = 0
    aside: dict[str, Aside] = field(default_factory=dict)  # by job
    more: bool = False
    large: list[tuple[str, str, int]] = field(default_factory=list)  # beyond the budget: alone, and last
    told: dict[str, Told] = field(default_factory=dict)  # what the phone knows of erasures, by job
    acts: dict[str, dict[str, str]] = field(default_factory=dict)  # the states of all, by job

    @property
    def full(self) -> bool:
        return len(self.bodies) >= self.room or self.size >= MAX_PULL_BYTES

    def take(self, job_id: str, writer: str, found: Following) -> int:
        """Take what fits of some entries, and return the number of the last that was taken."""
        size, count = sum(map(len, filter(None, found.bodies))), len(found.bodies)
        if not any(found.asides) and None not in found.bodies and self.size + size < MAX_PULL_BYTES:
            self.bodies.extend(filter(None, found.bodies))
            self.size += size
            return found.first + count - 1
        return self._take_singly(job_id, writer, found)

    def _take_singly(self, job_id: str, writer: str, found: Following) -> int:
        taken = found.first - 1
        for body, aside in zip(found.bodies, found.asides, strict=True):
            if body is None:
                self.large.append((job_id, writer, taken + 1))
                break
            taken += 1
            self.add(job_id, f"{writer}:{taken}", body, aside)
            if self.full:
                break
        return taken

    def add(self, job_id: str, entry: str, body: str, aside: str | None) -> None:
        """Take one entry; ``entry`` is its identity."""
        self.bodies.append(body)
        self.size += len(body)
        if aside is not None:
            self.aside.setdefault(job_id, {})[entry] = reasons_of(aside)

    def mark(self) -> tuple[int, int, int, bool]:
        """Return where it stands, for :meth:`back_to`."""
        return len(self.bodies), len(self.large), self.size, self.more

    def back_to(self, mark: tuple[int, int, int, bool], job_id: str) -> None:
        """Leave out again what was pulled of a job since a mark."""
        count, large, self.size, self.more = mark
        del self.bodies[count:], self.large[large:]
        self.aside.pop(job_id, None)


def exchange(request: Any, summaries: Summaries, sender: Sender | None = None) -> str:
    """Return the JSON text that answers a request; AppError if it is not of the form."""
    sender = sender or Sender()
    asked = _parse(request)
    check_identities(asked.entries)
    asked.pulled.told = {
        job_id: own for job_id, own in told_of(request.get("erased", {})).items() if sender.may_see(job_id)
    }
    _hear(asked.pulled.told, sender)
    outcomes: list[Outcome] = []
    if asked.entries:
        outcomes = _take(sender, request["device_id"], asked.entries)
    if asked.lists is not None:
        begin(asked.jobs, summaries, sender)
    with reading() as connection:
        return _answer(connection, asked, outcomes, summaries, sender)


def _hear(told: dict[str, Told], sender: Sender) -> None:
    """Take acts that a phone brings back, before any entry: the server may have forgotten them."""
    brought = [act for job_id, own in told.items() for act in own.acts if own_job(act) == job_id]
    if not brought:
        return
    with writing() as connection:
        for act in hear(connection, brought):
            access_rows.note(
                connection,
                at=now_text(),
                who=sender.name,
                address=sender.address,
                device_id=sender.device_id,
                action="erasure_brought",
                job_id=act.job_id,
                detail={"erasure": act.id, "state": act.state, "entries": act.count()},
            )


def now_text() -> str:
    """Return the current moment as the database holds it."""
    return timesource.now_utc().isoformat(timespec="milliseconds")


def _take(sender: Sender, phone: str, entries: list[Entry]) -> list[Outcome]:
    """Take a batch in one transaction; where damage stops it, job by job, so that others go on."""
    try:
        with writing() as connection:
            return take_from(connection, sender, phone, entries, now_text())
    except (AppError, DBAPIError) as error:
        if not is_damage(error):
            raise
    outcomes: dict[int, Outcome] = {}
    places: dict[str, list[int]] = {}
    for index, entry in enumerate(entries):
        places.setdefault(entry["job_id"], []).append(index)
    for own in places.values():
        some = [entries[index] for index in own]
        taken = _take_of_one_job(sender, phone, some, None)
        # Where the audit log alone is damaged its lines go to the log of the server.
        taken = taken or _take_of_one_job(sender, phone, some, _note_in_log)
        refused = [[entry_id(entry), "not_taken", "data_damaged"] for entry in some]
        outcomes |= zip(own, taken or refused, strict=True)
    return [outcomes[index] for index in range(len(entries))]


def _take_of_one_job(
    sender: Sender, phone: str, entries: list[Entry], note: Note | None
) -> list[Outcome] | None:
    """Take entries of one job; None where damage stops it, and then nothing of them is stored."""
    try:
        with writing() as connection:
            return take_from(connection, sender, phone, entries, now_text(), note)
    except (AppError, DBAPIError) as error:
        if not is_damage(error):
            raise
        return None


def _note_in_log(**line: Any) -> None:
    LOG.error("audit", extra={"parts": line})


@dataclass
class _Asked:
    """A request, looked at."""

    entries: list[Any]
    jobs: dict[str, dict[str, Any]]
    pulled: _Pulled
    lists: dict[str, str] | None  # stamps of the lists that the sender keeps; None if it keeps none
    photo_differences: bool  # whether it takes differences of the photos that are wanted
    photo_remarks: bool | None  # whether it has heard remarks on photos before; None where it takes none


def _parse(request: Any) -> _Asked:
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
    jobs, lists = check_jobs(request.get("jobs", {})), check_lists(request.get("lists"))
    remarks = request.get("photo_remarks")
    return _Asked(
        entries=entries,
        jobs=jobs,
        pulled=_Pulled(pull),
        lists=lists,
        photo_differences=request.get("photo_differences") is True,
        photo_remarks=remarks if isinstance(remarks, bool) else None,
    )


def _answer(
    connection: Connection,
    asked: _Asked,
    outcomes: list[Outcome],
    summaries: Summaries,
    sender: Sender,
) -> str:
    states: dict[str, Any] = {}
    pulled, wants = asked.pulled, Wants(connection, summaries.wanted)
    listing = Listing(asked.jobs, asked.lists, sender, asked.photo_differences, asked.photo_remarks)
    with suppress(AppError), one_job(connection):
        pulled.acts = erasure_rows.states(connection, asked.jobs)
    for job_id, requested in asked.jobs.items():
        if not sender.may_see(job_id):
            states[job_id] = {"refused": "access_job"}
        elif entry_rows.may_be(connection, job_id):
            states[job_id] = _state(connection, (job_id, requested), pulled, summaries, wants)
            if asked.lists is None:
                states[job_id].pop("stamp", None)
        else:
            states[job_id] = {"same": True} if requested.get("digest") == digest({}) else {"have": {}}
    with suppress(AppError), one_job(connection):
        _pull_large(connection, pulled)
    head = {
        "ok": True,
        "protocol": PROTOCOL,
        "jobs": states,
        "fates": outcomes,
        "aside": pulled.aside,
        "more": pulled.more,
        **lists_of(connection, listing, summaries, wants),
        "max_entries": MAX_ENTRIES,
        "limits": LIMITS,
    }
    with suppress(AppError), one_job(connection):
        seen = {job_id: pulled.told.get(job_id, Told()) for job_id in asked.jobs if sender.may_see(job_id)}
        if erased := news(connection, seen, pulled.acts):
            head["erased"] = erased
    text = json.dumps(head, separators=(",", ":"))
    # The entries go out as they are stored: parsing them only to write them again is most of the work.
    return f'{text[:-1]},"entries":[{",".join(pulled.bodies)}]}}'


def _state(
    connection: Connection,
    asked: tuple[str, dict[str, Any]],
    pulled: _Pulled,
    summaries: Summaries,
    wants: Wants,
) -> dict[str, Any]:
    """Return what the answer says of one job, and pull of it; one that is damaged is refused alone."""
    job_id, requested = asked
    before = pulled.mark()
    try:
        if job_id in summaries.damaged:
            raise of_job()
        with one_job(connection):
            told = _told(connection, job_id, requested, pulled)
    except AppError as error:
        if not is_damage(error):
            raise
        pulled.back_to(before, job_id)
        return {"refused": "data_damaged"}
    with suppress(AppError), one_job(connection):  # where rows of photos are damaged, none is asked for
        acts = erasure_stamp(pulled.acts.get(job_id, {}))
        wants.add(job_id, told.version, acts, told.then)
    return told.state


class _Told(NamedTuple):
    """What a sender is told of a job's vector."""

    state: dict[str, Any]
    version: str  # changes with the entries that are held
    then: dict[str, int] | None = None  # where writers that went on were at its stamp, if that is known


def _told(connection: Connection, job_id: str, requested: dict[str, Any], pulled: _Pulled) -> _Told:
    """Return what a sender is told of a job's vector."""
    stamp = change_rows.stamp(connection, job_id)
    if "since" in requested:
        then = change_rows.since(connection, job_id, requested["since"])
        if then is not None and stamp is not None:
            known = then | requested["have"]
            held = {writer: entry_rows.head(connection, job_id, writer) for writer in known}
            _pull(connection, job_id, held, known, pulled)
            state = {"since": requested["since"], "have": held, "stamp": stamp}
            return _Told(state, stamp, then)
    held = entry_rows.heads(connection, job_id)
    if "have" in requested and "since" not in requested:
        _pull(connection, job_id, held, requested["have"], pulled)
    version = digest(held) if stamp is None or "digest" in requested else stamp
    state = {"same": True} if requested.get("digest") == version else {"have": held}
    return _Told(state if stamp is None else state | {"stamp": stamp}, stamp or version)


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
    room = pulled.room - len(pulled.bodies)
    with closing(entry_rows.beyond(connection, job_id, writer, known, room)) as some:
        for found in some:
            known = pulled.take(job_id, writer, found)
            if known < found.first + len(found.bodies) - 1 or pulled.full:
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
