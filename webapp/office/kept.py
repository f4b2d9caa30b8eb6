"""The indexes of the jobs that the office looks at, kept in memory as long as they stand for what is stored.

What a look uses is never older than the records: what came since is taken first, in the transaction of the
look.  What else changes (an act of the eraser, a database put back from a backup, a row that is not what was
stored) makes an index anew.  That of a small job is made for each look, so that each reads all of it; of a
large one it is made in a thread that rests in between, and until it is there `NotReady` is raised.
"""

import threading
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from typing import NamedTuple

from sqlalchemy import Connection

from .. import timesource
from ..errors import AppError
from ..records.entry import Entry
from ..records.erasure import stamp
from ..store import aside_rows, change_rows, damage, entry_rows, entry_some, erasure_rows, whole_jobs
from ..store.engine import reading
from ..store.entry_some import Identity
from .index import Index

MAX_SMALL_ENTRIES = 1_000  # entries of a job that is read whole for each look
MAX_CAUGHT_UP_ENTRIES = 2_000  # entries that a look takes itself
MAX_KEPT_ENTRIES = 1_000_000  # entries of all jobs whose indexes are kept
PATIENCE_S = 1.0
AT_ONCE = 100  # entries between two rests
PROVED_A_LOOK = 500


class NotReady(Exception):
    """The index of a job is being made: so many of its entries are read."""

    def __init__(self, done: int, total: int) -> None:
        super().__init__(done, total)
        self.done, self.total = done, total


class Version(NamedTuple):
    """What changes with the entries of a job, and with its acts of the eraser."""

    entries: str
    acts: str


@dataclass
class Slot:
    """The index of one job, and who is at it."""

    turn: threading.Lock = field(default_factory=threading.Lock)
    index: Index | None = None
    version: Version | None = None
    maker: threading.Thread | None = None
    error: Exception | None = None
    done: int = 0
    total: int = 0
    proved: tuple[int, int] = (0, 0)  # up to which writer, and number, the looks have read again
    used: int = 0

    @contextmanager
    def forgotten_after_a_fault(self) -> Iterator[None]:
        """Keep no index with which, or with whose entries, something went wrong."""
        try:
            yield
        except Exception:
            self.index = None
            raise

    def tell_error(self) -> None:
        """Raise what went wrong when the index was made, once."""
        error, self.error = self.error, None
        if error is not None:
            raise error


class Kept:
    """The indexes of one process."""

    def __init__(self, context: Callable[[], AbstractContextManager[object]]) -> None:
        """``context`` gives the database to a thread."""
        self._context = context
        self.slots: dict[str, Slot] = {}
        self._lock = threading.Lock()
        self._making = threading.Lock()  # one job at a time
        self._stop = threading.Event()
        self._looks = 0

    def close(self) -> None:
        """End what is being made."""
        self._stop.set()
        for slot in self.slots.values():
            if slot.maker is not None:
                slot.maker.join(10)

    @contextmanager
    def look(self, job_id: str) -> Iterator[tuple[Connection, Index]]:
        """Read one job: a transaction, and the index that stands for what it sees.

        AppError ``job_not_found``, or ``data_damaged``; NotReady while the index is made.
        """
        known = self.slots.get(job_id)
        total = known.total if known else _count(job_id)
        if total > MAX_SMALL_ENTRIES:
            with self._in_turn(job_id, self._slot(job_id, total)) as found:
                yield found
            return
        with reading() as connection:
            index = index_of(connection, job_id)
            if not index.entries:
                raise AppError("job_not_found")
            try:
                yield connection, index
            finally:
                index.close()

    @contextmanager
    def _in_turn(self, job_id: str, slot: Slot) -> Iterator[tuple[Connection, Index]]:
        for _ in range(2):
            if slot.maker is not None:
                slot.maker.join(PATIENCE_S)
                if slot.maker.is_alive():
                    raise NotReady(slot.done, slot.total)
            with slot.turn, slot.forgotten_after_a_fault(), reading() as connection:
                slot.tell_error()
                if index := _brought_up(connection, job_id, slot):
                    slot.total = index.entries
                    _prove_in_turn(connection, job_id, slot, index)
                    yield connection, index
                    return
            self._make(job_id, slot)
        raise NotReady(slot.done, slot.total)  # it went on by more than a look takes while it was made

    def _slot(self, job_id: str, total: int) -> Slot:
        with self._lock:
            self._looks += 1
            slot = self.slots.setdefault(job_id, Slot())
            slot.used, slot.total = self._looks, total
        return slot

    def _make(self, job_id: str, slot: Slot) -> None:
        """Begin to make an index, if nobody has."""
        with self._lock:
            if slot.maker is None or not slot.maker.is_alive():
                slot.done, slot.error = 0, None
                slot.maker = threading.Thread(
                    target=self._run, args=(job_id, slot), name="office", daemon=True
                )
                slot.maker.start()

    def _run(self, job_id: str, slot: Slot) -> None:
        try:
            with self._making, self._context(), reading() as connection:
                version = _version(connection, job_id)
                index = index_of(connection, job_id, Rests(slot, self._stop))
            with slot.turn:
                slot.index, slot.version, slot.proved = index, version, (0, 0)
        except Ended:
            pass
        except Exception as error:  # whoever looks next is told
            slot.error = error
        self._make_room(slot)

    def _make_room(self, newest: Slot) -> None:
        """Forget the indexes that nobody used for longest, where they are too many."""
        with self._lock:
            slots = sorted(self.slots.items(), key=lambda item: item[1].used, reverse=True)
            held = newest.total
            for job_id, slot in slots:
                held += 0 if slot is newest else slot.total
                in_use = slot is newest or (slot.maker is not None and slot.maker.is_alive())
                if held > MAX_KEPT_ENTRIES and not in_use:
                    del self.slots[job_id]


