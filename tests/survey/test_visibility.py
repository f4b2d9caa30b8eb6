"""What could be seen, hazards to people, and the end of a run: by hand, by property and against the twins."""

from functools import partial

import pytest
from grading_cases import SCHEME, observations, places, stretches
from hypothesis import given
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.coding import run_end, visibility
from webapp.survey.coding.continuous import continuous_items
from webapp.survey.grading import hazards
from webapp.survey.plan import photo_place
from webapp.survey.wording import condition, sight

WORDS = tables.messages()

SIGHT = tables.shipped("visibility")
HAZARDS = tables.shipped("hazards")["rows"]


def seen(*fields):
    return [{"id": f"o{k}", "fields": one} for k, one in enumerate(fields)]


def continuous(code, from_m, to_m, number=1, **more):
    start = {"code": code, "counter_m": from_m, "continuous": {"role": "start", "number": number}, **more}
    finish = {"code": code, "counter_m": to_m, "continuous": {"role": "finish", "number": number}}
    return start, finish


def account(observed, end_m=40.0, pipes=(), run=None, scale=1.0):
    items = continuous_items(observed, end_m)["items"]
    return visibility.visibility(
        visibility.SightFacts(run or {}, pipes, observed, items, end_m, scale), SIGHT
    )


def seen_of(facts, table):
    """The account, from facts by name."""
    return visibility.visibility(visibility.SightFacts(**facts), table)


ROUND = [{"id": "s", "fields": {"shape": "circular", "from_counter_m": 0.0, "to_counter_m": 40.0}}]
CRACK = {"code": "BAB", "counter_m": 0.5}


def test_a_camera_under_water_from_1_to_39_m_saw_2_m_of_40():
    found = account(seen(CRACK, *continuous("BDG", 1.0, 39.0, characterisation_1="A")))
    assert (found["clear_m"], found["part_m"], found["hidden_m"]) == (2.0, 0.0, 38.0)
    line = sight.seen_line(WORDS, found, 0)
    assert line == "No defect was seen in the 2.00 m of 40.00 m that could be seen."


def test_view_lost_without_an_end_lasts_until_something_was_seen_again():
    lost = {"code": "BDG", "counter_m": 10.0}
    assert account(seen(CRACK, lost))["hidden_m"] == 30.0
    again = account(seen(CRACK, lost, {"code": "BCA", "counter_m": 25.0}))
    assert again["hidden_m"] == 15.0
    assert [p["known"] for p in again["parts"]] == ["measured", "assumed", "measured"]
    open_start = continuous("BDG", 10.0, 12.0)[0]
    assert account(seen(CRACK, open_start))["hidden_m"] == 30.0


def test_a_finish_alone_hides_what_lies_before_it():
    finish = continuous("BDG", 0, 20.0)[1]
    assert account(seen(CRACK, finish))["hidden_m"] == 19.5


def test_a_finish_before_its_start_hides_what_lies_between():
    assert account(seen(CRACK, *continuous("BDG", 20.0, 12.0)))["hidden_m"] == 8.0


def test_water_hides_the_wall_by_clock_and_the_camera_from_90_pct():
    shallow = account(seen(CRACK, {"code": "BDD", "counter_m": 5.0, "quantification_1": 10}), pipes=ROUND)
    assert shallow["clear_m"] == 40.0
    half = account(seen(CRACK, {"code": "BDD", "counter_m": 5.0, "quantification_1": 50}), pipes=ROUND)
    assert (half["clear_m"], half["part_m"]) == (5.0, 35.0)
    assert half["parts"][1]["hour_from"] == pytest.approx(3) and half["parts"][1]["hour_to"] == pytest.approx(
        9
    )
    words = sight.part_line(WORDS, half["parts"][1], 5.0, 40.0, "Water level")
    assert words == (
        "From 5.00 m to 40.00 m the wall was seen only in part: Water level, 50 % of the height, "
        "which hides the wall from 3 to 9 o’clock (how far it goes is assumed)."
    )
    full = account(seen(CRACK, {"code": "BDD", "counter_m": 5.0, "quantification_1": 95}))
    assert full["hidden_m"] == 35.0


