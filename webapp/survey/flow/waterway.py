"""A bore with its wall, and one flow in it: heads and friction slopes from critical depth up to the crown."""

from bisect import bisect_right
from dataclasses import dataclass
from math import cos, pi

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..section.bore import Bore
from ..section.shape import flow_section, full_section
from . import colebrook
from .open_flow import critical_flow
from .resistance import Resistance, friction_slope

LEVELS = 48  # of the table of a section, closer together at invert and crown
NEAR = (0.05, 0.25, 0.55)  # of the way from the critical depth to the next level of the table
STEEPEST = 1000.0  # m/m: stands for a depth at which nothing flows
NO_LAW = ("roughness_out_of_range", "radius_out_of_range", "velocity_out_of_range")


@dataclass(frozen=True)
class Waterway:
    """A bore with its wall, its section tabulated by depth: ``depths_m``, ``areas_m2``, ``radii_m``.

    ``share``: of its conveyance that what narrows it leaves. ``capped``: a free surface is given no more
    conveyance than the full bore, for a pipe near the crown fills at the least disturbance.
    """

    bore: Bore
    resistance: Resistance
    share: float
    capped: bool
    depths_m: list[float]
    areas_m2: list[float]
    radii_m: list[float]


@dataclass(frozen=True)
class FlowState:
    """Depth and energy head above the invert [m], friction slope [m/m]; ``control``: at critical depth."""

    depth_m: float
    head_m: float
    slope: float
    control: bool


def waterway(bore: Bore, resistance: Resistance, share: float = 1.0, capped: bool = True) -> Waterway:
    """Return a bore and its wall with the table of its section.

    Returns
    -------
    Waterway
        Depths [m], areas [m2] and hydraulic radii [m].

    Raises
    ------
    SurveyError
        ``share_out_of_range``; otherwise as ``shape.flow_section``.

    Examples
    --------
    >>> round(waterway(Bore("circular", 1.0), Resistance("manning", manning_n=0.013)).areas_m2[-1], 4)
    0.7854
    """
    number_between(share, 1e-6, 1.0, "share", "share_out_of_range")
    full = full_section(bore)
    bottom, clear = bore.deposit_m, bore.height_m - bore.deposit_m
    depths = [bottom + clear * (1 - cos(pi * k / LEVELS)) / 2 for k in range(1, LEVELS)]
    sections = [*(flow_section(bore, depth, False) for depth in depths), full]
    return Waterway(
        bore, resistance, share, capped, [*depths, bore.height_m],
        [one["area_m2"] for one in sections], [one["hydraulic_radius_m"] for one in sections],
    )  # fmt: skip


def friction(resistance: Resistance, radius_m: float, velocity_m_s: float) -> tuple[float, list[str]]:
    """Return the friction slope, below turbulence with the factor at its lower end.

    Parameters
    ----------
    radius_m : float
        Hydraulic radius [m].
    velocity_m_s : float
        Mean velocity [m/s].

    Returns
    -------
    tuple
        Slope [m/m] and the findings: ``flow_not_turbulent``, or none.

    References
    ----------
    As ``resistance.friction_slope``; the factor at a Reynolds number of 4,000 is kept below it: own rule.

    Examples
    --------
    >>> friction(Resistance("manning", manning_n=0.012), 0.225, 5.3395)[1]
    []
    """
    if resistance.law == "colebrook_white":
        slowest = colebrook.TURBULENT_FROM * resistance.viscosity_m2_s / (4 * radius_m) * (1 + 1e-9)
        if velocity_m_s < slowest:
            share = velocity_m_s / slowest
            return friction_slope(resistance, radius_m, slowest) * share * share, ["flow_not_turbulent"]
    return friction_slope(resistance, radius_m, velocity_m_s), []


