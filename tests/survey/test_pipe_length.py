"""One length surveyed in pieces: by hand, by property and against the twins."""

import json
from dataclasses import asdict
from pathlib import Path

import pytest
from grading_cases import observations, stretches
from hypothesis import given
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.lengths import length_of_runs, levels_both_ends, records, same_objects
from webapp.survey.lengths import sight as length_sight
from webapp.survey.lengths.pipe_length import LengthPiece, SharedObject, length_groups, length_join
from webapp.survey.levels import run_model
from webapp.survey.levels.input import NOT_READ, LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile
from webapp.survey.wording import sight as length_words

WORDS = tables.messages()

TABLES = Path(__file__).resolve().parents[2] / "webapp" / "tables"
SIGHT = json.loads((TABLES / "visibility.json").read_text(encoding="utf-8"))
COUNTED = ["BAB", "BBA", "BBC", "BAC"]


def pair(a_m, b_m, expected_m=45.0, reached=(False, False)):
    return [
        LengthPiece(False, 0.0, a_m, reached[0], expected_m),
        LengthPiece(True, 0.0, b_m, reached[1], None),
    ]


@pytest.mark.parametrize(
    ("b_m", "closing_m", "between_m", "twice_m"),
    [(16.6, 0.0, 0.0, 0.0), (10.0, 6.6, 6.6, 0.0), (20.0, -3.4, 0.0, 3.4)],
)
def test_chainages_from_both_ends_add_up_to_the_length_expected(b_m, closing_m, between_m, twice_m):
    join = length_join(pair(28.4, b_m), [])
    assert (join.how, join.length_m) == ("expected", 45.0)
    found = (join.closing_m, join.between_m, join.twice_m)
    assert found == pytest.approx((closing_m, between_m, twice_m))
    assert join.surveyed_m + join.between_m == pytest.approx(45.0)


def test_what_was_measured_comes_before_what_was_expected():
    joint = SharedObject(1, 0, 20.0, 25.3, False)
    join = length_join(pair(28.4, 20.0), [joint])
    assert (join.how, join.length_m, join.off_m) == ("seen_from_both", 45.3, pytest.approx(-0.3))
    crossed = length_join(pair(28.4, 45.1, reached=(False, True)), [])
    assert (crossed.how, crossed.length_m, crossed.off_m) == ("counter", 45.1, pytest.approx(-0.1))
    two = length_join(pair(28.4, 20.0), [joint, SharedObject(0, 1, 26.0, 19.1, False)])
    assert (two.length_m, two.apart_m) == (pytest.approx(45.2), pytest.approx(0.2))


def test_what_stopped_both_joins_only_where_nothing_better_does():
    face = [SharedObject(1, 0, 16.4, 28.4, True)]
    assert length_join(pair(28.4, 16.4), face).how == "expected"
    alone = length_join(pair(28.4, 16.4, None), face)
    assert (alone.how, alone.length_m, alone.between) == ("obstruction", pytest.approx(44.8), ())
    assert length_join(pair(28.4, 16.4, None), []).length_m is None


def test_runs_are_grouped_by_what_they_continue():
    def run(name, continues=None):
        return {"id": name, "fields": {"continues_run_id": continues} if continues else {}}

    assert length_groups([run("a"), run("b"), run("c", "a"), run("d", "c"), run("e", "gone")]) == [
        ["a", "c", "d"]
    ]
    assert length_groups([run("b", "a"), run("a")]) == [["a", "b"]]
    assert length_groups([run("a", "b"), run("b", "a"), run("c", "c")]) == []


def test_clock_positions_are_mirrored():
    turned = [records.length_clock({"hour_from": h})["hour_from"] for h in (12, 3, 6, 9, 1)]
    assert turned == [12, 9, 6, 3, 11]


def test_the_zero_error_has_the_other_sign_from_the_other_end():
    """Half of a pipe read from either end: the far level is free of the zero error, the middle is not."""
    setup = LevelSetup("trapezoid", 0.0, 5.0, 0.0, 0.0, 0.1, 0.0, end_chainage_m=20.0)
    there = [LevelReading(m, 0.0, turned=m > 10) for m in (0.0, 5.0, 9.999, 10.001, 15.0, 20.0)]
    found = level_profile(there, [], setup).stations
    assert found[-1].sd_m == pytest.approx(0.0, abs=1e-5)
    assert found[2].sd_m == pytest.approx(0.01745, rel=1e-3)
    tied = level_profile(there, [LevelTie(20.0, 5.0, 0.0)], setup).stations
    assert tied[2].sd_m == pytest.approx(0.01745, rel=1e-2)  # ties at both ends do not tell the zero


