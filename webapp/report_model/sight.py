"""What the camera could see of a run, and the hazards that it showed."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Hazard:
    """A hazard to people that an observation shows; chainages [m], None where not recorded."""

    hazard: str
    record_id: str
    from_m: float | None
    to_m: float | None
    sure: bool
    words: str
    caution: str


@dataclass(frozen=True)
class SightPart:
    """A length seen clearly, in part or not at all (``clear``, ``part``, ``hidden``), and why."""

    sight: str
    from_m: float
    to_m: float
    length_m: float
    depth_pct: float | None
    hour_from: float | None
    hour_to: float | None
    why: str
    known: str
    words: str


@dataclass(frozen=True)
class Sight:
    """What the camera could see of a run [m], None where nothing says how far; hazards, the gravest first."""

    looked: bool
    clear_m: float | None
    part_m: float | None
    hidden_m: float | None
    total_m: float | None
    words: str
    parts: tuple[SightPart, ...]
    hazards: tuple[Hazard, ...]
    lined: tuple[tuple[float, float], ...] = ()  # from where to where a lining hides the pipe [m]
