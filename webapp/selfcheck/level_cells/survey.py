"""Surveys drawn for a cell: the true pipe, and what a crew reads of it."""

import math
import random
from dataclasses import dataclass

from .cell import Cell, Meter
from .course import Course, angle_there, chord_deg, level_there, pipes, smooth

LONG_M = (30.0, 60.0)
USUAL_M = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0)
FALL_DEG = (0.5, 2.0)
SD_DEG, TIE_SD_M = 0.1, (0.003, 0.01)
ZERO_DEG, SCALE, TAPED_M, TAPE_SD_M = 0.2, 0.003, 50.0, 0.01
LIMIT_DEG, RANGE_DEG = 45.0, 10.0  # of most instruments here, and of the one that a steep pipe defeats
STEEP_DEG = (15.0, 40.0)
DEBRIS_DEG = (1.0, 5.0)
WANDERS_M = (3.0, 8.0)
NEAREST_M = 0.03  # nobody takes two readings nearer to each other


@dataclass(frozen=True)
class Taken:
    """One reading: counter [m], what the display shows [deg], None where it is beyond the range."""

    counter_m: float
    deg: float | None
    rises: bool


@dataclass(frozen=True)
class Survey:
    """A pipe and its survey.

    ``scale``: true length over counter. ``checked``: inclinometer read both ways on the same place [deg], and
    the taped length of 50 m of cable [m]. ``levels``: counter, level and its standard deviation [m];
    ``wrong``: which of them is out. ``pipe_m``: length of the pipes as recorded, None where it is not.
    ``after``: the inclinometer read both ways once more, after the drive [deg].
    """

    course: Course
    end_m: float
    scale: float
    joints_m: list[float]
    pipe_m: float | None
    readings: list[Taken]
    levels: list[tuple[float, float, float]]
    checked: tuple[float, float, float]
    limit_deg: float
    wrong: int | None
    after: tuple[float, float] | None

    def true_m(self, counter_m: float) -> float:
        """Return the true level where the counter shows so much [m above the start]."""
        return level_there(self.course, counter_m * self.scale)


def survey_of(draw: random.Random, cell: Cell) -> Survey:
    """Return a survey drawn for a cell."""
    end = round(draw.uniform(*LONG_M), 2)
    unit = cell.pipe.pipe_m or draw.choice(USUAL_M)
    scale = 1 + draw.gauss(0, SCALE)
    joints = _joints(draw, cell, unit, end * scale)
    places = _places(draw, cell, joints, end * scale)
    steep = draw.choice(places) if cell.pipe.steep else None
    course = _course(draw, cell, joints, end * scale, steep)
    zero = draw.gauss(0, ZERO_DEG)
    limit = RANGE_DEG if cell.pipe.steep else LIMIT_DEG
    drift = draw.choice((-1, 1)) * cell.meter.drift_deg
    counters = _apart([p / scale for p in places])
    readings = readings_of(draw, cell.meter, (course, scale, end), counters, (zero, drift, limit))
    levels, wrong = _levels(draw, cell, course, end, scale)
    checked = (*_reversed(draw, cell.meter, zero), TAPED_M * scale + draw.gauss(0, TAPE_SD_M))
    after = _reversed(draw, cell.meter, zero + drift) if cell.meter.checked_after else None
    pipe = unit if cell.pipe.recorded and cell.pipe.law != "smooth" else None
    return Survey(
        course, end, scale, [j / scale for j in joints], pipe, readings, levels, checked, limit, wrong, after
    )


def _apart(counters: list[float]) -> list[float]:
    """Counter readings as shown, to a centimetre; no two of them at one place."""
    shown: list[float] = []
    for counter in counters:
        place = round(counter, 2)
        if not shown or place - shown[-1] > NEAREST_M:
            shown.append(place)
    return shown


def _reversed(draw: random.Random, meter: Meter, zero: float) -> tuple[float, float]:
    """The inclinometer read on one place, and turned round on it [deg]."""
    noise, tilt = SD_DEG * meter.times, draw.uniform(-2, 2)
    ahead, back = tilt + zero + draw.gauss(0, noise), -tilt + zero + draw.gauss(0, noise)
    return _shown(ahead, meter), _shown(back, meter)


