"""The computed figures of a run as the writers of a pack use them: nothing left to compute.

Units stand in the names. Where a number is only bounded its value is None and ``low`` and ``high`` hold
the bounds; ``sense`` says which of them means something.
"""

from dataclasses import dataclass

from ..survey.instruments.instruments import Instruments
from ..survey.levels.falls import LengthRow
from ..survey.levels.ponding import Backfall, Sag

__all__ = ["Backfall", "Instruments", "LengthRow", "Sag"]


@dataclass(frozen=True)
class Level:
    """Invert level at a chainage, its standard deviation or its bounds, and its 95 % band.

    ``known``: measured, adjusted, computed, bounded or assumed. ``measured_m``: the levels of the ties that
    stand there, as measured. ``sense``: empty, ``at_least``, ``at_most``,
    ``between`` or ``unknown``.
    """

    chainage_m: float
    level_m: float | None
    sd_m: float | None
    low_m: float | None
    high_m: float | None
    band_low_m: float | None
    band_high_m: float | None
    known: str
    sense: str
    measured_m: tuple[float, ...] = ()


@dataclass(frozen=True)
class Rise:
    """Change of the invert from the start of a run to its end, plus where it rises ahead."""

    value_m: float | None
    sd_m: float | None
    low_m: float | None
    high_m: float | None
    known: str


@dataclass(frozen=True)
class Tie:
    """A level known from outside the pipe, and how the readings agree with it.

    ``before_m``: tie less the readings alone, carried from the first tie; ``after_m``: tie less the adjusted
    level; ``adjusted_m`` with ``adjusted_sd_m``: that level; ``rest_m`` with ``rest_sd_m``: tie less what all
    else says of it. ``left_out``: why it counts not.
    """

    record_id: str
    counter_m: float | None
    chainage_m: float | None
    invert_level_m: float | None
    sd_m: float | None
    sd_known: str
    method: str
    remark: str
    before_m: float | None
    after_m: float | None
    rest_m: float | None
    rest_sd_m: float | None
    standardised: float | None
    suspect: bool
    left_out: str
    adjusted_m: float | None
    adjusted_sd_m: float | None


@dataclass(frozen=True)
class Blunder:
    """What most looks like a slip: ``tie``, ``start`` or ``readings``; where, by how much if it alone is."""

    kind: str
    from_m: float
    to_m: float
    size_m: float
    standardised: float


@dataclass(frozen=True)
class Gap:
    """A reading beyond the range: ``status`` solved, bounded or open; its rise, or the bounds of it.

    It stands at ``chainage_m``; from ``from_m``, where the reading before it ends, to ``to_m``, where the
    next one stands, nothing else is known of the inclination. ``length_m`` is that for which it counts.
    """

    record_id: str
    chainage_m: float
    from_m: float
    to_m: float
    over: int
    length_m: float
    status: str
    consistent: bool
    low_m: float | None
    high_m: float | None
    low_deg: float | None
    high_deg: float | None
    rise_m: float | None
    sd_m: float | None
    deg: float | None
    sd_deg: float | None


@dataclass(frozen=True)
class WaterSeen:
    """A water level observed beside the standing water computed there; see ``survey.ponding``."""

    record_id: str
    chainage_m: float
    computed_m: float
    observed_m: float
    flow_depth_m: float
    difference_m: float
    sd_m: float
    verdict: str


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


@dataclass(frozen=True)
class TracePoint:
    """Start, bend or end of a trace: plan distance, place, 95 % ellipse, place on the ground."""

    plan_m: float
    e_m: float
    n_m: float
    semi_major_m: float
    semi_minor_m: float
    azimuth_deg: float
    lat_deg: float | None
    lon_deg: float | None


@dataclass(frozen=True)
class TraceBend:
    """A bend of a trace, or a joint at an angle."""

    record_id: str
    chainage_m: float
    deflection_deg: float
    sd_deg: float
    known: str = "measured"
    joint: bool = False


@dataclass(frozen=True)
class TraceLoose:
    """What may turn a trace at a place and nobody knows which way, or by how much."""

    record_id: str
    chainage_m: float
    sd_deg: float


