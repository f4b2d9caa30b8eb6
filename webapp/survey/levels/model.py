"""The level model: which reading acts over which length, and what its errors do to the levels.

A level is a weighted sum of the sines of the readings. Each reading stands at a post (a single
straight pipe at two, its ends); between two posts the mean of their sines acts, so the invert is
straight between them. A reading beyond the range has no sine: the rise over the length for which it
acts is unknown between two limits.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from .chain import chain_covariance
from .course_walk import walk_course
from .input import (
    NOT_READ,
    SAME_PLACE_M,
    LevelReading,
    LevelSetup,
    LevelTie,
    check_readings,
    check_setup,
    check_ties,
)
from .walk import LevelGap, LevelWalk


@dataclass(frozen=True)
class _Post:
    chainage_m: float
    reading: int


def walk_levels(readings: Sequence[LevelReading], ties: Sequence[LevelTie], setup: LevelSetup) -> LevelWalk:
    """Return the level model at every station: start, readings, ends of pipes, ties, end.

    Parameters
    ----------
    readings : sequence of LevelReading, length n
        In ascending chainage [m]; those before the start are left out.

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``sd_negative``, ``mode_unknown``, ``limit_out_of_range``, ``no_readings``,
        ``reading_incomplete``, ``inclination_beyond_vertical``, ``chainage_not_ascending``,
        ``pipes_overlap``, ``end_before_start``, ``tie_before_start``, ``tie_beyond_end``; with the index of
        the reading or tie.

    References
    ----------
    Rise along a pipe is the sine of its inclination times the length along it; trapezium rule, any
    surveying text. Unknown rises: decision D5.

    Examples
    --------
    >>> setup = LevelSetup("trapezoid", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0)
    >>> walk = walk_levels([LevelReading(0.0, -1.0), LevelReading(10.0, -1.0)], [], setup)
    >>> [round(rise, 3) for rise in walk.rise_m]
    [0.0, -0.175]
    """
    check_setup(setup)
    kept = check_readings(readings, setup.start_chainage_m)
    last_tie_m = check_ties(ties, setup)
    if setup.mode == "course":
        return walk_course(readings, kept, ties, setup)
    chosen = [readings[i] for i in kept]
    posts = _posts(chosen, kept, setup, last_tie_m)
    acts = _acting_lengths(posts, len(chosen))
    gaps, gap_of = _gaps(chosen, kept, acts, setup.limit_deg)
    slopes = [_sine_and_slope(reading, setup) for reading in chosen]
    spread = [setup.sd_deg if r.sd_deg is None else r.sd_deg for r in chosen]
    walk = LevelWalk(
        kept, acts, [(s * d) ** 2 for (_, s), d in zip(slopes, spread, strict=True)], gaps,
        _stations(posts, ties), [], [], [], [], [], [], [], [], [-setup.zero_sd_deg], 0.0,
    )  # fmt: skip
    _walk(walk, posts, slopes, gap_of, setup.zero_sd_deg)
    end = chosen[-1]
    first_m, last_m = chosen[0].chainage_m, end.chainage_m if end.to_m is None else end.to_m
    if setup.mode == "span":
        last_m = posts[-1].chainage_m if setup.end_chainage_m is not None else last_m
    for k, here in enumerate(walk.chainage_m):
        before = walk.chainage_m[k - 1] if k else here
        walk.assumed.append(k > 0 and (here <= first_m or before >= last_m))
    return walk


def random_covariance(walk: LevelWalk, left: int, right: int) -> float:
    """Return the covariance of two levels from the independent errors of the readings alone.

    Returns
    -------
    float
        Covariance [m2]; the variance where both are the same station. O(1).

    References
    ----------
    Sum over the readings of weight times weight times variance, the weights being the lengths for which
    each reading has acted; any text on the propagation of errors.

    Examples
    --------
    >>> setup = LevelSetup("span", 0.0, 0.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 10.0)
    >>> walk = walk_levels([LevelReading(0.0, 0.0)], [], setup)
    >>> round(random_covariance(walk, 1, 1) ** 0.5, 6)
    0.017453
    """
    j, k = (left, right) if left <= right else (right, left)
    if walk.chain is not None:
        return chain_covariance(walk.chain, walk.done_m2, j, k)
    total = walk.done_m2[j]
    for reading, length in walk.parts[j]:
        further = walk.acts_m[reading]
        for other, so_far in walk.parts[k]:
            if other == reading:
                further = so_far
        total += length * further * walk.var[reading]
    return total


def _posts(
    chosen: Sequence[LevelReading], kept: Sequence[int], setup: LevelSetup, last_tie_m: float
) -> list[_Post]:
    """Where each reading stands, from the start to the end: the outermost are taken to go on."""
    posts: list[_Post] = []
    end_m = setup.end_chainage_m
    for i, reading in enumerate(chosen):
        if posts and reading.chainage_m < posts[-1].chainage_m:
            raise SurveyError("pipes_overlap", "readings", kept[i])
        posts.append(_Post(reading.chainage_m, i))
        to_m = reading.to_m
        if setup.mode == "span":
            to_m = chosen[i + 1].chainage_m if i + 1 < len(chosen) else end_m
        if to_m is not None and to_m > reading.chainage_m:
            posts.append(_Post(to_m, i))
    if posts[0].chainage_m > setup.start_chainage_m:
        posts.insert(0, _Post(setup.start_chainage_m, 0))
    far_m = last_tie_m if end_m is None or last_tie_m > end_m + SAME_PLACE_M else end_m
    if far_m > posts[-1].chainage_m + (0 if end_m is not None else SAME_PLACE_M):
        posts.append(_Post(far_m, posts[-1].reading))
    return posts


def _acting_lengths(posts: Sequence[_Post], count: int) -> list[float]:
    acts = [0.0] * count
    for before, here in itertools.pairwise(posts):
        half = (here.chainage_m - before.chainage_m) / 2
        acts[before.reading] += half
        acts[here.reading] += half
    return acts


def _gaps(
    chosen: Sequence[LevelReading], kept: Sequence[int], acts: Sequence[float], limit_deg: float
) -> tuple[list[LevelGap], list[int]]:
    """The unknown rises, and for each reading the place of its own among them or -1."""
    gaps: list[LevelGap] = []
    gap_of = [-1] * len(chosen)
    least = math.sin(math.radians(limit_deg))
    for i, reading in enumerate(chosen):
        if reading.deg is None and acts[i] > 0:
            gap_of[i] = len(gaps)
            low, high = (least * acts[i], acts[i]) if reading.over > 0 else (-acts[i], -least * acts[i])
            if reading.over == NOT_READ:
                low, high = -acts[i], acts[i]
            way = 0 if reading.over == NOT_READ else reading.over
            gaps.append(LevelGap(kept[i], acts[i], low, high, way, acts[i], -1.0 if way == 0 else least))
    return gaps, gap_of


def _sine_and_slope(reading: LevelReading, setup: LevelSetup) -> tuple[float, float]:
    """Sine of the reading with the zero error taken off, and its change per degree."""
    if reading.deg is None:
        return 0.0, 0.0
    way = -1.0 if reading.turned else 1.0
    angle = math.radians(reading.deg - way * setup.zero_deg)
    return math.sin(angle), way * math.cos(angle) * math.pi / 180


def _stations(posts: Sequence[_Post], ties: Sequence[LevelTie]) -> list[float]:
    places = sorted([post.chainage_m for post in posts])
    stations: list[float] = []
    for place in places:
        if not stations or place > stations[-1]:
            stations.append(place)
    extra = sorted(tie.chainage_m for tie in ties)
    merged: list[float] = []
    k = 0
    for place in extra:
        while k < len(stations) and stations[k] <= place + SAME_PLACE_M:
            merged.append(stations[k])
            k += 1
        if place - merged[-1] > SAME_PLACE_M:
            merged.append(place)
    return merged + stations[k:]


def _walk(
    walk: LevelWalk, posts: Sequence[_Post], slopes: Sequence[tuple[float, float]], gap_of: Sequence[int],
    zero_sd_deg: float,
) -> None:  # fmt: skip
    """Go along the stations; a reading is done where the next post lies."""
    so_far = [0.0] * len(walk.acts_m)
    rise = zero = variance = 0.0
    p = done = count = 0
    for k, here in enumerate(walk.chainage_m):
        if k:
            half = (here - walk.chainage_m[k - 1]) / 2
            for i in (posts[p].reading, posts[min(p + 1, len(posts) - 1)].reading):
                rise += half * slopes[i][0]
                zero += half * slopes[i][1]
                so_far[i] += half
        ended: list[int] = []
        while p + 1 < len(posts) and posts[p + 1].chainage_m <= here:
            if posts[p + 1].reading != posts[p].reading:
                ended.append(posts[p].reading)
            p += 1
        active = [posts[p].reading]
        if p + 1 < len(posts):
            active += [posts[p + 1].reading] * (posts[p + 1].reading != active[0])
        else:
            ended.append(active.pop())
        for i in ended:
            if gap_of[i] >= 0:
                done += 1
            else:
                variance += walk.acts_m[i] ** 2 * walk.var[i]
        count += len(ended)
        _record(walk, active, so_far, gap_of)
        walk.rise_m.append(rise)
        walk.common.append([zero * zero_sd_deg])
        walk.done_m2.append(variance)
        walk.gaps_done.append(done)
        walk.done_count.append(count)


def _record(walk: LevelWalk, active: Sequence[int], so_far: Sequence[float], gap_of: Sequence[int]) -> None:
    """Note which readings are under way at this station, and how far."""
    walk.parts.append([(i, so_far[i]) for i in active if gap_of[i] < 0 and so_far[i] > 0])
    shares = [(gap_of[i], _share(so_far[i], walk.acts_m[i])) for i in active if gap_of[i] >= 0]
    walk.gap_parts.append([(gap, share) for gap, share in shares if share > 0])


def _share(so_far: float, acts: float) -> float:
    """Part of the length that lies behind; whole where only the addition differs."""
    return 1.0 if so_far > acts * (1 - 1e-12) else so_far / acts