def test_a_length_not_surveyed_may_rise_or_fall_and_levels_beyond_settle_it():
    setup = LevelSetup("trapezoid", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, end_chainage_m=20.0)
    readings = [
        LevelReading(0.0, 0.0, to_m=8.0),
        LevelReading(8.0, None, NOT_READ, None, 12.0),
        LevelReading(12.0, 0.0),
    ]
    free = level_profile(readings, [], setup)
    assert (free.stations[-1].low_m, free.stations[-1].high_m) == (pytest.approx(1.0), pytest.approx(9.0))
    tied = level_profile(readings, [LevelTie(20.0, 4.5, 0.001)], setup)
    assert (tied.gaps[0].status, tied.gaps[0].rise_m) == ("solved", pytest.approx(-0.5, abs=1e-6))


lengths = st.integers(0, 60).map(lambda n: n / 2)
pieces_of = st.lists(
    st.builds(
        LengthPiece,
        st.booleans(),
        st.just(0.0) | lengths,
        st.none() | lengths,
        st.booleans(),
        st.none() | lengths,
    ),
    min_size=1,
    max_size=3,
)


@given(pieces_of)
def test_surveyed_and_not_make_the_length(pieces):
    join = length_join(pieces, [])
    if join.length_m is None:
        return
    if join.how != "same_start":
        assert join.surveyed_m + join.between_m == pytest.approx(join.length_m)
    assert join.twice_m >= 0 and all(a < b for a, b in (*join.spans, *join.between))
    turned = [LengthPiece(not p.turned, p.from_m, p.to_m, p.reached, p.expected_m) for p in pieces]
    other = length_join(turned, [])
    if {p.turned for p in pieces} == {True, False}:
        assert (other.length_m, other.between_m) == (join.length_m, pytest.approx(join.between_m))


observed = st.lists(observations(), max_size=4)
inclinations = st.fixed_dictionaries(
    {
        "counter_m": lengths,
        "inclination": st.sampled_from(
            [
                {"size": 1, "unit": "deg", "sense": "falling"},
                {"size": 80, "unit": "one_in", "sense": "rising"},
                {"over_range": True, "sense": "falling"},
                {"size": 0, "unit": "deg", "sense": "level"},
            ]
        ),
    }
)


@st.composite
def one_run(draw, k):
    name = f"r{k}"
    fields = {
        "counter_zero_m": draw(st.sampled_from([None, 0.0, 0.5])),
        "start_node_id": draw(st.sampled_from("ab")),
    }
    fields |= draw(
        st.fixed_dictionaries(
            {},
            optional={
                "end_counter_m": lengths,
                "end_reason": st.sampled_from(["node_reached", "obstruction", "water"]),
                "expected_length_m": st.sampled_from([20.0, 30.0, 45.0]),
                "finish_node_id": st.sampled_from("ab"),
                "soil": st.just("unknown"),
            },
        )
    )
    seen = []
    for j, one in enumerate(draw(observed)):
        if draw(st.integers(0, 2)) == 0:
            one = {**one, "same_as": draw(st.sampled_from(["r0o0", "r1o0", "r0o1", "gone"]))}
            one["turns_to"] = draw(st.sampled_from(["left", "right_up", "up"]))
        seen.append({"id": f"{name}o{j}", "fields": one})
    readings = [
        {"id": f"{name}i{j}", "fields": f} for j, f in enumerate(draw(st.lists(inclinations, max_size=4)))
    ]
    pipes = [
        {"id": f"{name}s{j}", "fields": f} for j, f in enumerate(draw(st.lists(stretches(), max_size=2)))
    ]
    ties = (
        [{"id": f"{name}t", "fields": {"counter_m": 1.0, "invert_level_m": 9.0}}]
        if draw(st.booleans())
        else []
    )
    return length_of_runs.PieceRun(name, fields, readings, ties, pipes, seen)


