"""What the figures of a run's capacity hold, from the plain row of a stretch to the whole run.

Gradients are falls per length along the pipe [m/m], positive with the flow. None: no number can be had.
"""

from typing import TypedDict

from ..levels.reaches import Backfall
from ..section.bore import BoreSizes


class Capacity(TypedDict):
    """What a stretch carries full, between two bounds, and how that is known."""

    low_m3_s: float | None
    mean_m3_s: float | None
    high_m3_s: float | None
    known: str
    findings: list[str]


class Reason(TypedDict):
    """A cause of a bottleneck, and what the stretch would carry without it."""

    code: str
    without_m3_s: float


class RunBottleneck(TypedDict):
    """The row that carries least: its index, why, and which others may carry as little or have no number."""

    index: int | None
    reasons: list[Reason]
    rivals: list[int]
    no_number: list[int]


class Narrowing(TypedDict):
    """What narrows a length: the share of the clean capacity that it leaves, at the ends of its size."""

    record_id: str
    code: str
    form: str
    size: float | None  # as recorded, in the unit of its code
    sure: bool  # False where its kind is not settled
    least_pct: float
    most_pct: float
    left_pct: float | None  # at the size shown


class CapacityRow(TypedDict):
    """A stretch and its plain capacity; ``left_out``: why it has none."""

    id: str
    from_m: float | None
    to_m: float | None
    bore: BoreSizes | None
    size_known: str
    roughness_mm: float | None
    roughness_known: str
    roughness_value: str  # the row of the table, empty where none
    deposit_id: str | None
    deposit_pct: float | None
    deformation_id: str | None
    deformation_pct: float | None
    gradient_low: float | None
    gradient: float | None
    gradient_high: float | None
    gradient_known: str
    capacity: Capacity | None
    left_out: str | None


class PlainCapacity(TypedDict):
    """The plain capacities of a run; ``flow``: with_flow or against_flow."""

    flow: str
    flow_known: str
    rows: list[CapacityRow]
    bottleneck: RunBottleneck | None


class Carries(TypedDict):
    """Gradient and roughness over the whole of a stretch, by which shares are judged."""

    gradient: float | None
    roughness_mm: float | None


class LimitedRow(CapacityRow):
    """A stretch as it is: its flattest reach, all that narrows it, and what makes its number unsure."""

    carries: Carries
    laid: BoreSizes | None
    roughness_low_mm: float | None
    roughness_high_mm: float | None
    narrowings: list[Narrowing]
    backfall: Backfall | None
    spread: dict[str, float | None] | None  # by cause, the width of the band that it alone would give [ln]
    even_m3_s: float | None  # with an even fall
    first_full_m: float | None  # chainage where the water reaches the crown first


class SpannedRow(LimitedRow):
    """A stretch that spans what its pipe may be; ``bores``: these, empty where it is settled."""

    disputed: bool
    bores: list[BoreSizes]


class Cover(TypedDict):
    """The cover at the upper end of a run; ``level_m`` above the datum."""

    node_id: str
    level_m: float


class Surcharge(TypedDict):
    """The flow that lifts the water at the upper end to the level of the cover, above the datum."""

    node_id: str
    level_m: float
    discharge_m3_s: float
    low_m3_s: float
    high_m3_s: float


class RunCarries(TypedDict):
    """What all stretches carry together; ``at_m``: where the water reaches the crown first."""

    low_m3_s: float
    mean_m3_s: float
    high_m3_s: float
    known: str
    at_m: float | None
    surcharge: Surcharge | None


class LimitedCapacity(TypedDict):
    """The capacities of a run as it is, by the pipes as shown."""

    flow: str
    flow_known: str
    rows: list[LimitedRow]
    bottleneck: RunBottleneck | None
    whole: RunCarries | None


class SpannedCapacity(TypedDict):
    """The capacities of a run as it is, wider where a pipe is in dispute."""

    flow: str
    flow_known: str
    rows: list[SpannedRow]
    bottleneck: RunBottleneck | None
    whole: RunCarries | None


class RunCapacity(SpannedCapacity):
    """The same, with what speaks against a number for the whole of the run."""

    limits: list[str]
