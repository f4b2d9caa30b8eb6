"""Cases for the level tests: surveys by Hypothesis and at random, and an independent dense reference."""

import itertools
import math
import sys

import numpy as np
from hypothesis import strategies as st
from scipy.optimize import linprog

from webapp.survey.levels.checks import MIN_CHECK
from webapp.survey.levels.input import LevelReading, LevelSetup, LevelTie, Pipes

DEG = math.pi / 180
SDS = st.sampled_from([0.0, 0.02, 0.1, 0.3])


@st.composite
def surveys(draw, gaps=True, ties=4, broken=False, modes=("trapezoid", "span")):
    """(readings, ties, setup) as plain values; ``broken``: now and then with something wrong."""
    count = draw(st.integers(1, 9))
    places, here = [], draw(st.sampled_from([0.0, 0.0, 0.75]))
    for _ in range(count):
        places.append(here)
        here += draw(st.sampled_from([0.0, 0.5, 1.0, 2.5, 6.0]) if draw(st.booleans()) else st.floats(0.1, 9))
    readings = []
    for place in places:
        over = draw(st.sampled_from([0, 0, 0, 1, -1])) if gaps else 0
        deg = None if over else draw(st.floats(-9, 9))
        own = draw(st.sampled_from([None, None, 0.05, 0.2]))
        readings.append({"chainage_m": place, "deg": deg, "over": over, "sd_deg": own, "to_m": None})
    end = draw(st.sampled_from([None, here, here + 1.5]))
    far = end if end is not None else here
    tied = [
        {
            "chainage_m": draw(st.sampled_from([*places, far]) | st.floats(0, far)),
            "level_m": draw(st.floats(-3, 3)),
            # two exact ties that contradict each other by metres leave no nine digits to compare
            "sd_m": draw(st.sampled_from([0.003, 0.01] if i else [0.0, 0.003, 0.01])),
        }
        for i in range(draw(st.integers(0, ties)))
    ]
    setup = {
        "mode": draw(st.sampled_from(modes)),
        "start_chainage_m": 0.0,
        "start_level_m": draw(st.sampled_from([None, 0.0, 1.25])),
        "start_sd_m": draw(st.sampled_from([0.0, 0.005, 0.3])),
        "sd_deg": draw(st.sampled_from([0.05, 0.15])),
        "zero_sd_deg": draw(SDS),
        "scale_sd": draw(st.sampled_from([0.0, 0.005])),
        "zero_deg": draw(st.sampled_from([0.0, 0.2])),
        "limit_deg": draw(st.sampled_from([10.0, 30.0])),
        "end_chainage_m": end,
        "pipes": draw(stretches(far)) if "course" in modes else [],
    }
    if broken and draw(st.booleans()):
        _break(draw, readings, tied, setup)
    return readings, tied, setup


def stretches(far):
    """Stretches with and without a length of their pipes, with gaps between them and beyond the end."""
    place, unit = st.floats(-1, far + 2), st.sampled_from([None, 0.5, 1.0, 2.5])
    return st.lists(st.builds(_stretch, place, place, unit), max_size=3)


def _stretch(a, b, unit_m):
    return {"from_m": min(a, b), "to_m": max(a, b), "unit_m": unit_m}


def _break(draw, readings, tied, setup):
    """Spoil one value."""
    what = draw(st.sampled_from(["reading", "tie", "setup"]))
    bad = draw(st.sampled_from([-5.0, 0.0, 91.0, 1e12, -1e12]))
    if what == "reading":
        one = draw(st.sampled_from(readings))
        one[draw(st.sampled_from(["chainage_m", "deg", "sd_deg", "to_m"]))] = bad
    elif what == "tie" and tied:
        one = draw(st.sampled_from(tied))
        one[draw(st.sampled_from(["chainage_m", "level_m", "sd_m"]))] = bad
    else:
        names = ["start_chainage_m", "start_sd_m", "sd_deg", "zero_sd_deg", "scale_sd", "limit_deg"]
        name = draw(st.sampled_from([*names, "end_chainage_m", "zero_deg"]))
        # a counter wrong by 91 times its length leaves ties that contradict each other no nine digits
        setup[name] = 0.91 if (name, bad) == ("scale_sd", 91.0) else bad


def digits_left(ties, setup):
    """How near two solutions can be: a tie far surer than the start lets rounding grow by both variances.

    What the others barely check loses as much again as it is unchecked, ``MIN_CHECK`` at most.
    """
    surest = max(min((t["sd_m"] for t in ties), default=1.0), 1e-5)
    lost = sys.float_info.epsilon * (max(setup["start_sd_m"], 0.003) / surest) ** 2
    return max(1e-9, lost, min(lost / MIN_CHECK, 1e-7))


def objects(readings, ties, setup):
    """The plain values as the objects of the product."""
    return (
        [LevelReading(**r) for r in readings],
        [LevelTie(**t) for t in ties],
        LevelSetup(**{**setup, "pipes": tuple(Pipes(**one) for one in setup["pipes"])}),
    )


def weights(readings, setup, stations):
    """W[k, i]: length for which reading i has acted at station k; straight between posts."""
    posts = []
    for i, r in enumerate(readings):
        posts.append((r.chainage_m, i))
        if setup.mode == "span":
            nxt = readings[i + 1].chainage_m if i + 1 < len(readings) else setup.end_chainage_m
            if nxt is not None and nxt > r.chainage_m:
                posts.append((nxt, i))
    posts.insert(0, (setup.start_chainage_m, 0))
    posts.append((max(stations[-1], posts[-1][0]), posts[-1][1]))
    table = np.zeros((len(stations), len(readings)))
    for (a, i), (b, j) in itertools.pairwise(posts):
        for k, place in enumerate(stations):
            run = min(max(place - a, 0.0), b - a)
            table[k, i] += run / 2
            table[k, j] += run / 2
    return table


