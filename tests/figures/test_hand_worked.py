"""The levels of both samples worked by hand, step by step, with nothing of the product but the records.

Rise over a length: mean of the sines at its ends times its length. A reading alone in its single pipe
stands for that pipe from end to end: what the product makes pipe by pipe, where nearly each pipe was read,
lies nearer to that than a tenth of a band. Two levels t1 and t2 with variances, a rise r between them with
variance v: the misclosure w = t2 - t1 - r is shared out by variance.
"""

import math
from itertools import pairwise

import pytest
from pack_jobs import sample

from webapp.assembly.job import assemble


def one_in(n):
    return math.degrees(math.atan(1 / n))


def pct(p):
    return math.degrees(math.atan(p / 100))


def weights(posts, to_m):
    """How many metres each post acts up to a place, straight between posts; posts: (chainage, degrees)."""
    acts = [0.0] * len(posts)
    for k, ((a, _), (b, _)) in enumerate(pairwise(posts)):
        if b <= a or a >= to_m:
            continue
        reach = min(b, to_m) - a
        share = reach / (b - a)  # where it ends part-way, the far post counts with the square of the share
        acts[k] += reach * (1 - share / 2)
        acts[k + 1] += reach * share / 2
    return acts


def rise(posts, to_m):
    return sum(w * math.sin(math.radians(d)) for w, (_, d) in zip(weights(posts, to_m), posts, strict=True))


def variance(posts, owners, to_m, sd_deg, zero_sd_deg, scale_sd):
    """Errors of single readings (``owners``: which reading a post is of), common zero, common scale."""
    by_reading, zero = {}, 0.0
    for w, (_, d), owner in zip(weights(posts, to_m), posts, owners, strict=True):
        part = w * math.cos(math.radians(d)) * math.pi / 180
        by_reading[owner] = by_reading.get(owner, 0.0) + part
        zero += part
    own = sum((part * sd_deg) ** 2 for part in by_reading.values())
    return own + (zero * zero_sd_deg) ** 2 + (rise(posts, to_m) * scale_sd) ** 2


def level(run, chainage_m):
    return next(v for v in run.figures.levels if abs(v.chainage_m - chainage_m) < 1e-6)


def test_the_tidal_creek_drain_up_to_its_second_tie():
    run = assemble(sample("tidal_creek_drain")[0]).runs[0]
    # tape: 20.00 m on 19.96 of the counter; crawler on the coping: +0.35 and, turned round, -0.25 degrees
    scale, zero = 20.0 / 19.96, (0.35 - 0.25) / 2
    assert scale == pytest.approx(1.002004, abs=1e-6) and zero == pytest.approx(0.05)
    shown = [(0.5, one_in(92)), (2, one_in(90)), (4, one_in(88)), (6, one_in(95)), (8, pct(1.1)),
             (10, one_in(90)), (12, one_in(84)), (14, 0.7), (16, one_in(86)), (18, one_in(80))]  # fmt: skip
    read = [((counter - 0.5) * scale, deg - zero) for counter, deg in shown]
    # pipes of 2 m from chainage 0: the first two readings share the first, the others have one each
    posts, owners = [read[0], read[1]], [0, 1]
    for k, (chainage, deg) in enumerate(read[2:9], 2):
        left = 2.0 * math.floor(chainage / 2.0)
        posts += [(left, deg), (left + 2.0, deg)]
        owners += [k, k]
    # first step by hand: 0.5728 and 0.5866 degrees over 1.5030 m: mean sine 0.010118 makes 0.0152 m
    assert rise(posts, 1.5030) == pytest.approx(0.01521, abs=2e-5)
    tie_m = 15.7 * scale
    r, v = rise(posts, tie_m), variance(posts, owners, tie_m, 0.1, 0.1 / math.sqrt(2), 0.01 / 19.96)
    # headwall 1.284 with 5 mm, gully 1.470 with 20 mm: 21 mm more than the readings make
    w = 1.470 - 1.284 - r
    assert w == pytest.approx(0.0213, abs=1e-4)
    whole = 0.005**2 + 0.02**2 + v
    first, second = level(run, 0.0), level(run, tie_m)
    assert first.level_m == pytest.approx(1.284 + w * 0.005**2 / whole, abs=1e-4)
    assert second.level_m == pytest.approx(1.470 - w * 0.02**2 / whole, abs=1e-3)
    assert first.sd_m == pytest.approx(0.005 * math.sqrt(1 - 0.005**2 / whole), rel=0.01)
    assert second.sd_m == pytest.approx(0.02 * math.sqrt(1 - 0.02**2 / whole), rel=0.03)
    tie = run.figures.ties[1]
    assert tie.before_m == pytest.approx(w, abs=1e-3)
    assert tie.standardised == pytest.approx(w / math.sqrt(whole), rel=0.06)


