"""What the stretches of a run carry, as the writers of a pack are given it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Narrowing:
    """What takes part of a section, and what it leaves of the clean capacity [%]; ``words`` name it."""

    record_id: str
    code: str
    form: str
    size: float | None
    sure: bool
    least_pct: float
    most_pct: float
    left_pct: float | None
    words: str


@dataclass(frozen=True)
class Capacity:
    """What a stretch carries, or why no number can be had (``left_out``)."""

    record_id: str
    from_m: float | None
    to_m: float | None
    bore: str
    size_known: str
    roughness_mm: float | None
    roughness_label: str
    roughness_known: str
    deposit_pct: float | None
    deformation_pct: float | None
    gradient_low: float | None
    gradient: float | None
    gradient_high: float | None
    gradient_known: str
    low_m3_s: float | None
    mean_m3_s: float | None
    high_m3_s: float | None
    known: str
    findings: tuple[str, ...]
    left_out: str
    roughness_low_mm: float | None = None
    roughness_high_mm: float | None = None
    narrowed_by: tuple[Narrowing, ...] = ()
    backfall: tuple[float, float, float] | None = None  # from, to, rise [m] in the direction of the flow
    unsure: str = ""  # what widens the band most
    whole_gradient: float | None = None  # from end to end, with the flow
    first_full_m: float | None = None  # chainage where the water reaches the crown first


@dataclass(frozen=True)
class Bottleneck:
    """The stretch that carries least: its place in the capacities, why, and which may carry less."""

    index: int | None
    reasons: tuple[tuple[str, float], ...]  # code, and what it would carry without [m3/s]
    rivals: tuple[int, ...]
    no_number: tuple[int, ...]


@dataclass(frozen=True)
class Surcharge:
    """The flow that lifts the water at the upper end to its cover."""

    node_id: str
    node: str
    level_m: float
    discharge_m3_s: float
    low_m3_s: float
    high_m3_s: float


@dataclass(frozen=True)
class WholeRun:
    """What all stretches carry together, and where the water reaches the crown first [m]."""

    low_m3_s: float
    mean_m3_s: float
    high_m3_s: float
    known: str
    first_full_m: float | None
    surcharge: Surcharge | None