def test_a_water_level_holds_until_the_next_one():
    found = account(
        seen(
            CRACK,
            {"code": "BDD", "counter_m": 5.0, "quantification_1": 60},
            {"code": "BDD", "counter_m": 15.0, "quantification_1": 5},
        )
    )
    assert found["part_m"] == 10.0


def test_a_run_of_readings_alone_claims_nothing():
    found = account(seen({"code": "BCD", "counter_m": 0.0}))
    assert not found["looked"]
    assert visibility.unseen_m(found, None, None, 1.0) == 40.0
    assert "Nothing recorded shows" in sight.seen_line(WORDS, found, 0)
    assert sight.seen_line(WORDS, account(seen(CRACK), end_m=None), 0).startswith("How far")


def test_classes_say_what_they_leave_out():
    words = partial(condition.known_class_words, WORDS)
    assert words(0, 0, 40.0, 40.0, SCHEME) == "not known"
    assert words(0, 0, None, None, SCHEME) == "not known"
    assert words(3, 3, 12.0, 40.0, SCHEME).endswith(", not known over 12.00 m")
    assert words(3, 3, 0.0, 40.0, SCHEME) == "3, " + SCHEME["classes"][3]["word"]


def test_the_gravest_hazard_comes_first_and_lengths_are_lengths():
    observed = seen(
        {"code": "BAP", "counter_m": 2.0},
        *continuous("BDF", 3.0, 12.0, characterisation_1="B"),
        {"code": "BBE", "counter_m": 30.0, "characterisation_1": "G"},
        {"code": "BBE", "counter_m": 31.0},
        {"code": "BBE", "counter_m": 32.0, "characterisation_1": "A"},
    )
    items = continuous_items(observed, 40.0)["items"]
    found = hazards.hazards(observed, items, 40.0, HAZARDS)
    assert [(h["hazard"], h["sure"]) for h in found] == [
        ("bad_air", True), ("utility", True), ("utility", False), ("void", True),
    ]  # fmt: skip
    lines = [
        sight.hazard_line(
            WORDS, HAZARDS[h["row"]]["label"], h["from_counter_m"], h["to_counter_m"], h["sure"]
        )
        for h in found
    ]
    assert lines[0] == "Bad air from 3.00 m to 12.00 m"
    assert lines[2].endswith("(may be: its kind is not settled) at 31.00 m")


def test_no_caution_says_that_anything_is_safe():
    for row in HAZARDS:
        assert "safe" not in row["caution"].lower()


def test_a_run_ends_where_an_observation_says_so():
    abandoned = seen({"code": "BDC", "counter_m": 28.4, "characterisation_1": "A"})
    ended = run_end.ended_run({}, abandoned)
    assert (ended["end_counter_m"], ended["end_reason"]) == (28.4, "obstruction")
    reached = seen({"code": "BCE", "counter_m": 45.0}, {"code": "BDC", "counter_m": 12.0})
    assert run_end.ended_run({}, reached)["end_reason"] == "node_reached"
    own = {"end_counter_m": 44.9, "end_reason": "water"}
    assert run_end.ended_run(own, reached) == own


def test_a_pipe_that_goes_on_ends_with_the_run_or_with_the_next():
    pipes = seen({"from_counter_m": 0.0}, {"from_counter_m": 12.0}, {"to_counter_m": 5.0})
    ends = [one["fields"].get("to_counter_m") for one in run_end.closed_stretches(pipes, 40.0)]
    assert ends == [12.0, 40.0, 5.0]
    assert "to_counter_m" not in pipes[0]["fields"]
    assert run_end.closed_stretches(seen({"from_counter_m": 41.0}), 40.0)[0]["fields"] == {
        "from_counter_m": 41.0
    }


lost = st.one_of(
    observations(),
    st.fixed_dictionaries(
        {"code": st.sampled_from(["BDG", "BDD", "BBC", "BAB", "BDF", "BCE", "BDC"])},
        optional={
            "counter_m": places,
            "quantification_1": st.sampled_from([0, 19.9, 20, 45, 90, 100]),
            "continuous": st.fixed_dictionaries(
                {"role": st.sampled_from(["start", "change", "finish"]), "number": st.integers(1, 2)}
            ),
        },
    ),
)
case = (
    st.lists(lost, max_size=7), st.lists(stretches(), max_size=3), st.one_of(st.none(), places),
    st.sampled_from([1.0, 0.995]), st.sampled_from([None, 0.0, 1.5]),
)  # fmt: skip