def test_the_tidal_creek_drain_behind_its_steep_length_is_at_least():
    """Beyond 10 degrees from 31.313 to 34.549 m; 2 x 0.5 m of crawler are sure: 1.0 sin 10 = 0.174 m.

    What lies beside may go as the pipes near do, and those vary.
    """
    run = assemble(sample("tidal_creek_drain")[0]).runs[0]
    before, behind = level(run, 31.313126), run.figures.levels[-1]
    assert sum(g.length_m for g in run.figures.gaps) == pytest.approx(34.549098 - 31.313126, abs=1e-5)
    least = sum(g.low_m for g in run.figures.gaps)
    assert -0.3 < least - 1.0 * math.sin(math.radians(10)) < 0
    assert behind.high_m - behind.low_m == pytest.approx(34.549098 - 31.313126 - least, abs=1e-5)
    assert before.level_m is not None and behind.level_m is None and behind.sense == "at_least"
    assert {g.status for g in run.figures.gaps} == {"open"}


def test_the_school_drain_from_chamber_to_chamber():
    run = assemble(sample("school_foul_drain")[0]).runs[0]
    scale, zero = 15.0 / 15.06, (pct(0.2) + pct(0.1)) / 2
    falls = [(0.3, one_in(58)), (1.5, one_in(60)), (3, one_in(62)), (4.5, one_in(60)), (6, pct(1.7)),
             (7.5, one_in(58)), (9, one_in(64)), (10.5, one_in(70)), (12, one_in(75)), (13.5, one_in(85)),
             (15, one_in(140)), (16, one_in(300)), (17, -pct(0.4)), (18, -pct(0.7)), (19, -pct(0.9)),
             (20, -pct(0.5)), (21, 0.0), (22.5, one_in(160)), (24, one_in(110)),
             (26, one_in(90)),
             (28, one_in(82)), (30, 0.7), (32, one_in(80)), (34, one_in(78)), (36, one_in(80)),
             (38, one_in(79)), (38.6, one_in(75))]  # fmt: skip
    read = [((counter - 0.3) * scale, -deg - zero) for counter, deg in falls]
    posts, owners, end = [], [], 38.3 * scale
    for k, (chainage, deg) in enumerate(read):
        left = 0.6 * math.floor(chainage / 0.6)
        if sum(1 for m, _ in read if left <= m < left + 0.6) == 1 and chainage < end - 1e-9:
            posts += [(left, deg), (min(left + 0.6, end), deg)]
            owners += [k, k]
        else:
            posts.append((chainage, deg))
            owners.append(k)
    # first step by hand: 1 in 58 is 0.9878 degrees, with the zero error 1.0737: sine 0.018738 over 0.6 m
    assert rise(posts, 0.6) == pytest.approx(-0.011243, abs=2e-6)
    r = rise(posts, end)
    v = variance(posts, owners, end, 0.15, 0.15 / math.sqrt(2), 0.005 / 15.06)
    s1, s2 = math.hypot(0.005, 0.01), 0.011
    w, whole = (98.67 - (100.42 - 1.31)) - r, s1**2 + s2**2 + v
    first, last = run.figures.levels[0], run.figures.levels[-1]
    assert first.level_m == pytest.approx(99.11 + w * s1**2 / whole, abs=5e-4)
    assert last.level_m == pytest.approx(98.67 - w * s2**2 / whole, abs=5e-4)
    assert run.figures.rise.value_m == pytest.approx(last.level_m - first.level_m)
    assert run.figures.ties[1].before_m == pytest.approx(w, abs=0.1 * math.sqrt(whole))


def test_the_dips_at_both_ends_of_the_branch_settle_its_steep_length():
    """From 99.600 to 99.110 it falls 0.490 m; what the readings do not make, the steep length does."""
    run = assemble(sample("school_foul_drain")[0]).runs[1]
    gap = run.figures.gaps[0]
    others = sum(row.fall_m for row in run.figures.lengths)
    assert others == pytest.approx(0.49, abs=1e-9)
    assert (gap.status, gap.consistent) == ("solved", True)
    # pipes of 0.6 m: read before it in that up to 7.8 m and behind it in that from 9.6 m
    assert gap.length_m == pytest.approx(1.8) and -10.0 < gap.deg < -5.0
    assert gap.rise_m == pytest.approx(1.8 * math.sin(math.radians(gap.deg)), abs=1e-9)
    assert all(v.level_m is not None for v in run.figures.levels)