def _joints(draw: random.Random, cell: Cell, unit: float, end: float) -> list[float]:
    """Where pipes begin [m]: none but the start on a smooth course."""
    if cell.pipe.law == "smooth":
        return [0.0]
    first = draw.uniform(0.2, 0.8) * unit if cell.pipe.cut else unit
    joints = [0.0]
    while joints[-1] + (unit if len(joints) > 1 else first) < end:
        joints.append(joints[-1] + (unit if len(joints) > 1 else first))
    return joints


def _course(draw: random.Random, cell: Cell, joints: list[float], end: float, steep: float | None) -> Course:
    fall, spread = -draw.uniform(*FALL_DEG), cell.pipe.spread_deg
    if cell.pipe.law == "smooth":
        return smooth(draw, end, fall, spread, draw.uniform(*WANDERS_M))
    laid = [(fall, spread)] * len(joints)
    if cell.pipe.law == "settled":
        turn = draw.uniform(0.3, 0.7) * end
        other = fall + draw.gauss(0, 0.5)
        laid = [(fall, 0.4 * spread) if j < turn else (other, 1.6 * spread) for j in joints]
    if steep is not None:
        k = max(i for i, j in enumerate(joints) if j <= steep)
        laid[k] = (draw.choice((-1, -1, -1, 1)) * draw.uniform(*STEEP_DEG), 0.0)
    return pipes(draw, joints, laid, "student3" if cell.pipe.law == "student3" else "normal")


def _places(draw: random.Random, cell: Cell, joints: list[float], end: float) -> list[float]:
    """Where the crew reads [m along the pipe]."""
    whole = list(zip(joints, [*joints[1:], end], strict=True))
    if cell.reads == "several":
        return sorted(draw.uniform(a, b) for a, b in whole for _ in range(draw.randrange(2, 6)))
    if cell.reads in ("each", "unread"):
        left = 0.15 if cell.reads == "unread" else 0.0
        places = [draw.uniform(a, b) for a, b in whole if draw.random() >= left]
        return places or [draw.uniform(0, end)]
    at, places = draw.uniform(0.05, 1.0), []
    unit = joints[1] - joints[0] if len(joints) > 1 else 1.0
    while at < end:
        places.append(at)
        at += {
            "irregular": draw.uniform(0.2, 4.0), "sparse": draw.uniform(2, 3) * unit, "even": 5.0,
            "close": draw.uniform(0.8, 1.2),
        }[cell.reads]  # fmt: skip
    return places


def readings_of(
    draw: random.Random,
    meter: Meter,
    pipe: tuple[Course, float, float],
    counters: list[float],
    known: tuple[float, float, float],
) -> list[Taken]:
    """Return what the display shows; ``pipe``: course, scale, end [m]; ``known``: zero, drift, limit."""
    (course, scale, end), (zero, drift, limit) = pipe, known
    long_m = None if meter.crawler_m is None else draw.uniform(*meter.crawler_m)
    before, taken = draw.gauss(0, 1), []
    for counter in counters:
        at = counter * scale
        true = angle_there(course, at) if long_m is None else chord_deg(course, max(at, long_m / 2), long_m)
        before = meter.alike * before + math.sqrt(1 - meter.alike**2) * draw.gauss(0, 1)
        shown = true + zero + drift * counter / end + SD_DEG * meter.times * before
        if draw.random() * 100 < meter.debris:
            shown += draw.choice((-1, 1)) * draw.uniform(*DEBRIS_DEG)
        over = abs(shown) > limit
        taken.append(Taken(counter, None if over else _shown(shown, meter), shown > 0))
    return taken


def _shown(deg: float, meter: Meter) -> float:
    return round(round(deg / meter.step_deg) * meter.step_deg, 6)


def _levels(
    draw: random.Random, cell: Cell, course: Course, end: float, scale: float
) -> tuple[list[tuple[float, float, float]], int | None]:
    """Levels taken at the start, at the end, and between; perhaps one of them wrong."""
    last = max(cell.ties - 1, 1)
    places = [end * (k + draw.uniform(-0.2, 0.2) * (0 < k < last)) / last for k in range(cell.ties)]
    levels = []
    for place in places:
        sd = draw.uniform(*TIE_SD_M)
        levels.append((round(place, 2), level_there(course, place * scale) + draw.gauss(0, sd), sd))
    if not cell.wrong_by:
        return levels, None
    wrong = draw.randrange(len(levels))
    place, level, sd = levels[wrong]
    levels[wrong] = (place, level + draw.choice((-1, 1)) * cell.wrong_by * sd, sd)
    return levels, wrong