@dataclass(frozen=True)
class TraceJoints:
    """A length of single pipes whose joints nobody observed."""

    from_m: float
    to_m: float
    pipe_m: float
    pipe_known: str
    material: str
    sd_deg: float
    count: int


@dataclass(frozen=True)
class TraceDeclination:
    """The declination that turned the start bearing, how it is known, and the year of its model or map."""

    deg: float
    sd_deg: float
    sd_known: str
    known: str
    model: str


@dataclass(frozen=True)
class TraceConvergence:
    """The grid convergence that turned the start bearing: typed in, or computed from the grid's meridian."""

    deg: float
    known: str


@dataclass(frozen=True)
class TracePosition:
    """A position that a trace rests on: its 95 % radius, and the radius that its source states."""

    radius_m: float
    known: str
    stated_m: float | None
    stated_pct: float | None
    source: str


@dataclass(frozen=True)
class Placed:
    """An observation in plan."""

    record_id: str
    chainage_m: float
    e_m: float
    n_m: float
    lat_deg: float | None
    lon_deg: float | None


@dataclass(frozen=True)
class FarEnd:
    """Where the far end lies, seen from the start; look within ``radius_m``."""

    distance_m: float
    bearing_deg: float
    north: str
    radius_m: float
    lat_deg: float | None
    lon_deg: float | None


@dataclass(frozen=True)
class Trace:
    """A run in plan; without points when something is ``missing``."""

    missing: tuple[str, ...]
    north: str
    bearing_deg: float | None
    bearing_sd_deg: float | None
    bearing_known: str
    start_radius_m: float
    start_known: str
    length_m: float
    plan_low_m: float | None
    plan_high_m: float | None
    plan_known: str
    tied: bool
    tie_suspect: bool
    points: tuple[TracePoint, ...]
    bends: tuple[TraceBend, ...]
    left_out: tuple[tuple[str, str], ...]
    placed: tuple[Placed, ...]
    far_end: FarEnd | None
    bearing_read_sd_deg: float | None = None
    declination: TraceDeclination | None = None
    start: TracePosition | None = None
    tie: TracePosition | None = None
    tie_misclosure_m: float | None = None
    tie_misclosure_size: float | None = None
    joints: tuple[TraceJoints, ...] = ()
    loose: tuple[TraceLoose, ...] = ()
    convergence: TraceConvergence | None = None


@dataclass(frozen=True)
class FarTie:
    """What a level at the far end, taken to ``tie_sd_m``, would settle; at each end where none is tied."""

    chainage_m: float
    tie_sd_m: float
    now_sd_m: float | None
    then_sd_m: float | None
    bounded_now: int
    bounded_then: int
    both_ends: bool


@dataclass(frozen=True)
class FarCheck:
    """The counter at the far node against the length expected."""

    difference_m: float
    difference_pct: float
    allowed_m: float
    flagged: bool
    factor: float


@dataclass(frozen=True)
class Figures:
    """Every computed figure of a run. ``trouble``: which figure was refused, and the code of it."""

    instruments: Instruments
    absolute: bool  # levels are above the job's datum, not above the start of the run
    levels: tuple[Level, ...]
    rise: Rise | None
    lengths: tuple[LengthRow, ...]
    ties: tuple[Tie, ...]
    blunders: tuple[Blunder, ...]
    zero_deg: float | None  # what the ties add to the zero error
    zero_sd_deg: float | None
    gaps: tuple[Gap, ...]
    flow: str
    flow_known: str
    sags: tuple[Sag, ...]
    backfalls: tuple[Backfall, ...]
    water: tuple[WaterSeen, ...]
    capacities: tuple[Capacity, ...]
    bottleneck: Bottleneck | None
    whole_run: WholeRun | None
    limits: tuple[str, ...]  # why no number can stand for the run as a whole
    trace: Trace | None
    far_tie: FarTie | None
    far_check: FarCheck | None
    trouble: tuple[tuple[str, str], ...]
