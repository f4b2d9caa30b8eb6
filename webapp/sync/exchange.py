"""The sync exchange: one request pushes and pulls (README.md beside this)."""

import json
import logging
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from .. import timesource
from ..budgets import BUDGETS, LIMITS
from ..errors import AppError
from ..messages import t
from ..records.entry import Entry
from ..records.erasure import stamp as erasure_stamp
from ..records.fold import entry_id
from ..records.vectors import check_jobs, check_lists, digest
from ..store import access_rows, change_rows, entry_rows, erasure_rows
from ..store.damage import is_damage, of_job, one_job
from ..store.engine import reading, writing
from .apply import Outcome, check_identities
from .erasing import Told, hear, news, own_job, told_of
from .lists import Listing, begin, lists_of
from .pulling import Pulled, pull_job, pull_large
from .sender import Note, Sender, take_from
from .summaries import Summaries
from .wants import Wants

LOG = logging.getLogger("fallbook")
PROTOCOL = 1
MAX_ENTRIES = BUDGETS.entries_a_request  # and in an answer; phones learn it from the answer


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
    pulled: Pulled
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
        pulled=Pulled(pull),
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
        pull_large(connection, pulled)
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
    pulled: Pulled,
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


def _told(connection: Connection, job_id: str, requested: dict[str, Any], pulled: Pulled) -> _Told:
    """Return what a sender is told of a job's vector."""
    stamp = change_rows.stamp(connection, job_id)
    if "since" in requested:
        then = change_rows.since(connection, job_id, requested["since"])
        if then is not None and stamp is not None:
            known = then | requested["have"]
            held = {writer: entry_rows.head(connection, job_id, writer) for writer in known}
            pull_job(connection, job_id, held, known, pulled)
            state = {"since": requested["since"], "have": held, "stamp": stamp}
            return _Told(state, stamp, then)
    held = entry_rows.heads(connection, job_id)
    if "have" in requested and "since" not in requested:
        pull_job(connection, job_id, held, requested["have"], pulled)
    version = digest(held) if stamp is None or "digest" in requested else stamp
    state = {"same": True} if requested.get("digest") == version else {"have": held}
    return _Told(state if stamp is None else state | {"stamp": stamp}, stamp or version)
