"""What the writers of a pack may use: everything computed, nothing left to compute.

Lengths and levels are metres, sizes millimetres, angles degrees, as the names say. A pair ``low``
and ``high`` that is equal is one value; where it differs, a reading beyond the instrument's range
stands behind it and ``sense`` says which side means something: ``at_least`` (low), ``at_most``
(high) or ``between``.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Level:
    """Invert level at a chainage and how it is known: computed, bounded or assumed."""

    chainage_m: float
    low_m: float
    high_m: float
    known: str
    sense: str  # "", "at_least", "at_most", "between"


@dataclass(frozen=True)
class Node:
    """A node as recorded."""

    record_id: str
    ref: str
    type_label: str
    position: dict[str, Any] | None
    position_note: str
    cover_level_m: float | None
    dipped_depth_m: float | None
    invert_m: float | None  # cover level less the dip


@dataclass(frozen=True)
class Photo:
    """A picture as recorded; ``filename`` is its name in the pack."""

    record_id: str
    sha256: str
    media_type: str
    size_bytes: int
    taken_at: str
    run_id: str
    run_ref: str
    belongs_to: str
    counter_m: float | None
    chainage_m: float | None
    caption: str
    filename: str


@dataclass(frozen=True)
class Stretch:
    """A length of the same pipe."""

    record_id: str
    from_counter_m: float | None
    to_counter_m: float | None
    from_m: float | None
    to_m: float | None
    shape: str
    height_mm: float | None
    width_mm: float | None
    size_known: str
    material: str
    lining: str
    pipe_unit_length_m: float | None
    remark: str


@dataclass(frozen=True)
class Reading:
    """A reading: raw, then what follows from it."""

    record_id: str
    counter_m: float | None
    chainage_m: float | None
    inclination: dict[str, Any] | None
    deg: float | None
    pct: float | None
    one_in: float | None
    over: int  # +1 or -1 beyond the instrument's range, else 0
    against_flow: bool  # the invert rises the way the water should go
    length_m: float | None  # since the station before
    rise_low_m: float | None  # since the station before, + rises ahead
    rise_high_m: float | None
    step_sense: str
    level: Level | None
    remark: str
    disputed: bool


@dataclass(frozen=True)
class Observation:
    """A coded observation with the words of its code."""

    record_id: str
    counter_m: float | None
    chainage_m: float | None
    code: str
    compact: str
    title: str
    group: str
    characterisation_1: str
    characterisation_2: str
    words: tuple[str, ...]  # the labels of its characterisations
    sizes: tuple[tuple[str, float, str], ...]  # label, value, unit
    quantification_1: float | None
    quantification_2: float | None
    clock_from: float | None
    clock_to: float | None
    at_joint: bool | None
    continuous_role: str
    continuous_number: int | None
    finish_m: float | None  # chainage of the finish that pairs with this start
    level: Level | None
    remark: str
    disputed: bool
    photos: tuple[Photo, ...]


@dataclass(frozen=True)
class Tie:
    """A level known from outside the pipe, beside the level computed there."""

    record_id: str
    counter_m: float | None
    chainage_m: float | None
    invert_level_m: float | None
    sd_m: float | None
    method: str
    remark: str
    computed: Level | None
    misclosure_m: float | None  # computed less tie; None if bounded or if levels start from it
    is_start: bool
    contradicts: bool  # it lies outside the bounds


@dataclass(frozen=True)
class Remark:
    """Free text."""

    record_id: str
    chainage_m: float | None
    counter_m: float | None
    text: str


@dataclass(frozen=True)
class Run:
    """A run, its records in order of chainage, and its levels."""

    record_id: str
    ref: str
    start: Node | None
    finish: Node | None
    direction: str
    direction_label: str
    datum_label: str
    counter_zero_m: float
    zero_known: str
    scale: float
    scale_known: str
    limit_deg: float
    limit_known: str
    start_bearing: dict[str, Any] | None
    end_reason: str
    end_reason_label: str
    end_counter_m: float | None
    surveyed_m: float | None
    surveyed_known: str
    expected_m: float | None
    remaining_m: float | None
    start_level_m: float | None  # None: levels are relative to the start
    start_level_known: str
    rise_low_m: float | None
    rise_high_m: float | None
    rise_sense: str
    rise_known: str
    levels: tuple[Level, ...]
    readings: tuple[Reading, ...]
    stretches: tuple[Stretch, ...]
    observations: tuple[Observation, ...]
    ties: tuple[Tie, ...]
    remarks: tuple[Remark, ...]
    photos: tuple[Photo, ...]  # those that belong to no observation
    backfalls: tuple[tuple[float, float], ...]
    over_range: tuple[tuple[float, float], ...]
    findings: tuple[tuple[str, str], ...]  # severity, sentence
    remark: str


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
class SetAside:
    """An entry that broke a rule of its kind and takes no part."""

    entry: str
    kind: str
    device: str
    reasons: tuple[str, ...]


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
    set_aside: tuple[SetAside, ...]
    devices: tuple[Device, ...]
    entries: int
    removed: int
    strays: int  # records that name no standing run
    code_standard: str
    dated_at: str  # the last recorded_at of the entries, or the survey date; never a clock
    app_version: str
    records: tuple[Any, ...] = field(default=(), compare=False, repr=False)  # folded, for other formats
    photo_bytes: Callable[[str], bytes | None] = field(default=_no_photo, compare=False, repr=False)