class Ended(Exception):
    """The server ends."""


class Rests:
    """What the maker does after some entries: it rests, half as long as they took, so that others go on."""

    def __init__(self, slot: Slot, stop: threading.Event) -> None:
        self.slot, self.stop = slot, stop
        self._since_s = timesource.processor_s()

    def __call__(self, done: int) -> None:
        """Note how far it is, and rest."""
        self.slot.done = done
        if self.stop.wait((timesource.processor_s() - self._since_s) / 2):
            raise Ended
        self._since_s = timesource.processor_s()


def _count(job_id: str) -> int:
    with reading() as connection, damage.one_job(connection):
        return sum(entry_rows.heads(connection, job_id).values())


def _version(connection: Connection, job_id: str) -> Version:
    acts = stamp(erasure_rows.states(connection, [job_id]).get(job_id, {}))
    noted = change_rows.stamp(connection, job_id)
    # Without a log, as after damage to it, whatever changes makes the index anew.
    return Version(noted or aside_rows.newest(connection, job_id), acts)


def index_of(connection: Connection, job_id: str, rest: Callable[[int], None] | None = None) -> Index:
    """Return the index of a job, all of it read; AppError ``data_damaged`` if one entry is not whole."""
    index = Index()
    for done, (writer, number, body, reasons) in enumerate(whole_jobs.sound_rows(connection, job_id)):
        if rest is not None and done % AT_ONCE == 0:
            rest(done)
        index.take(damage.entry_of(job_id, writer, number, body), writer, number, aside=reasons is not None)

    def read(identities: Iterable[Identity]) -> Iterable[Entry]:
        if rest is not None:
            rest(index.entries)
        return read_some(connection, job_id, identities)

    index.settle(read)
    return index


def read_some(connection: Connection, job_id: str, identities: Iterable[Identity]) -> list[Entry]:
    """Return entries of a job by their identities."""
    return [found.entry for found in entry_some.some(connection, job_id, identities).values()]


def _brought_up(connection: Connection, job_id: str, slot: Slot) -> Index | None:
    """Return the index of a job, with what came since; None where it has to be made anew."""
    index, known = slot.index, slot.version
    with damage.one_job(connection):
        version, heads = _version(connection, job_id), entry_rows.heads(connection, job_id)
    if index is None or known is None or known.acts != version.acts:
        return None
    if known.entries != version.entries:
        then = change_rows.since(connection, job_id, known.entries)
        # An entry that it has already may have come whole in the place of its frame.
        if then is None or any(number < index.heads.get(writer, 0) for writer, number in then.items()):
            return None
    if any(heads.get(writer, 0) < number for writer, number in index.heads.items()):
        return None
    if sum(heads.values()) - index.entries > MAX_CAUGHT_UP_ENTRIES:
        return None
    if heads != index.heads:
        _take_since(connection, job_id, index, heads)
    slot.version = version
    return index


def _take_since(connection: Connection, job_id: str, index: Index, heads: Mapping[str, int]) -> None:
    for writer, head in heads.items():
        known = index.heads.get(writer, 0)
        if head == known:
            continue
        for some in entry_rows.beyond(connection, job_id, writer, known, head - known):
            for number, (body, reasons) in enumerate(zip(some.bodies, some.asides, strict=True), some.first):
                body = body or entry_rows.body_of(connection, job_id, writer, number) or ""
                entry = damage.entry_of(job_id, writer, number, body)
                index.take(entry, writer, number, aside=reasons is not None)
    if index.heads != heads:
        raise damage.of_job()
    index.settle(lambda identities: read_some(connection, job_id, identities))


def _prove_in_turn(connection: Connection, job_id: str, slot: Slot, index: Index) -> None:
    """Read some entries again, each look the next; AppError ``data_damaged`` if one is not whole."""
    writers, left = list(index.heads.items()), PROVED_A_LOOK
    at, number = slot.proved
    for writer, head in writers[at:]:
        most = min(left, head - number)
        with damage.one_job(connection):
            found = entry_rows.beyond(connection, job_id, writer, number, most)
            if sum(len(some.bodies) for some in found) != most:
                raise damage.of_job()
        left -= max(most, 10)  # to ask costs too
        number += most
        if number < head:
            break
        at, number = at + 1, 0
        if left <= 0:
            break
    slot.proved = (at, number) if at < len(writers) else (0, 0)
