"""All that the readings of a run teach: its course, how its pipes vary, how good the readings are."""

from collections.abc import Sequence
from dataclasses import dataclass

from .course import WALK_M, Course, Step, Variances, course_of, steps_of, variances_of
from .doubt import Odd, away_from_gaps, doubted, odd_units
from .input import LevelReading, LevelSetup
from .seen import Noise, Seen, across_of, noise_of, seen_of
from .units import GAP, Unit


@dataclass(frozen=True)
class Slope:
    """Of a unit: mean sine, its own variance, its change with the course and with the zero error [1/deg]."""

    mean: float
    var: float
    course: float
    zero: float


@dataclass(frozen=True)
class Learnt:
    """Per unit what was read, ``usual``: but next to an unknown rise, and the step of the course to it.

    ``odd``: units that stand out.
    """

    seen: list[Seen | None]
    usual: list[Seen | None]
    steps: list[Step]
    variances: Variances
    course: Course
    noise: Noise
    odd: list[Odd]


def learn(units: Sequence[Unit], chosen: Sequence[LevelReading], setup: LevelSetup) -> Learnt:
    """Return what the readings of a run teach.

    Parameters
    ----------
    chosen : sequence of LevelReading
        Those that the units name.

    References
    ----------
    Decision D58.

    Examples
    --------
    >>> from .units import cut_run
    >>> setup = LevelSetup("course", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0)
    >>> readings = [LevelReading(0.0, 1.0), LevelReading(4.0, 1.0)]
    >>> round(learn(cut_run(readings, [], setup), readings, setup).course.mean[0], 4)
    0.0174
    """
    steps = steps_of(units, setup)
    zero_var = setup.zero_sd_deg * setup.zero_sd_deg
    noise = noise_of(units, chosen, setup)
    plain = seen_of(units, chosen, setup, noise, 0.0)
    usual = away_from_gaps(units, plain)
    variances = variances_of(usual, steps, zero_var)
    odd = odd_units(usual, course_of(usual, steps, variances, zero_var), variances.pipe)
    across = across_of(units, chosen, setup, noise, variances.pipe)
    seen = doubted(seen_of(units, chosen, setup, noise, across), odd)
    usual = away_from_gaps(units, seen)
    return Learnt(seen, usual, steps, variances, course_of(usual, steps, variances, zero_var), noise, odd)


def slope_of(u: int, unit: Unit, learnt: Learnt) -> Slope:
    """Return the slope of a unit: in a pipe that was read its own and that of the course, weighed.

    Examples
    --------
    >>> from .units import UNREAD
    >>> course, variances = Course([0.01], [0.0], [1e-6], [0.0], 0.0, 0.0), Variances(1e-4, 0.0)
    >>> learnt = Learnt([None], [None], [], variances, course, Noise(1.0, 0.0, 0.0, 0), [])
    >>> slope_of(0, Unit(0.0, 2.0, UNREAD, 0, 0, 2.0, None, 0.0), learnt)
    Slope(mean=0.01, var=5e-05, course=1.0, zero=-0.0)
    """
    seen, course, variances = learnt.seen[u], learnt.course, learnt.variances
    if unit.kind == GAP:
        return Slope(0.0, 0.0, 0.0, 0.0)
    length = unit.to_m - unit.from_m
    if seen is None:
        own = variances.pipe * unit.pipes_m2 / (length * length) + variances.walk * length / (12 * WALK_M)
        return Slope(course.mean[u], own, 1.0, -course.zero[u])
    own, weight = seen.var, 1.0
    if unit.doubt_m2 is not None:
        own += variances.pipe * unit.doubt_m2 / (length * length)
    elif learnt.usual[u] is not None:  # else it stands for itself
        weight = variances.pipe / (variances.pipe + seen.var)
        own *= weight
    if seen.off != 0:  # it may be so or not: half of each
        weight, own = 0.5, (variances.pipe + seen.off * seen.off) / 4
    mean = weight * (seen.mean - seen.zero * course.zero_deg) + (1 - weight) * course.mean[u]
    zero = weight * seen.zero + (1 - weight) * course.zero[u]
    return Slope(mean, own, 1 - weight, -zero)