@given(*case)
def test_the_parts_fill_the_run_without_gap_or_overlap(fields, pipes, end_m, scale, zero_m):
    found = account(seen(*fields), end_m, seen(*pipes), {"counter_zero_m": zero_m}, scale)
    at = found["from_counter_m"]
    for part in found["parts"]:
        assert part["from_counter_m"] == at and part["to_counter_m"] > at
        assert (part["sight"] == "clear") == (not part["record_ids"])
        at = part["to_counter_m"]
    if found["total_m"] is not None:
        assert at == pytest.approx(end_m, abs=1e-5)
        lengths = found["clear_m"] + found["part_m"] + found["hidden_m"]
        assert lengths == pytest.approx(found["total_m"], abs=1e-5)


@parity(
    "coding/visibility",
    "wording/sight",
    "grading/hazards",
    "coding/run_end",
    *case,
    each=10,
    keep=[WORDS],
    through=["coding/hidden_spans"],
)
def test_what_was_seen_agrees(twin, fields, pipes, end_m, scale, zero_m):
    observed, run, lengths = seen(*fields), {"counter_zero_m": zero_m}, seen(*pipes)
    items = continuous_items(observed, end_m)["items"]
    if len(fields) % 3 == 1:  # its end, and the shape of its pipes, are in dispute
        run["least_end_counter_m"] = 12.5
        lengths = [one | {"conflicts": {"shape": [["a", "circular"], ["b", None]]}} for one in lengths]
    facts = {
        "run": run, "stretches": lengths, "observations": observed, "items": items, "end_counter_m": end_m,
        "scale": scale, "erased": lengths[: len(fields) % 4],
    }  # fmt: skip
    found = agree(twin, "survey/coding/visibility", "visibility", seen_of, facts, SIGHT)
    unseen = agree(
        twin, "survey/coding/visibility", "unseen_m", visibility.unseen_m, found, 3.0, end_m, scale
    )
    module = "survey/wording/sight"
    agree(twin, module, "seen_line", sight.seen_line, WORDS, found, len(fields) % 2)
    for part in found["parts"]:
        ends = part["from_counter_m"], part["to_counter_m"]
        agree(twin, module, "part_line", sight.part_line, WORDS, part, *ends, "View lost")
    agree(twin, "survey/wording/condition", "known_class_words", condition.known_class_words, WORDS,
          len(fields) % 4, 3, unseen, found["total_m"], SCHEME)  # fmt: skip
    for one in agree(
        twin, "survey/grading/hazards", "hazards", hazards.hazards, observed, items, end_m, HAZARDS
    ):
        ends = one["from_counter_m"], one["to_counter_m"]
        agree(twin, module, "hazard_line", sight.hazard_line, WORDS, "Bad air", *ends, one["sure"])
    agree(twin, "survey/coding/run_end", "ended_run", run_end.ended_run, run, observed)
    agree(twin, "survey/coding/run_end", "closed_stretches", run_end.closed_stretches, lengths, end_m)


def test_a_photo_stands_where_its_observation_stands():
    photo = {"counter_m": 0.95, "counter_shown_m": 3.0, "run_id": "old", "caption": "Hole"}
    moved = photo_place.photo_place(photo, {"counter_m": 0.6, "run_id": "r"})
    assert moved == {"counter_m": 0.6, "run_id": "r", "caption": "Hole"}
    assert photo_place.photo_place(photo, {"node_ref": "A"}) == photo == photo_place.photo_place(photo, None)


placed = st.fixed_dictionaries(
    {},
    optional={
        "counter_m": st.floats(0, 9),
        "counter_shown_m": st.floats(0, 9),
        "counter_part": st.integers(1, 3),
        "run_id": st.sampled_from(["r", "q"]),
    },
)


@parity("plan/photo_place", placed, st.none() | placed)
def test_photos_are_placed_alike(twin, photo, owner):
    agree(twin, "survey/plan/photo_place", "photo_place", photo_place.photo_place, photo, owner)