checks = st.sampled_from(
    [
        [],
        [{"id": "c", "fields": {"check_type": "counter_tape", "run_id": "r1", "taped_length_m": 20.0,
                                "counter_from_m": 0.0, "counter_to_m": 20.2}}],
    ]
)  # fmt: skip
jobs = st.tuples(one_run(0), one_run(1)) | st.tuples(one_run(0), one_run(1), one_run(2))


@given(jobs, checks)
def test_seen_and_unseen_make_the_length(runs, made):
    found = length_of_runs.length_of_runs(runs, made, SIGHT, COUNTED)
    if not found.visibility or not found.join.length_m:
        return
    account, at = found.visibility, found.visibility["from_counter_m"]
    for part in account["parts"]:
        assert part["from_counter_m"] == at
        at = part["to_counter_m"]
    seen = account["clear_m"] + account["part_m"] + account["hidden_m"]
    assert seen == pytest.approx(found.join.length_m) == pytest.approx(account["total_m"])
    assert account["hidden_m"] >= found.join.between_m - 1e-6
    ids = {one["id"] for one in found.observations}
    assert ids | set(found.repeats) == {o["id"] for run in runs for o in run.observations}
    assert not ids & set(found.repeats)


@given(one_run(0), one_run(1))
def test_the_order_of_the_two_runs_does_not_matter(one, two):
    one = length_of_runs.PieceRun(**{**vars(one), "fields": {**one.fields, "start_node_id": "a"}})
    two = length_of_runs.PieceRun(**{**vars(two), "fields": {**two.fields, "start_node_id": "b"}})
    expected = {k: v for k, v in one.fields.items() if k == "expected_length_m"}
    two = length_of_runs.PieceRun(
        **{**vars(two), "fields": {**two.fields, "expected_length_m": None} | expected}
    )
    forth = length_of_runs.length_of_runs([one, two], [], SIGHT, COUNTED)
    back = length_of_runs.length_of_runs([two, one], [], SIGHT, COUNTED)
    for name in ("length_m", "closing_m", "between_m", "surveyed_m", "twice_m"):
        ours, theirs = getattr(forth.join, name), getattr(back.join, name)
        assert ours == theirs or ours == pytest.approx(theirs, abs=1e-6), name
    for name in ("clear_m", "part_m", "hidden_m") if forth.visibility else ():
        assert forth.visibility[name] == pytest.approx(back.visibility[name], abs=1e-5)


def reported(runs, made, sight, counted):
    return asdict(length_of_runs.length_of_runs(runs, made, sight, counted))


@parity(
    "lengths/pipe_length", "lengths/length_of_runs", jobs, checks,
    through=["lengths/records", "lengths/sight", "lengths/same_objects"], keep=[SIGHT, COUNTED], each=10,
)  # fmt: skip
def test_lengths_agree(twin, runs, made):
    plain = [asdict(run) for run in runs]
    groups = [{"id": r["run_id"], "fields": {"continues_run_id": f"r{k - 1}"}} for k, r in enumerate(plain)]
    agree(twin, "survey/lengths/pipe_length", "length_groups", length_groups, groups)
    ours = length_of_runs.length_of_runs(runs, made, SIGHT, COUNTED)
    agree(
        twin,
        "survey/lengths/length_of_runs",
        "length_of_runs",
        lambda *_: asdict(ours),
        plain,
        made,
        SIGHT,
        COUNTED,
    )
    stopped = length_of_runs.stopped_counters(ours)
    agree(twin, "survey/lengths/length_of_runs", "stopped_counters", lambda *_: stopped, asdict(ours))
    bottleneck = {"bottleneck": {"index": 1, "reasons": [1], "rivals": [0], "no_number": []}, "limits": []}
    less = length_of_runs.withheld_between(bottleneck, ours.join, bool(stopped))
    requested = bottleneck, asdict(ours.join), bool(stopped)
    agree(twin, "survey/lengths/length_of_runs", "withheld_between", lambda *_: less, *requested)


