"""Where a run goes in plan: dead reckoning from a start, a bearing, bends and plan lengths.

Straight legs between bends; bearings clockwise from the north of the frame that the start
stands in; a bend is positive to the right. Errors are carried to first order. A position known at
the far end conditions the whole trace.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..errors import SurveyError
from ..numbers.finite import finite, spread
from .ellipse import CHI2_95, Ellipse, covariance, ellipse95
from .geodesy import Line, inverse
from .joint_turns import joint_parts, shortening_parts
from .joints import Joint
from .position_tie import gain, root, solved, whitened

Part = tuple[float, float]


@dataclass(frozen=True)
class Start:
    """Where the run starts [m], its standard deviation in each axis [m]; bearing [deg] and its own."""

    e_m: float
    n_m: float
    sd_m: float
    bearing_deg: float
    bearing_sd_deg: float


@dataclass(frozen=True)
class Bend:
    """A bend at a plan distance from the start [m]: deflection [deg], right positive; its sd [deg]."""

    chainage_m: float
    deflection_deg: float
    sd_deg: float


@dataclass(frozen=True)
class EndTie:
    """Where the far end was found [m], with its standard deviation in each axis [m]."""

    e_m: float
    n_m: float
    sd_m: float


@dataclass(frozen=True)
class Point:
    """A place of the trace: plan distance and position [m], covariance [m2], 95 % ellipse."""

    chainage_m: float
    e_m: float
    n_m: float
    cov_m2: tuple[float, float, float]
    ellipse: Ellipse


@dataclass(frozen=True)
class Trace:
    """A trace: points at start, bends and end; the bearing of each leg; what a tie did to it.

    The misclosure is the end as reckoned less the tie [m]; ``misclosure_size`` its size in standard
    deviations (root of r' S^-1 r; beyond 2.45 in 1 of 20 sound surveys); corrections belong to
    the start bearing, the bends [deg] and the counter scale (ratio). All None or empty without a tie.
    """

    points: list[Point]
    leg_bearings_deg: list[float]
    misclosure_m: tuple[float, float] | None = None
    misclosure_size: float | None = None
    suspect: bool = False
    start_correction_m: tuple[float, float] | None = None
    bearing_correction_deg: float | None = None
    bend_corrections_deg: list[float] = field(default_factory=list)
    scale_correction: float | None = None


@dataclass(frozen=True)
class TraceLength:
    """The plan length of a run [m], the sd of its scale (a ratio), and that of each leg on its own [m]."""

    length_m: float
    scale_sd: float
    leg_sd_m: float


def trace_plan(
    start: Start, bends: Sequence[Bend], length: TraceLength, tie: EndTie | None = None,
    joints: Sequence[Joint] | None = None,
) -> Trace:  # fmt: skip
    """Return the trace of a run in plan with its uncertainty.

    Parameters
    ----------
    bends : sequence of Bend, length n >= 0
        In ascending plan distance from the start [m], none beyond the end.
    length : TraceLength
        Plan length of the run [m], above 0, and how well it is known.
    joints : sequence of Joint, length j >= 0, optional
        In ascending plan distance [m], none beyond the end: each may turn all that follows by an angle of
        its own that nobody read [deg]. With it, empty or not, the shortening by turned bearings counts too;
        without it everything is of first order.

    Returns
    -------
    Trace
        n + 2 points (start, bends, end) and n + 1 bearings (as reckoned, before the tie).

    Raises
    ------
    SurveyError
        ``length_not_positive``; ``chainage_not_ascending`` and ``bend_outside_run`` with the index of the
        bend, ``joint_outside_run`` and ``joint_not_ascending`` of the joint; ``tie_not_solvable`` when tie
        and trace are both without error in some direction; ``sd_negative``, ``number_not_finite``,
        ``number_out_of_range``.

    Notes
    -----
    To first order alone, a bearing known to 2 degrees or worse leaves the ellipse a little less than 95 %;
    see ``shortening_parts`` for the second. The tied points are the reckoned ones plus the linear correction.

    References
    ----------
    Propagation of variance and Gaussian conditioning: any text on adjustment. The derivatives are those of
    a rotation about the bend and of a stretch about the start. The joints of a leg act on what follows like
    one rotation about their weighted centre and one shift across, independent of each other: own working,
    checked against joint by joint in the tests.

    Examples
    --------
    >>> end = trace_plan(Start(0, 0, 0, 90, 0), [Bend(10, -90, 0)], TraceLength(15, 0, 0)).points[-1]
    >>> round(end.e_m, 9), round(end.n_m, 9)
    (10.0, 5.0)
    """
    _check(start, bends, length, tie)
    chainages = [0.0, *(b.chainage_m for b in bends), length.length_m]
    places, bearings = _reckon(start, bends, chainages)
    parts = [_parts(k, places, bearings, start, bends, length) for k in range(len(places))]
    if joints is not None:
        turns = joint_parts(places, bearings, chainages, joints)
        sds = [start.bearing_sd_deg, *(b.sd_deg for b in bends)]
        nearer = shortening_parts(bearings, chainages, sds, joints)
        parts = [[*own, *turns[k], nearer[k]] for k, own in enumerate(parts)]
    if tie is None:
        free = [
            Point(c, e, n, covariance(p), ellipse95(p))
            for c, (e, n), p in zip(chainages, places, parts, strict=True)
        ]
        return Trace(free, bearings)
    return _tied(chainages, places, parts, bearings, (start, bends, length.scale_sd), tie)


def place_along(trace: Trace, chainage_m: float) -> tuple[float, float]:
    """Return the place of a plan distance on a trace.

    Parameters
    ----------
    chainage_m : float
        Plan distance from the start [m].

    Returns
    -------
    tuple of float
        East and north [m].

    Raises
    ------
    SurveyError
        ``beyond_the_run`` before the start or beyond the end.

    References
    ----------
    Straight between the points: our own rule.

    Examples
    --------
    >>> place_along(trace_plan(Start(0, 0, 0, 0, 0), [], TraceLength(10, 0, 0)), 4)[1]
    4.0
    """
    wanted = finite(chainage_m, "chainage_m")
    before = trace.points[0]
    if wanted < before.chainage_m:
        raise SurveyError("beyond_the_run", "chainage_m")
    for here in trace.points[1:]:
        step = here.chainage_m - before.chainage_m
        if wanted <= here.chainage_m and step > 0:
            share = (wanted - before.chainage_m) / step
            return before.e_m + share * (here.e_m - before.e_m), before.n_m + share * (here.n_m - before.n_m)
        before = here
    raise SurveyError("beyond_the_run", "chainage_m")


def walk_this_way(from_lat_deg: float, from_lon_deg: float, to_lat_deg: float, to_lon_deg: float) -> Line:
    """Return how far and at which true bearing a place lies from where one stands.

    Parameters
    ----------
    from_lat_deg, from_lon_deg, to_lat_deg, to_lon_deg : float
        Latitudes, -90 to 90, and longitudes, -360 to 360 [deg].

    Returns
    -------
    Line
        Distance [m] and true bearings [deg].

    References
    ----------
    The shortest line on WGS 84; see ``geodesy``.

    Examples
    --------
    >>> round(walk_this_way(50.0, 0.0, 50.001, 0.0).azimuth_from_deg, 6)
    0.0
    """
    return inverse(from_lat_deg, from_lon_deg, to_lat_deg, to_lon_deg)


def _check(start: Start, bends: Sequence[Bend], length: TraceLength, tie: EndTie | None) -> None:
    for value in (start.e_m, start.n_m, start.bearing_deg):
        finite(value, "start")
    for value in (start.sd_m, start.bearing_sd_deg):
        spread(value, "start")
    length_m = finite(length.length_m, "length_m")
    if length_m <= 0:
        raise SurveyError("length_not_positive", "length_m")
    spread(length.scale_sd, "scale_sd")
    spread(length.leg_sd_m, "leg_sd_m")
    last = 0.0
    for index, bend in enumerate(bends):
        finite(bend.deflection_deg, "bends", index)
        spread(bend.sd_deg, "bends", index)
        if not 0 <= finite(bend.chainage_m, "bends", index) <= length_m:
            raise SurveyError("bend_outside_run", "bends", index)
        if bend.chainage_m < last:
            raise SurveyError("chainage_not_ascending", "bends", index)
        last = bend.chainage_m
    if tie is not None:
        finite(tie.e_m, "tie")
        finite(tie.n_m, "tie")
        spread(tie.sd_m, "tie")


def _reckon(
    start: Start, bends: Sequence[Bend], chainages: Sequence[float]
) -> tuple[list[Part], list[float]]:
    """Positions at start, bends and end, and the bearing of each leg."""
    bearing, e, n = start.bearing_deg, start.e_m, start.n_m
    places, bearings = [(e, n)], []
    for leg in range(len(bends) + 1):
        if leg:
            bearing += bends[leg - 1].deflection_deg
        phi, length = math.radians(bearing), chainages[leg + 1] - chainages[leg]
        e, n = e + length * math.sin(phi), n + length * math.cos(phi)
        places.append((e, n))
        bearings.append(bearing - 360 * math.floor(bearing / 360))
    return places, bearings


def _parts(
    k: int,
    places: Sequence[Part],
    bearings: Sequence[float],
    start: Start,
    bends: Sequence[Bend],
    length: TraceLength,
) -> list[Part]:
    """Shift of point k by one sd of each cause: start e, start n, bearing, bends, scale, legs."""
    (e, n), (e0, n0) = places[k], places[0]
    turn, scale_sd, leg_sd_m = math.radians(start.bearing_sd_deg), length.scale_sd, length.leg_sd_m
    parts = [(start.sd_m, 0.0), (0.0, start.sd_m), ((n - n0) * turn, -(e - e0) * turn)]
    for j, bend in enumerate(bends):
        swing, (eb, nb) = math.radians(bend.sd_deg), places[j + 1]
        parts.append(((n - nb) * swing, -(e - eb) * swing) if j + 1 < k else (0.0, 0.0))
    parts.append(((e - e0) * scale_sd, (n - n0) * scale_sd))
    for i, bearing in enumerate(bearings):
        phi = math.radians(bearing)
        parts.append((leg_sd_m * math.sin(phi), leg_sd_m * math.cos(phi)) if i < k else (0.0, 0.0))
    return parts


def _tied(
    chainages: Sequence[float],
    places: Sequence[Part],
    parts: Sequence[list[Part]],
    bearings: list[float],
    spreads: tuple[Start, Sequence[Bend], float],
    tie: EndTie,
) -> Trace:
    """Condition every point on the far end."""
    start, bends, scale_sd = spreads
    lower = root([*parts[-1], (tie.sd_m, 0.0), (0.0, tie.sd_m)])
    missing = (tie.e_m - places[-1][0], tie.n_m - places[-1][1])
    white, alpha = whitened(lower, missing), solved(lower, missing)
    points = []
    for c, place, own in zip(chainages, places, parts, strict=True):
        east, north = gain(own, parts[-1], lower)
        left = [(e - _apply(east, t), n - _apply(north, t)) for (e, n), t in zip(own, parts[-1], strict=True)]
        left += [(east[i] * tie.sd_m, north[i] * tie.sd_m) for i in (0, 1)]
        e, n = place[0] + _apply(east, missing), place[1] + _apply(north, missing)
        points.append(Point(c, e, n, covariance(left), ellipse95(left)))
    moved = [_apply(part, alpha) for part in parts[-1]]
    size = math.sqrt(white[0] * white[0] + white[1] * white[1])
    return Trace(
        points,
        bearings,
        (-missing[0], -missing[1]),
        size,
        size * size > CHI2_95,
        (start.sd_m * moved[0], start.sd_m * moved[1]),
        start.bearing_sd_deg * moved[2],
        [bend.sd_deg * moved[3 + j] for j, bend in enumerate(bends)],
        scale_sd * moved[3 + len(bends)],
    )


def _apply(row: Part, vector: Part) -> float:
    return row[0] * vector[0] + row[1] * vector[1]
