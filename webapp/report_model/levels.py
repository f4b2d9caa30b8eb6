"""Levels of a run, and what they rest on, as the writers of a pack are given them.

Where a number is only bounded its value is None and ``low`` and ``high`` hold the bounds; ``sense`` says
which of them means something.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
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
class FarTie:
    """What a level at the far end, taken to ``tie_sd_m``, would settle; at each end where none is tied."""

    chainage_m: float
    tie_sd_m: float
    now_sd_m: float | None
    then_sd_m: float | None
    bounded_now: int
    bounded_then: int
    both_ends: bool