@parity("wording/sight", "lengths/levels_both_ends", jobs, checks, keep=[SIGHT, COUNTED, WORDS], each=10)
def test_levels_and_words_of_lengths_agree(twin, runs, made):
    found = length_of_runs.length_of_runs(runs, made, SIGHT, COUNTED)
    join = asdict(found.join)
    words = "survey/wording/sight"
    agree(twin, words, "join_lines", length_words.join_lines, WORDS, join, len(found.perhaps))
    agree(twin, words, "perhaps_line", length_words.perhaps_line, WORDS, len(runs))
    for part in (found.visibility or {}).get("parts", ())[:2]:
        ends = part["from_counter_m"], part["to_counter_m"]
        agree(
            twin,
            words,
            "unseen_why",
            length_words.unseen_why,
            WORDS,
            part,
            join["between"],
            *ends,
            len(runs) == 2,
        )
    instruments = instruments_of(made, "r0")
    between = join["between"] or [(4.0, 6.5)]
    model = run_model.run_model(found.run, found.readings, found.level_ties, found.stretches, [], instruments)

    def opened(plain, spans):
        new, assumed = levels_both_ends.with_unsurveyed(model, spans)
        return asdict(new), assumed

    agree(twin, "survey/lengths/levels_both_ends", "with_unsurveyed", opened, asdict(model), between)
    stations = [{"known": "computed", "chainage_m": m / 2} for m in range(9)]

    def marked(profile, spans):
        return {
            "stations": [
                {**one, "known": "assumed"} if any(a <= one["chainage_m"] <= b for a, b in spans) else one
                for one in profile["stations"]
            ]
        }

    agree(twin, "survey/lengths/levels_both_ends", "with_assumed", marked, {"stations": stations}, between)


levels = st.tuples(
    st.lists(
        st.tuples(st.floats(0, 30), st.sampled_from([None, -1.0, 0.5]), st.booleans()), min_size=2, max_size=7
    ),
    st.sampled_from([[], [(28.0, 4.0)], [(0.0, 5.0), (29.0, 4.5)]]),
    st.sampled_from([0.0, 0.3]),
)


@parity("levels/model", levels)
def test_turned_and_missing_readings_agree(twin, drawn):
    rows, tied, zero_deg = drawn
    rows = sorted(rows, key=lambda row: row[0])
    readings = [
        LevelReading(m, deg, 0 if deg is not None else NOT_READ, None, None, turned)
        for m, deg, turned in rows
    ]
    setup = LevelSetup("trapezoid", 0.0, None, 0.0, 0.1, 0.2, 0.005, zero_deg, 10.0, 30.0)
    ties = [LevelTie(m, level, 0.01) for m, level in tied]
    plain = [asdict(r) for r in readings], [asdict(t) for t in ties], asdict(setup)

    def walk(*_):
        from webapp.survey.levels.model import walk_levels

        return asdict(walk_levels(readings, ties, setup))

    agree(twin, "survey/levels/model", "walk_levels", walk, *plain)

    def ends(*_):
        return asdict(level_profile(readings, ties, setup))

    agree(twin, "survey/levels/levels", "level_profile", ends, *plain, within=1e-6)


def test_both_views_of_one_object_widen_what_it_may_be():
    one = {"id": "a", "fields": {"code": "BBA", "quantification_1": 25}}
    two = {
        "id": "b",
        "fields": {"code": "BBA", "quantification_1": 30, "clock": {"hour_from": 3}, "same_as": "a"},
    }
    kept, _, repeats = same_objects.counted_once([one, two], [])
    assert repeats == {"b": "a"} and len(kept) == 1
    assert [value for _, value in kept[0]["conflicts"]["quantification_1"]] == [30, 25]
    assert kept[0]["fields"]["clock"] == {"hour_from": 3} and "conflicts" not in one


def test_of_two_accounts_the_better_is_taken():
    frame = records.LengthFrame(0.0, 1.0, False, 10.0, 0.0, 1.0, 0.0)
    other = records.LengthFrame(0.0, 1.0, True, 10.0, 0.0, 1.0, 0.0)

    def account(*parts):
        return {"looked": True, "parts": [
            {"sight": s, "from_counter_m": a, "to_counter_m": b, "record_ids": [s], "depth_pct": None,
             "hour_from": None, "hour_to": None, "known": "measured"} for s, a, b in parts]}  # fmt: skip

    found = length_sight.length_sight(
        [account(("clear", 0, 4), ("hidden", 4, 8)), account(("clear", 0, 3), ("part", 3, 5))],
        [frame, other],
        [(0, 8), (0, 5)],
    )
    assert [(p["sight"], p["from_counter_m"], p["to_counter_m"]) for p in found["parts"]] == [
        ("clear", 0.0, 4.0), ("hidden", 4.0, 5.0), ("part", 5.0, 7.0), ("clear", 7.0, 10.0),
    ]  # fmt: skip
