"""What the readings say of each unit of a run, and what they say of the instrument."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .input import LevelReading, LevelSetup
from .units import READ, TRACK_M, Unit

DEG = math.pi / 180
MIN_SD_DEG = 1e-6  # no inclinometer is better
NOISE_PRIOR = 6.0  # what is stated of the readings counts as so many squares of their own
GRIDS_DEG = (1.0, 0.5, 0.25, 0.2, 0.1)
GRID_LEAST = 6  # readings that make a grid
ACROSS, ACROSS_PRIOR = 0.25, 0.2  # how much of a joint's doubt counts for a reading across it


@dataclass(frozen=True)
class Seen:
    """Of one unit: mean sine, its variance, its change with the zero error [1/deg].

    ``off``: by how much it stands out (a sine), 0 where it does not.
    """

    mean: float
    var: float
    zero: float
    off: float = 0.0


@dataclass(frozen=True)
class Noise:
    """Of readings: ``factor`` times the stated variance, ``step_deg`` of the display, 0 if fine enough.

    ``squares``: within single pipes over what is stated, ``freedom`` of them.
    """

    factor: float
    step_deg: float
    squares: float
    freedom: int


def noise_of(units: Sequence[Unit], chosen: Sequence[LevelReading], setup: LevelSetup) -> Noise:
    """Return how the readings scatter within single pipes, and the step of the display.

    Parameters
    ----------
    chosen : sequence of LevelReading
        Those that the units name.

    References
    ----------
    Variance factor from repeated readings, with what is stated as a prior: any text on adjustment; a value
    rounded to a step has a variance of a twelfth of its square.

    Examples
    --------
    >>> unit = Unit(0.0, 2.0, READ, 0, 2, 4.0, None, 0.0)
    >>> setup = LevelSetup("course", 0.0, None, 0.0, 0.1, 0.0, 0.0)
    >>> round(noise_of([unit], [LevelReading(0.7, 1.0), LevelReading(1.2, 1.4)], setup).squares, 6)
    8.0
    """
    squares, freedom = 0.0, 0
    for unit in units:
        if unit.kind == READ and unit.last - unit.first > 1 and unit.doubt_m2 is None:
            one = _within(unit, chosen, setup)
            squares, freedom = squares + one[0], freedom + one[1]
    factor = (NOISE_PRIOR + squares) / (NOISE_PRIOR + freedom) if squares > freedom else 1.0
    step = _display(chosen)
    return Noise(factor, step if step / math.sqrt(12) > setup.sd_deg / 2 else 0.0, squares, freedom)


def seen_of(
    units: Sequence[Unit], chosen: Sequence[LevelReading], setup: LevelSetup, noise: Noise, joint_var: float
) -> list[Seen | None]:
    """Return what the readings of each unit say; None where it has none.

    Parameters
    ----------
    joint_var : float
        Variance that a reading wholly across a joint has from the neighbour (of a sine).

    Examples
    --------
    >>> unit = Unit(0.0, 2.0, READ, 0, 1, 4.0, None, 0.0)
    >>> setup = LevelSetup("course", 0.0, None, 0.0, 0.1, 0.0, 0.0)
    >>> round(seen_of([unit], [LevelReading(1.0, 1.0)], setup, Noise(1.0, 0.0, 0.0, 0), 0.0)[0].mean, 6)
    0.017452
    """
    return [_seen(unit, chosen, setup, noise, joint_var) if unit.kind == READ else None for unit in units]


def across_of(
    units: Sequence[Unit], chosen: Sequence[LevelReading], setup: LevelSetup, noise: Noise, pipe_var: float
) -> float:
    """Return how much readings across joints differ from others in their pipes, for ``joint_var``.

    Returns
    -------
    float
        Variance (of a sine): up to twice that of single pipes.

    Examples
    --------
    >>> across_of([], [], LevelSetup("course", 0.0, None, 0.0, 0.1, 0.0, 0.0), Noise(1.0, 0.0, 0.0, 0), 1e-4)
    5e-05
    """
    seen, due = ACROSS_PRIOR * ACROSS, ACROSS_PRIOR
    for unit in units:
        if unit.kind != READ or unit.doubt_m2 is not None or unit.last - unit.first < 2:
            continue
        beyond = [share_beyond(unit, chosen[i].chainage_m) for i in range(unit.first, unit.last)]
        clear = [unit.first + n for n, share in enumerate(beyond) if share == 0]
        if not clear:
            continue
        mean = sum(math.sin((chosen[i].deg or 0.0) * DEG) for i in clear) / len(clear)
        for n, share in enumerate(beyond):
            if share > 0:
                off = math.sin((chosen[unit.first + n].deg or 0.0) * DEG) - mean
                sd = max(_sd(chosen[unit.first + n], setup), MIN_SD_DEG) * DEG
                random = sd * sd * noise.factor * (1 + 1 / len(clear))
                seen += (off * off - random) / (2 * pipe_var)
                due += share * share
    return 2 * pipe_var * max(0.0, min(1.0, seen / due))


def share_beyond(unit: Unit, place_m: float) -> float:
    """Return the part of the crawler that stands beyond a joint of the pipe, 0 where joints are not known.

    Parameters
    ----------
    place_m : float
        Where the middle of the crawler stands [m].

    Returns
    -------
    float
        0 to 0.5 of its length.

    Examples
    --------
    >>> round(share_beyond(Unit(0.0, 2.0, READ, 0, 1, 4.0, None, 0.0), 1.9), 9)
    0.3
    """
    if unit.doubt_m2 is not None:
        return 0.0
    left = TRACK_M / 2 - (place_m - unit.from_m)
    right = TRACK_M / 2 - (unit.to_m - place_m)
    far = left if left > right else right
    return 0.0 if far < 1e-9 else min(0.5, far / TRACK_M)


def _within(unit: Unit, chosen: Sequence[LevelReading], setup: LevelSetup) -> tuple[float, int]:
    """Squares of the readings of a pipe about their mean, over the stated, and how many are free."""
    total = weight = square = 0.0
    count = 0
    for i in range(unit.first, unit.last):
        reading = chosen[i]
        if share_beyond(unit, reading.chainage_m) > 0 or reading.turned != chosen[unit.first].turned:
            continue
        sd, deg = max(_sd(reading, setup), MIN_SD_DEG), reading.deg or 0.0
        w = 1 / (sd * sd)
        total, weight, square, count = total + w * deg, weight + w, square + w * deg * deg, count + 1
    if count < 2:
        return 0.0, 0
    return max(square - total * total / weight, 0.0), count - 1


def _display(chosen: Sequence[LevelReading]) -> float:
    """The coarsest step on which all readings lie [deg]; 0 without one."""
    known = [one.deg for one in chosen if one.deg is not None]
    if len(known) < GRID_LEAST:
        return 0.0
    for step in GRIDS_DEG:
        if all(abs(deg / step - math.floor(deg / step + 0.5)) < 1e-6 for deg in known):
            return step
    return 0.0


def _sd(reading: LevelReading, setup: LevelSetup) -> float:
    return setup.sd_deg if reading.sd_deg is None else reading.sd_deg


def _seen(
    unit: Unit, chosen: Sequence[LevelReading], setup: LevelSetup, noise: Noise, joint_var: float
) -> Seen:
    weight = mean = zero = 0.0
    for i in range(unit.first, unit.last):
        reading = chosen[i]
        way = -1.0 if reading.turned else 1.0
        angle = ((reading.deg or 0.0) - way * setup.zero_deg) * DEG
        slope = math.cos(angle) * DEG
        sd = max(_sd(reading, setup), MIN_SD_DEG) * slope
        share = share_beyond(unit, reading.chainage_m)
        w = 1 / (sd * sd * noise.factor + share * share * joint_var)
        weight += w
        mean += w * math.sin(angle)
        zero += w * way * slope
    display = noise.step_deg * DEG
    return Seen(mean / weight, 1 / weight + display * display / 12, zero / weight)