class Running:
    """One flow in one waterway: heads and friction slopes from the critical depth up to the crown."""

    def __init__(self, way: Waterway, discharge: float) -> None:
        self.way, self.discharge = way, discharge
        gravity = way.resistance.gravity_m_s2
        critical = critical_flow(way.bore, discharge, gravity)["depth_m"]
        first = bisect_right(way.depths_m, critical)
        self.depths, self._areas, self._radii = (
            way.depths_m[first:],
            way.areas_m2[first:],
            way.radii_m[first:],
        )
        if self.depths:
            beyond = self.depths[0] - critical
            self._insert([critical, *(critical + share * beyond for share in NEAR)])
        else:
            self.depths, self._areas = way.depths_m[-1:], way.areas_m2[-1:]
            self._radii = way.radii_m[-1:]
        self.heads = [
            depth + (discharge / area) * (discharge / area) / (2 * gravity)
            for depth, area in zip(self.depths, self._areas, strict=True)
        ]
        self.last = len(self.depths) - 1
        self._slopes: list[float | None] = [None] * len(self.depths)
        self.full = friction(way.resistance, way.radii_m[-1], discharge / (way.share * way.areas_m2[-1]))[0]
        self._slopes[self.last] = self.full

    def _insert(self, depths: list[float]) -> None:
        sections = [flow_section(self.way.bore, depth, False) for depth in depths]
        self.depths = depths + self.depths
        self._areas = [one["area_m2"] for one in sections] + self._areas
        self._radii = [one["hydraulic_radius_m"] for one in sections] + self._radii

    def slope(self, k: int) -> float:
        """Friction slope at a level."""
        found = self._slopes[k]
        if found is None:
            velocity = self.discharge / (self.way.share * self._areas[k])
            try:
                found = friction(self.way.resistance, self._radii[k], velocity)[0]
            except SurveyError as error:
                if error.code not in NO_LAW:
                    raise
                found = STEEPEST
            if self.way.capped and found < self.full:
                found = self.full
            self._slopes[k] = found
        return found

    def critical(self) -> FlowState:
        """The least head at which the flow passes."""
        return FlowState(self.depths[0], self.heads[0], self.slope(0), True)

    def between(self, k: int, share: float) -> FlowState:
        """Between two levels."""
        a, b = self.slope(k), self.slope(k + 1)
        depth = self.depths[k] + share * (self.depths[k + 1] - self.depths[k])
        head = self.heads[k] + share * (self.heads[k + 1] - self.heads[k])
        return FlowState(depth, head, a + share * (b - a), False)

    def pressed(self, above: float) -> FlowState:
        """With the grade line so far above the crown."""
        return FlowState(self.depths[self.last] + above, self.heads[self.last] + above, self.full, False)

    def at_depth(self, depth: float) -> FlowState:
        """At a depth, not below the critical one."""
        if depth <= self.depths[0]:
            return self.critical()
        if depth >= self.depths[self.last]:
            return self.pressed(depth - self.depths[self.last])
        k = bisect_right(self.depths, depth) - 1
        return self.between(k, (depth - self.depths[k]) / (self.depths[k + 1] - self.depths[k]))

    def at_head(self, target: float, step: float, below: float) -> FlowState:
        """Where the head less the friction over a step is the one wanted, the slope below it known.

        The mean of two slopes is the harmonic one, which a very shallow flow below does not run away with.
        """

        heads = self.heads
        if heads[0] - self._lost(0, step, below) >= target:
            return self.critical()
        top = heads[self.last] - self._lost(self.last, step, below)
        if target >= top:
            return self.pressed(target - top)
        low, high = 0, self.last
        while high - low > 1:
            middle = (low + high) // 2
            if heads[middle] - self._lost(middle, step, below) <= target:
                low = middle
            else:
                high = middle
        nearer = heads[low] - self._lost(low, step, below)
        beyond = heads[high] - self._lost(high, step, below)
        return self.between(low, (target - nearer) / (beyond - nearer) if beyond > nearer else 0.0)

    def _lost(self, k: int, step: float, below: float) -> float:
        """Head lost over a step up to a level."""
        if step <= 0:
            return 0.0
        slope = self._slopes[k]
        if slope is None:
            slope = self.slope(k)
        return step * (2 * below * slope / (below + slope))