class Dense:
    """Everything of profile by dense matrices, the unknown rises by linear programming."""

    def __init__(self, readings, ties, setup, stations):
        stations = np.array(stations)
        acting = weights(readings, setup, stations)
        angle = np.array([0 if r.deg is None else r.deg - setup.zero_deg for r in readings]) * DEG
        seen = np.array([r.deg is not None for r in readings])
        sd = np.array([setup.sd_deg if r.sd_deg is None else r.sd_deg for r in readings])
        whole = acting[-1]
        self.gap = [i for i in range(len(readings)) if not seen[i] and whole[i] > 0]
        w = acting * seen
        start, start_sd = setup.start_level_m, setup.start_sd_m
        free = self.anchor_free = start is None and bool(ties)
        rise = w @ np.sin(angle)
        at = [int(np.argmin(abs(stations - t.chainage_m))) for t in ties]
        if start is None:
            first = min(range(len(ties)), key=lambda i: ties[i].chainage_m, default=None)
            start, start_sd = (0.0 if first is None else ties[first].level_m - rise[at[first]]), 0.0
        self.mean = start + rise
        h = w @ (DEG * np.cos(angle))
        spread = w * (DEG * np.cos(angle) * sd)
        self.prior = (
            start_sd**2
            + spread @ spread.T
            + setup.zero_sd_deg**2 * np.outer(h, h)
            + setup.scale_sd**2 * np.outer(rise, rise)
        )
        self.share = np.array([acting[:, i] / whole[i] for i in self.gap]).T.reshape(len(stations), -1)
        least = math.sin(setup.limit_deg * DEG)
        self.box = [
            (whole[i] * least, whole[i]) if readings[i].over > 0 else (-whole[i], -whole[i] * least)
            for i in self.gap
        ]
        self.free = [(-whole[i], whole[i]) for i in self.gap]
        if free:  # the start level is one more unknown, without limits
            self.share = np.hstack([np.ones((len(stations), 1)), self.share])
            self.box.insert(0, (None, None))
            self.free.insert(0, (None, None))
        noise = np.array([max(t.sd_m, 1e-5) for t in ties])
        self._solve(at, np.array([t.level_m for t in ties]), noise)

    def _solve(self, at, level, noise):
        self.at = at
        share = self.share[at]
        covariance = self.prior[np.ix_(at, at)] + np.diag(noise**2)
        gain = np.linalg.solve(covariance, self.prior[at]).T if at else np.zeros((len(self.mean), 0))
        _, s, vt = np.linalg.svd(share) if share.size else (None, np.zeros(0), np.eye(self.share.shape[1]))
        self.rows = vt[: (s > 1e-9).sum()]
        seen = share @ self.rows.T
        rest = level - self.mean[at]
        left = np.linalg.solve(covariance, seen) if len(at) else seen
        self.spread = np.linalg.inv(seen.T @ left) if len(self.rows) else np.zeros((0, 0))
        self.sums = self.spread @ left.T @ rest if len(self.rows) else np.zeros(0)
        self.fixed = self.mean + gain @ (rest - seen @ self.sums)
        self.gain, self.seen = gain, seen
        self.after = self.prior - gain @ self.prior[at]

    def level(self, k):
        """Bounds of a level, their sds, and whether it is one value."""
        wanted = self.share[k]
        inside = self.rows.T @ (self.rows @ wanted) if len(self.rows) else 0 * wanted
        if np.abs(wanted - inside).max(initial=0) < 1e-9:
            slopes = self.rows @ wanted if len(self.rows) else np.zeros(0)
            value = self.fixed[k] + slopes @ self.sums
            extra = slopes - self.gain[k] @ self.seen
            variance = self.after[k, k] + extra @ self.spread @ extra
            return value, value, math.sqrt(max(variance, 0)), True
        base, rows = self._local(k)
        fixed = self.fixed[k] + base @ self.rows.T @ self.sums
        for box in (self.box, self.free):
            ends = [self._end(sign * (wanted - base), box, rows) for sign in (1, -1)]
            if None not in ends:
                return fixed + ends[0], fixed - ends[1], None, False
        return None, None, None, False

    def _local(self, k):
        """What the nearest tie settles, and the sums between ties that touch what lies beyond it."""
        order = sorted(self.at)
        tied = self.share[order]
        before = [i for i, t in enumerate(order) if t <= k]
        base = tied[before[-1]] if before else tied[0] if self.anchor_free else 0 * self.share[k]
        first = tied[:1] if not self.anchor_free else tied[:0]
        between = np.vstack([first, np.diff(tied, axis=0)]) if order else tied
        near = np.abs(self.share[k] - base) > 1e-9
        chosen = np.zeros(len(between), bool)
        for _ in between:
            touched = (np.abs(between[:, near]) > 1e-9).any(axis=1)
            chosen |= touched
            near |= (np.abs(between[chosen]) > 1e-9).any(axis=0)
        return base, between[chosen]

    def _end(self, wanted, box, rows):
        sums = rows @ self.rows.T @ self.sums
        kept = {"A_eq": rows, "b_eq": sums} if len(rows) else {}
        used = (np.abs(rows) > 1e-9).any(axis=0) | (np.abs(wanted) > 1e-9)
        box = [limits if use else (0, 0) for limits, use in zip(box, used, strict=True)]
        found = linprog(wanted, bounds=box, **kept)
        return found.fun if found.status == 0 else None
