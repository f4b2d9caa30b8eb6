"""Whose entries a device may bring: its own, and those of others that nobody has claimed.

A writer belongs to the device that first used it as its own: whose request and whose entry name the same
phone.  Entries of other phones, from a hand-over file, are passed on.  A writer that came by a file which the
office took in is reserved for the phone that the file names.  Under a writer that another device owns, or
that is reserved for another phone, nothing new is taken into the records: it is held back until its owner
sends it or the office takes it.  (Decision D13.)
"""

import hashlib
import json
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from typing import Any

from sqlalchemy import Connection

from ..messages import t
from ..records.entry import Entry
from ..records.fold import entry_id
from ..store import access_rows, entry_rows, held_back_rows
from ..store.access_rows import RESERVED
from ..store.rows import HeldBackRow
from .apply import Outcome, Taking
from .beside import FULL, Beside
from .erasing import Erasures
from .stored import as_stored, held_back_row

MAX_WRITERS_NAMED = 50
Note = Callable[..., None]


@dataclass(frozen=True)
class Sender:
    """Who brings entries.  ``jobs`` None: all jobs; ``device_id`` None: no credential of its own."""

    name: str = "this machine"
    address: str = ""
    device_id: str | None = None
    jobs: frozenset[str] | None = None

    def may_see(self, job_id: str) -> bool:
        """Say whether a job is one of this sender's."""
        return self.jobs is None or job_id in self.jobs


def is_foreign(reasons: str) -> bool:
    """Say whether an entry is kept beside because another device owns its writer, by its stored reasons."""
    return set(json.loads(reasons)) == {"writer"}


def is_beyond_gap(reasons: str) -> bool:
    """Say whether an entry is held back because one before it was lost, by its stored reasons."""
    return set(json.loads(reasons)) == {"number"}


def take_from(
    connection: Connection,
    sender: Sender,
    phone: str,
    entries: list[Entry],
    now: str,
    note: Note | None = None,
) -> list[Outcome]:
    """Take a batch from a sender; ``phone`` is the name that the request gives itself.

    ``note`` writes who brought what; without it the audit log of the database.
    """
    note = note or partial(access_rows.note, connection)
    foreign = _foreign(connection, sender, phone, entries, now)
    if not foreign and all(map(sender.may_see, {entry["job_id"] for entry in entries})):
        all_of_it = Taking(connection, now)
        taken = all_of_it.take(entries)
        _note(note, sender, now, all_of_it.new, [])
        return taken
    erasures = Erasures(connection, {entry["job_id"] for entry in entries})
    outcomes: dict[int, Outcome] = {}
    rest: list[tuple[int, Entry]] = []
    held_back: list[Entry] = []
    rows: list[HeldBackRow] = []
    beside = Beside(connection)
    for index, entry in enumerate(entries):
        if not sender.may_see(entry["job_id"]):
            outcomes[index] = [entry_id(entry), "not_taken", "access_job"]
        elif entry["writer"] in foreign and entry["number"] > entry_rows.head(
            connection, entry["job_id"], entry["writer"]
        ):
            outcomes[index] = [entry_id(entry), "not_taken", "writer_foreign"]
            if erasures.standing(entry):
                continue
            if not beside.has_room(row := _held_back(entry, now)):
                outcomes[index] = [entry_id(entry), "not_taken", FULL]
                continue
            held_back.append(entry)
            rows.append(row)
        else:
            rest.append((index, entry))
    taking = Taking(connection, now)
    outcomes |= zip((index for index, _ in rest), taking.take([entry for _, entry in rest]), strict=True)
    held_back_rows.add_held_back(connection, rows)
    _note(note, sender, now, taking.new, held_back)
    return [outcomes[index] for index in range(len(entries))]


def _foreign(connection: Connection, sender: Sender, phone: str, entries: list[Entry], now: str) -> set[str]:
    """Return the writers that belong to another device; claim those that are this one's own and free."""
    owners = access_rows.owners(connection, (entry["writer"] for entry in entries))
    own: set[str] = set()
    for entry in entries:
        writer = entry["writer"]
        free = owners.get(writer, RESERVED) == RESERVED
        if not free or writer in own or not sender.may_see(entry["job_id"]):
            continue
        if entry.get("device_id") == phone == _first_phone(connection, entry, phone):
            own.add(writer)
    if own & owners.keys() and not _is_phone(connection, sender, phone):
        own -= owners.keys()
    if sender.device_id is not None:
        access_rows.own(connection, sorted(own - owners.keys()), sender.device_id, now)
        access_rows.take_over(connection, sorted(own & owners.keys()), sender.device_id, now)
    mine = {sender.device_id} - {None}
    return {writer for writer, owner in owners.items() if owner not in mine and writer not in own}


def _is_phone(connection: Connection, sender: Sender, phone: str) -> bool:
    """Say whether a sender may be the phone that a file named, which perhaps never came itself before.

    It is not where the sender has written as another phone, or another device as this one.  What then comes
    under its writers is held back for the office.
    """
    if sender.device_id is None:
        return True
    used = access_rows.phones_and_devices(connection, sender.device_id, phone)
    return used <= {(phone, sender.device_id)}


def _first_phone(connection: Connection, entry: Entry, instead: str) -> Any:
    """Return the phone that wrote the writer's first entry in the job, where it is here already."""
    job_id, writer = entry["job_id"], entry["writer"]
    with closing(entry_rows.beyond(connection, job_id, writer, 0, 1)) as first:
        found = next(first, None)
    if found is None:
        return instead
    body = found.bodies[0] or entry_rows.body_of(connection, job_id, writer, 1)
    return json.loads(body or "{}").get("device_id")


def _held_back(entry: Entry, now: str) -> HeldBackRow:
    entry, body = as_stored(entry)
    reasons = json.dumps({"writer": [t("api.writer_owned_by_another")]})
    return held_back_row(entry, body, hashlib.sha256(body.encode()).hexdigest(), reasons, now)


def _note(note: Note, sender: Sender, now: str, new: list[Entry], held_back: list[Entry]) -> None:
    """Write down who brought which entries: one line for each job of the batch."""
    for job_id in sorted({entry["job_id"] for entry in (*new, *held_back)}):
        mine = [entry for entry in new if entry["job_id"] == job_id]
        detail: dict[str, object] = {"entries": len(mine), "writers": spans(mine)}
        if held := [entry for entry in held_back if entry["job_id"] == job_id]:
            detail["beside"] = spans(held)
        note(
            at=now,
            who=sender.name,
            address=sender.address,
            device_id=sender.device_id,
            action="sent",
            job_id=job_id,
            detail=detail,
        )


def spans(entries: Iterable[Entry]) -> dict[str, list[int]]:
    """Return the first and last number of each writer among entries, of at most 50 writers."""
    found: dict[str, list[int]] = {}
    for entry in entries:
        if entry["writer"] in found or len(found) < MAX_WRITERS_NAMED:
            first, last = found.get(entry["writer"], [entry["number"], entry["number"]])
            found[entry["writer"]] = [min(first, entry["number"]), max(last, entry["number"])]
    return found
