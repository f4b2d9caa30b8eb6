"""What the writers of a pack may use: everything computed, nothing left to compute.

Lengths and levels are metres, sizes millimetres, angles degrees, as the names say. A run and its records
stand in ``run``, its figures in ``figures``.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from ..survey.wording.messages import Words
from .run import Node, Photo, Remark, Run


@dataclass(frozen=True)
class Check:
    """An instrument check: what was recorded, and what follows from it."""

    record_id: str
    label: str
    run_ref: str
    facts: tuple[tuple[str, str], ...]
    follows: tuple[str, ...]
    instrument: str
    remark: str


@dataclass(frozen=True)
class SafetyAnswer:
    """An answer of the safety sheet; ``as_hoped`` None when it was not answered."""

    question: str
    answer: str
    as_hoped: bool | None
    help: str
    remark: str


@dataclass(frozen=True)
class Conflict:
    """A field that two people set to different values, not settled yet."""

    where: str
    field: str
    shown: str
    others: tuple[str, ...]


@dataclass(frozen=True)
class Rejected:
    """An entry that broke a rule of its kind and takes no part."""

    entry: str
    kind: str
    device: str
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Erased:
    """What one act of the office took out: how much, what it was and where, and when and why."""

    entries: int
    what: str
    why: str


@dataclass(frozen=True)
class OpenItem:
    """Something not closed on site; ``severity``: ``hazard``, ``site`` (cannot be mended later), ``desk``."""

    code: str
    severity: str
    run_ref: str
    about: str
    sentence: str
    why: str
    record_id: str


@dataclass(frozen=True)
class OpenItems:
    """The open items, what was looked at, and of how many photos nothing was measured."""

    items: tuple[OpenItem, ...] = ()
    looked_at: tuple[str, ...] = ()
    photos_unmeasured: int = 0


@dataclass(frozen=True)
class Device:
    """What one phone recorded."""

    device_id: str
    openings: int
    entries: int
    first_at: str
    last_at: str


def _no_photo(sha256: str) -> bytes | None:
    return None


@dataclass(frozen=True)
class PackContents:
    """Everything that a pack says."""

    job_id: str
    title: str
    facts: tuple[tuple[str, str], ...]  # label and value of the job's own fields
    surveyed_on: str
    surveyor: str
    site: str
    level_datum: str
    purpose: str
    local_rules: str
    nodes: tuple[Node, ...]
    runs: tuple[Run, ...]
    checks: tuple[Check, ...]
    safety: tuple[SafetyAnswer, ...]
    safety_note: str
    cautions: tuple[tuple[str, str, str, str], ...]  # topic, text, law, certainty
    remarks: tuple[Remark, ...]
    photos: tuple[Photo, ...]
    conflicts: tuple[Conflict, ...]
    rejected: tuple[Rejected, ...]
    devices: tuple[Device, ...]
    entries: int
    removed: int
    strays: int  # records that name no standing run
    code_standard: str
    dated_at: str  # the last recorded_at of the entries, or the survey date; never a clock
    app_version: str
    erased: tuple[Erased, ...] = ()
    erased_in_part: int = 0  # records of which something else stands
    further_names: tuple[str, ...] = ()  # of the fields of observations, whether recorded or not
    not_closed: OpenItems = OpenItems()
    scales: dict[str, float] = field(default_factory=dict)  # counter scale of each recorded run, by its id
    records: tuple[Any, ...] = field(default=(), compare=False, repr=False)  # folded, for other formats
    words: Words = field(default_factory=dict, compare=False, repr=False)
    photo_bytes: Callable[[str], bytes | None] = field(default=_no_photo, compare=False, repr=False)
