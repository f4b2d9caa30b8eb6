"""One length surveyed in pieces: by hand, by property and against the twins."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from length_cases import COUNTED, SIGHT, checks, jobs, lengths, one_run

from webapp.survey.lengths import length_of_runs, records, same_objects
from webapp.survey.lengths import sight as length_sight
from webapp.survey.lengths.pipe_length import LengthPiece, SharedObject, length_groups, length_join
from webapp.survey.levels.input import NOT_READ, LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile


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
