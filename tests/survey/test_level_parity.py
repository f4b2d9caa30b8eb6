"""Levels, gaps, falls, ponding and counter: Python and JavaScript agree to 1e-9."""

from hypothesis import strategies as st
from level_cases import digits_left, objects, surveys
from parity import DRAWN, parity
from twins import agree, as_json, far, requested

from webapp.survey.instruments import counter_scale, inclinometer
from webapp.survey.levels import falls, levels, ponding, reading_findings, water_check
from webapp.survey.levels import values as level_values
from webapp.survey.numbers import bounded_sums, linear_algebra
from webapp.survey.section import bore

lengths = st.floats(0.02, 500)
any_number = st.floats(-200, 200) | st.sampled_from([0.0, -1.0, 1e10])
FLOWS = st.sampled_from(["with_flow", "against_flow", "unknown"])


def shown(profile):
    """What a screen shows of a profile: all but the workings."""
    return {k: v for k, v in as_json(profile).items() if k != "solution"}


@parity(
    "levels/levels",
    "levels/falls",
    "levels/reading_findings",
    "levels/ponding",
    "levels/water_check",
    surveys(broken=True, modes=("trapezoid", "span", "course", "course")),
    FLOWS,
    DRAWN,
    each=8,
    through=[
        "levels/chain",
        "levels/checks",
        "levels/course",
        "levels/course_walk",
        "levels/doubt",
        "levels/gaps",
        "levels/input",
        "levels/learn",
        "levels/model",
        "levels/seen",
        "levels/solution",
        "levels/units",
        "levels/values",
    ],
)
def test_levels_falls_and_ponding_agree(twin, case, flow, data):
    kept = []

    def levelled(*args):
        kept.append(levels.level_profile(*objects(*args)))
        return as_json(kept[0])

    within = digits_left(*case[1:])
    if agree(twin, "survey/levels/levels", "level_profile", levelled, *case, within=within) is None:
        return
    profile, whole = kept[0], as_json(kept[0])
    solution, count = whole["solution"], len(profile.stations)
    places = [one["chainage_m"] for one in case[0]]

    def said(_, where):
        return reading_findings.level_findings(profile, where)

    agree(twin, "survey/levels/reading_findings", "level_findings", said, whole, places)

    def rows(_):
        return as_json(falls.length_table(profile))

    agree(twin, "survey/levels/falls", "length_table", rows, whole)

    def settled(_):
        return as_json(level_values.settled_levels(profile.solution))

    quick = agree(twin, "survey/levels/values", "settled_levels", settled, solution)
    assert (quick is None) == bool(profile.gaps)
    if quick:
        slow = [level_values.level_value(profile.solution, at) for at in range(count)]
        assert far([[v.value_m for v in slow], [v.sd_m for v in slow]], quick, 1.0) <= 1e-9
    pipe = data.draw(st.sampled_from([None, ["circular", 0.3], ["egg", 0.6], ["rectangular", 0.5, 0.4]]))
    shape = None if pipe is None else bore.Bore(*pipe)

    pools = []

    def standing(*_):
        pools.append(ponding.standing_water(profile, flow, shape))
        return as_json(pools[0])

    water = agree(twin, "survey/levels/ponding", "standing_water", standing, whole, flow, as_json(shape))
    places = [data.draw(st.floats(0, 60)) for _ in range(2)]
    seen = [data.draw(st.floats(-5, 105)) for _ in range(2)]

    def compared(_, *rest):
        return as_json(water_check.compare_water(pools[0], *rest))

    agree(twin, "survey/levels/water_check", "compare_water", compared, water, places, seen, 0.3, 5.0, 0.01)


@parity(
    "instruments/counter_scale",
    st.lists(st.tuples(*[any_number] * 4), max_size=4),
    st.lists(st.tuples(lengths, lengths), max_size=4),
)
def test_the_counter_agrees(twin, checks, parts):
    names = ("counter_from_m", "counter_to_m", "taped_m", "sd_m")
    taped = [dict(zip(names, check, strict=True)) for check in checks]
    taped += [{**dict.fromkeys(names, 0.5), "counter_to_m": 0.6 + a, "taped_m": b} for a, b in parts]

    def scale(rows):
        return as_json(counter_scale.scale_of_checks([counter_scale.TapeCheck(**row) for row in rows]))

    agree(twin, "survey/instruments/counter_scale", "scale_of_checks", scale, taped)
    segments = [{"counter_from_m": a, "counter_to_m": b} for a, b, *_ in checks]

    def starts(rows, *rest):
        return counter_scale.segment_starts([counter_scale.CounterSegment(**row) for row in rows], *rest)

    agree(twin, "survey/instruments/counter_scale", "segment_starts", starts, segments, 1.5, 1.01)


@parity("instruments/counter_scale", "instruments/inclinometer", any_number, any_number, any_number)
def test_single_values_agree(twin, a, b, c):
    def far_length(*values):
        return as_json(counter_scale.check_far_length(*values))

    agree(twin, "survey/instruments/counter_scale", "check_far_length", far_length, a, b)
    agree(
        twin,
        "survey/instruments/inclinometer",
        "zero_from_reversal",
        inclinometer.zero_from_reversal,
        a,
        b,
        c,
    )


shares = st.sampled_from([0.0, 1.0, 0.5, 0.25])


@parity("numbers/linear_algebra", "numbers/bounded_sums", st.integers(1, 6), st.integers(0, 3), DRAWN, each=8)
def test_small_algebra_agrees(twin, size, count, data):
    rows = [[data.draw(shares) for _ in range(size)] for _ in range(count)]
    wanted = [data.draw(shares) for _ in range(size)]
    found = agree(twin, "survey/numbers/linear_algebra", "express", linear_algebra.express, wanted, rows)
    low = [data.draw(st.floats(-3, 3)) for _ in range(size)]
    high = [a + data.draw(st.floats(0.5, 3)) for a in low]
    inside = [a + (b - a) * data.draw(st.floats(0.05, 0.95)) for a, b in zip(low, high, strict=True)]
    sums = [linear_algebra.dot(row, inside) for row in rows]

    def least(*args):
        answer = bounded_sums.least_in_box(*args)
        return None if answer is None else answer.value

    box = (wanted, rows, sums, low, high, 1e-9)
    ours = least(*box)

    def check(theirs, _):
        assert far(ours, None if theirs is None else theirs["value"], 1.0) <= 1e-9

    requested(twin, "survey/numbers/bounded_sums", "least_in_box", box, check)
    assert ours is not None and found is not False
    square = [[linear_algebra.dot(a, b) + (i == j) for j, b in enumerate(rows)] for i, a in enumerate(rows)]
    agree(twin, "survey/numbers/linear_algebra", "inverse", linear_algebra.inverse, square)
    agree(twin, "survey/numbers/linear_algebra", "cholesky", linear_algebra.cholesky, square)
    lower = linear_algebra.cholesky(square)
    agree(twin, "survey/numbers/linear_algebra", "solve_lower", linear_algebra.solve_lower, lower, sums)
