"""True courses of inverts: pipe by pipe, or smooth; levels by summing up short straight pieces.

Nothing here comes from the product: the truth that it is judged by is not its own.
"""

import math
import random
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

FINE_M = 0.05  # a smooth course is made of straight pieces as short as this
BEYOND_M = 2.0  # the pipe goes on beyond its end, for a crawler that stands across it


@dataclass(frozen=True)
class Course:
    """Straight pieces one after the other: where each begins [m], its angle [deg], the level there [m].

    Angles are positive where the invert rises ahead; the level at the start is zero.
    """

    begins_m: Sequence[float]
    deg: Sequence[float]
    level_m: Sequence[float]


def course_of(lengths_m: Sequence[float], deg: Sequence[float]) -> Course:
    """Return the course of pieces of these lengths [m] and angles [deg].

    >>> round(level_there(course_of([2.0, 2.0], [-1.0, 1.0]), 3.0), 6)
    -0.017452
    """
    begins, levels = [0.0], [0.0]
    for length, angle in zip(lengths_m, deg, strict=True):
        begins.append(begins[-1] + length)
        levels.append(levels[-1] + length * math.sin(math.radians(angle)))
    return Course(begins[:-1], list(deg), levels[:-1])


def level_there(course: Course, place_m: float) -> float:
    """Return the level at a place along the pipe [m above the start]."""
    k = max(bisect_right(course.begins_m, place_m) - 1, 0)
    return course.level_m[k] + (place_m - course.begins_m[k]) * math.sin(math.radians(course.deg[k]))


def angle_there(course: Course, place_m: float) -> float:
    """Return the angle of the piece at a place [deg]."""
    return course.deg[max(bisect_right(course.begins_m, place_m) - 1, 0)]


def chord_deg(course: Course, place_m: float, long_m: float) -> float:
    """Return the angle at which something so long stands, its middle at a place, across joints too [deg]."""
    rise = level_there(course, place_m + long_m / 2) - level_there(course, place_m - long_m / 2)
    return math.degrees(math.asin(rise / long_m))


def pipes(
    draw: random.Random, joints_m: Sequence[float], laid: Sequence[tuple[float, float]], law: str
) -> Course:
    """Return a course of straight pipes, each turned by its own chance from a mean fall.

    ``joints_m``: where pipes begin, from 0 [m]; ``laid``: of each the mean and the spread of the angle [deg];
    ``law``: ``normal``, or ``student3`` (heavy tails, of the same spread).
    """
    lengths = [b - a for a, b in zip(joints_m, [*joints_m[1:], joints_m[-1] + BEYOND_M], strict=True)]
    return course_of(lengths, [mean + spread * _drawn(draw, law) for mean, spread in laid])


def smooth(draw: random.Random, length_m: float, mean_deg: float, spread_deg: float, over_m: float) -> Course:
    """Return a course whose slope wanders (Ornstein and Uhlenbeck): no pipes, no joints.

    ``over_m``: the way over which the slope forgets two thirds of where it was [m].
    """
    count = math.ceil((length_m + BEYOND_M) / FINE_M)
    keep = math.exp(-FINE_M / over_m)
    fresh = spread_deg * math.sqrt(1 - keep * keep)
    off, deg = draw.gauss(0, spread_deg), []
    for _ in range(count):
        deg.append(mean_deg + off)
        off = keep * off + draw.gauss(0, fresh)
    return course_of([FINE_M] * count, deg)


def _drawn(draw: random.Random, law: str) -> float:
    if law == "student3":  # variance 3, brought down to 1
        square = sum(draw.gauss(0, 1) ** 2 for _ in range(3)) / 3
        return draw.gauss(0, 1) / math.sqrt(3 * square)
    return draw.gauss(0, 1)
