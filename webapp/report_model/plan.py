"""A run in plan, as the writers of a pack are given it."""

from dataclasses import dataclass


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
