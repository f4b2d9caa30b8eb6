"""The level model pipe by pipe: what the readings say of every level, from the course of the run."""

import math
from collections.abc import Sequence

from .chain import Chain
from .course import Course, Variances
from .input import NOT_READ, SAME_PLACE_M, LevelReading, LevelSetup, LevelTie
from .learn import Learnt, Slope, learn, slope_of
from .units import GAP, READ, UNREAD, Unit, cut_run
from .walk import LevelGap, LevelWalk, OddReading

REST_SDS = 3.0  # what lies beside the crawler's own place is taken as steep as this many spreads allow


def walk_course(
    readings: Sequence[LevelReading], kept: Sequence[int], ties: Sequence[LevelTie], setup: LevelSetup
) -> LevelWalk:
    """Return the level model at every station: start, ends of pipes and of lengths not read, ties, end.

    References
    ----------
    Decision D58.

    Examples
    --------
    >>> setup = LevelSetup("course", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, end_chainage_m=8.0)
    >>> walk = walk_course([LevelReading(1.0, -1.0), LevelReading(7.0, -1.0)], [0, 1], [], setup)
    >>> walk.chainage_m, round(walk.rise_m[-1], 3)
    ([0.0, 2.25, 5.75, 8.0], -0.14)
    """
    chosen = [readings[i] for i in kept]
    units = cut_run(chosen, ties, setup)
    learnt = learn(units, chosen, setup)
    course, variances = learnt.course, learnt.variances
    slopes = [slope_of(u, unit, learnt) for u, unit in enumerate(units)]
    walk = _empty(units, kept, learnt)
    walk.var.extend(slope.var for slope in slopes)
    for u, unit in enumerate(units):
        if unit.kind == GAP:
            walk.gaps.append(
                _gap(unit, kept[unit.first], chosen[unit.first].over, (course, u, variances), setup)
            )
    _walk(walk, units, slopes, course, sorted(tie.chainage_m for tie in ties))
    known = [unit for unit in units if unit.kind != UNREAD]
    first_m = known[0].from_m if known else setup.start_chainage_m
    last_m = known[-1].to_m if known else setup.start_chainage_m
    for k, here in enumerate(walk.chainage_m):
        before = walk.chainage_m[k - 1] if k else here
        walk.assumed.append(k > 0 and (here <= first_m or before >= last_m))
    return walk


def _empty(units: Sequence[Unit], kept: Sequence[int], learnt: Learnt) -> LevelWalk:
    chain = Chain([], [], [], [], [], [], [], [])
    return LevelWalk(
        [kept[unit.first] if unit.kind == READ else -1 for unit in units],
        [unit.to_m - unit.from_m for unit in units],
        [], [], [], [], [], [], [], [], [], [], [], [learnt.course.zero_sd_deg],
        learnt.course.zero_deg, chain, learnt.noise,
        [OddReading(kept[units[one.unit].first], one.spreads) for one in learnt.odd],
    )  # fmt: skip


def _gap(
    unit: Unit, reading: int, over: int, course_at: tuple[Course, int, Variances], setup: LevelSetup
) -> LevelGap:
    """An unknown rise: sure is only where the crawler stood; the rest is steep or goes with the course."""
    length = unit.to_m - unit.from_m
    if over == NOT_READ:
        return LevelGap(reading, length, -length, length, 0, 0.0, -1.0)
    course, u, variances = course_at
    rest, least = length - unit.own_m, math.sin(math.radians(setup.limit_deg))
    flat = over * course.mean[u] - REST_SDS * math.sqrt(course.var[u] + variances.pipe)
    flat = max(-1.0, min(flat, least))
    low = unit.own_m * least + rest * flat
    if over > 0:
        return LevelGap(reading, length, low, length, over, unit.own_m, flat)
    return LevelGap(reading, length, -length, -low, over, unit.own_m, flat)


def _walk(
    walk: LevelWalk, units: Sequence[Unit], slopes: Sequence[Slope], course: Course, tied: Sequence[float]
) -> None:
    """Go along the units; within a pipe that holds a tie its slope acts up to there."""
    chain = walk.chain
    if chain is None:
        return
    state = _State(walk)
    t = 0
    start_m = units[0].from_m if units else 0.0
    state.station(start_m, 0, walk.acts_m[0] if units else 0.0, 0.0, slopes[0] if units else None, 0.0)
    kept = 0.0
    for u, unit in enumerate(units):
        slope, var, length = slopes[u], course.var[u], walk.acts_m[u]
        chain.load_m.append(length * slope.course)
        chain.log_keep.append(kept)
        kept += math.log(course.keep[u]) if u + 1 < len(units) else 0.0
        while t < len(tied) and tied[t] < unit.to_m - SAME_PLACE_M:
            if tied[t] - walk.chainage_m[-1] > SAME_PLACE_M:
                state.station(tied[t], u, length, tied[t] - unit.from_m, slope, var)
            t += 1
        state.gaps += 1 if unit.kind == GAP else 0
        state.units += 1
        state.station(unit.to_m, u, length, length, slope, var)
        state.go_on(slope, length, var, course.keep[u])
    ahead = 0.0
    for u in range(len(units) - 1, -1, -1):
        chain.ahead_m.append(ahead)
        ahead = course.keep[u - 1] * (chain.load_m[u] + ahead) if u else 0.0
    chain.ahead_m.reverse()


class _State:
    """What adds up along the way: rise, its change with the zero error, variance, tie to the course."""

    def __init__(self, walk: LevelWalk):
        self.walk = walk
        self.rise = self.zero = self.var = self.bound = 0.0
        self.gaps = self.units = 0

    def station(
        self, place_m: float, unit: int, length_m: float, so_far_m: float, slope: Slope | None, var: float
    ) -> None:
        """Add a station so far from the beginning of a unit."""
        walk, x = self.walk, so_far_m
        own, load, zero, mean = (slope.var, slope.course, slope.zero, slope.mean) if slope else (0.0,) * 4
        whole = load * load * var + own
        walk.chainage_m.append(place_m)
        walk.rise_m.append(self.rise + x * mean)
        walk.common.append([(self.zero + x * zero) * walk.zero_row[0]])
        walk.done_m2.append(self.var + 2 * x * load * self.bound + x * x * whole)
        walk.gaps_done.append(self.gaps)
        walk.done_count.append(self.units)
        walk.gap_parts.append([])
        if walk.chain is not None:
            walk.chain.unit.append(unit)
            walk.chain.rest_m.append(length_m - x)
            walk.chain.rest_load_m.append((length_m - x) * load)
            walk.chain.with_slope_m.append(load * self.bound + x * whole)
            walk.chain.with_course_m.append(self.bound + x * load * var)

    def go_on(self, slope: Slope, length_m: float, var: float, keep: float) -> None:
        """Leave a unit for the next."""
        x, load = length_m, slope.course
        self.rise += x * slope.mean
        self.zero += x * slope.zero
        self.var += 2 * x * load * self.bound + x * x * (load * load * var + slope.var)
        self.bound = (self.bound + x * load * var) * keep
