"""What an answer of the exchange brings to a phone: entries as they are stored, within its room."""

from contextlib import closing
from dataclasses import dataclass, field

from sqlalchemy import Connection

from ..budgets import BUDGETS
from ..records.entry import Aside
from ..store import entry_rows
from ..store.damage import reasons_of
from ..store.entry_rows import Following
from .erasing import Told

MAX_PULL_BYTES = BUDGETS.answer_bytes


@dataclass
class Pulled:
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


def pull_job(
    connection: Connection, job_id: str, held: dict[str, int], have: dict[str, int], pulled: Pulled
) -> None:
    """Pull what fits of a job's entries beyond those that the phone has."""
    for writer in sorted(held):
        known = have.get(writer, 0)
        if held[writer] <= known:
            continue
        if not pulled.full:
            known = _pull_writer(connection, job_id, writer, known, pulled)
        pulled.more |= known < held[writer]
        if pulled.full:
            return


def _pull_writer(connection: Connection, job_id: str, writer: str, known: int, pulled: Pulled) -> int:
    """Pull what fits of a writer's entries after ``known``, and return the number of the last."""
    room = pulled.room - len(pulled.bodies)
    with closing(entry_rows.beyond(connection, job_id, writer, known, room)) as some:
        for found in some:
            known = pulled.take(job_id, writer, found)
            if known < found.first + len(found.bodies) - 1 or pulled.full:
                break
    return known


def pull_large(connection: Connection, pulled: Pulled) -> None:
    """Pull an entry beyond the budget, from an earlier version, if nothing else is left to pull."""
    if not pulled.large or pulled.bodies or pulled.room < 1:
        return
    job_id, writer, number = pulled.large[0]
    pulled.more = len(pulled.large) > 1 or number < entry_rows.head(connection, job_id, writer)
    aside = entry_rows.stored(connection, job_id, writer, number, number)[number][1]
    pulled.add(
        job_id, f"{writer}:{number}", entry_rows.body_of(connection, job_id, writer, number) or "", aside
    )
