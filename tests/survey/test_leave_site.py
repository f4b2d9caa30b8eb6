"""Before leaving: a sound job has no open item, and each planted fault is named, alone; both sides agree."""

import copy

import pytest
from hypothesis import strategies as st
from leave_cases import FAULTS, RUN, SHARP, TABLES, item, pieces, planted, shown, sound
from parity import parity
from twins import agree

from webapp import tables
from webapp.schemas import schema_for
from webapp.survey.errors import SurveyError
from webapp.survey.review.leave_item import item_sentence
from webapp.survey.review.leave_site import open_items

ROWS = TABLES["leave_site"]["rows"]
WORDS = tables.messages()


def found(records, outside=None):
    return open_items(records, outside or {}, TABLES)


def codes(records, outside=None):
    return [one["code"] for one in found(records, outside)]


def test_a_sound_job_has_no_open_item():
    assert found(sound()) == []


def test_the_sound_job_keeps_the_rules_of_the_schemas():
    for kind, records in sound().items():
        for one in records:
            faults = schema_for(kind).validate(one["fields"], partial=True)
            assert not [name for name in faults if name not in ("run_id", "belongs_to")], (kind, faults)


@pytest.mark.parametrize("code", FAULTS)
def test_a_planted_fault_is_named_and_no_other(code):
    (one,) = found(*planted(code))
    assert one["code"] == code
    assert one["record_id"] == FAULTS[code][1]
    assert one["run_id"] in (RUN, None)


def test_every_row_of_the_table_has_its_planted_fault():
    assert [row["code"] for row in ROWS] == list(FAULTS)
    assert {row["severity"] for row in ROWS} == {"hazard", "site", "desk"}


@pytest.mark.parametrize("code", FAULTS)
def test_each_sentence_is_whole(code):
    (one,) = found(*planted(code))
    words = item_sentence(WORDS, ROWS, one)
    assert "{" not in words and words.endswith((".", "?")) and "safe" not in words.replace("safety sheet", "")


def test_what_cannot_be_mended_comes_first_then_by_run():
    records, outside = planted("entries_unsent")
    for code in ("start_missing", "photo_missing", "tape_check_missing"):
        FAULTS[code][0](records, outside)
    other = copy.deepcopy(records["run"][0])
    records["run"].append({**other, "id": "second"})
    reported = [(one["severity"], one["run_id"]) for one in found(records, outside)]
    assert reported == sorted(reported, key=lambda t: (t[0] != "site", [None, RUN, "second"].index(t[1])))
    assert reported[0] == ("site", None) and reported[-1] == ("desk", "second")


def test_the_level_that_would_settle_is_named_by_the_counter():
    (one,) = found(*planted("rise_needs_far_level"))
    assert one["values"] == {"from_m": 6.5, "to_m": 10.5, "tie_m": 10.5}
    (one,) = found(*planted("rise_needs_start_level"))
    assert one["values"]["tie_m"] == 0.5


@pytest.mark.parametrize("tie_m", [10.5, 15.0, 20.0])
def test_a_level_taken_where_it_is_asked_for_settles(tie_m):
    records, _ = planted("rise_needs_far_level")
    tie = {"counter_m": tie_m, "invert_level_m": 9.4, "sd_m": 0.01, "run_id": RUN}
    records["level_tie"].append({"id": "new", "fields": tie})
    assert found(records) == []


def test_a_level_short_of_the_place_does_not_settle():
    records, _ = planted("rise_needs_far_level")
    tie = {"counter_m": 6.0, "invert_level_m": 9.4, "sd_m": 0.01, "run_id": RUN}
    records["level_tie"].append({"id": "new", "fields": tie})
    assert codes(records) == ["rise_needs_far_level"]


def test_two_lengths_beyond_the_range_ask_for_one_level_behind_the_second():
    records, _ = planted("rise_needs_far_level")
    item(records, "reading", "r7")["inclination"] = {"over_range": True, "sense": "falling"}
    (one,) = found(records)
    assert one["values"] == {"from_m": 6.5, "to_m": 16.5, "tie_m": 16.5}


def test_two_of_them_between_two_ties_leave_nothing_to_do_outside_the_pipe():
    records = sound()
    item(records, "reading", "r7")["inclination"] = {"over_range": True, "sense": "falling"}
    assert found(records) == []


def test_the_longest_gap_is_the_jobs_own_where_it_says_one():
    records, _ = planted("reading_gap")
    assert found(records)[0]["values"] == {
        "from_m": 10.5,
        "to_m": 16.5,
        "allowed_m": 5,
        "allowed_known": "assumed",
    }
    records["job"][0]["fields"]["longest_gap_m"] = 6.0
    assert found(records) == []
    records["job"][0]["fields"]["longest_gap_m"] = 1.5
    gaps = [one for one in found(records) if one["code"] == "reading_gap"]
    assert len(gaps) == 7 and {one["values"]["allowed_known"] for one in gaps} == {"set"}


def test_a_check_that_only_one_of_two_runs_lacks_is_named_with_that_run():
    records = sound()
    records["run"].append({"id": "second", "fields": dict(records["run"][0]["fields"])})
    for check in records["check"][:2]:
        check["fields"]["run_id"] = RUN
    records["reading"].append(
        {"id": "q", "fields": {"run_id": "second", "counter_m": 1.0, "inclination": shown(80)}}
    )
    reported = {one["code"]: one["run_id"] for one in found(records) if one["kind"] == "check"}
    assert reported == {"tape_check_missing": "second", "zero_check_missing": "second"}


def test_no_zero_check_is_asked_for_where_nothing_was_read():
    records, _ = planted("zero_check_missing")
    records["reading"] = []
    assert codes(records) == ["reading_gap"]


def test_a_length_before_or_between_stretches_is_told_with_its_places():
    records = sound()
    item(records, "stretch", "s").update(from_counter_m=3.0, to_counter_m=9.0)
    more = {"from_counter_m": 12.0, "shape": "egg", "height_mm": 300, "run_id": RUN}
    records["stretch"].append({"id": "t", "fields": more})
    reported = [(one["values"]["from_m"], one["values"]["to_m"]) for one in found(records)]
    assert reported == [(0.5, 3.0), (9.0, 12.0)]


def test_the_finish_node_says_where_a_run_ended_that_does_not_say_it_itself():
    records = sound()
    records["run"][0]["fields"].update(end_counter_m=None, expected_length_m=None)
    item(records, "observation", "break")["counter_m"] = 21.0
    assert [(one["code"], one["values"]["finish_m"]) for one in found(records)] == [("beyond_finish", 20.0)]


def test_no_claim_where_nothing_is_known():
    records = sound()
    for name in SHARP:
        del item(records, "photo", "p")[name]
    assert found(records, {"unsent_entries": None, "conflicts": None}) == []
    item(records, "stretch", "s").update(height_mm=None, size_known="unknown")
    assert found(records) == [], "the size is stated as not known"


def test_a_picture_that_somebody_looked_at_is_not_told_again():
    records, _ = planted("photo_unsharp")
    item(records, "photo", "p")["shows_enough"] = True
    assert found(records) == []
    item(records, "photo", "p")["shows_enough"] = False
    assert codes(records) == ["photo_unsharp"]


def test_a_run_hardly_begun_says_what_is_still_to_come():
    records = sound()
    for kind in ("reading", "observation", "stretch", "level_tie", "photo"):
        records[kind] = []
    records["run"][0]["fields"] = {"run_ref": "R1"}
    assert codes(records) == ["end_missing", "start_bearing_missing", "start_missing"]


def test_a_code_that_the_table_lacks_is_an_error():
    short = {
        **TABLES,
        "leave_site": {**TABLES["leave_site"], "rows": [r for r in ROWS if r["code"] != "safety_unanswered"]},
    }
    with pytest.raises(SurveyError) as caught:
        open_items(*planted("safety_unanswered"), short)
    assert caught.value.code == "finding_unknown"


def test_places_beyond_a_reset_of_the_counter_say_that_they_count_on():
    records, outside = planted("reading_gap")
    before = [item_sentence(WORDS, ROWS, one) for one in open_items(records, outside, TABLES)]
    records["reading"][1]["fields"]["counter_reset"] = {"had_shown_m": 3.0, "set_to_m": 3.0}
    after = [item_sentence(WORDS, ROWS, one) for one in open_items(records, outside, TABLES)]
    assert after == [f"{one} The counter was reset: this counts on as if it had not been." for one in before]
    assert len(after) == 1


PLACES = [None, 0.0, 0.5, 4.0, 8.5, 12.0, 19.99, 20.0, 25.0]
CHANGES = {
    "run": {
        "end_reason": [None, "node_reached", "obstruction", "other"], "end_counter_m": PLACES,
        "expected_length_m": [None, 10.0, 19.5, 20.0], "counter_zero_m": PLACES, "remark": [None, "x"],
        "start_bearing": [None, {"north": "magnetic"}, {"bearing_deg": 3, "north": "true"}],
        "finish_node_id": [None, "gone"],
    },
    "node": {"position": [None], "node_type": ["buried", "unknown", "manhole", None],
             "cover_level_m": [None, 12.0], "dipped_depth_m": [1.5]},
    "reading": {"counter_m": PLACES, "counter_reset": [{"had_shown_m": 9.0, "set_to_m": 0.0}],
                "inclination": [None, shown(40, "rising"), {"over_range": True, "sense": "rising"}]},
    "observation": {"counter_m": PLACES, "code": ["BAC", "BCE", "BDC", "BAB", "XYZ", None], "clock": [None],
                    "continuous": [None, {"role": "start", "number": 1}, {"role": "finish", "number": 2}]},
    "stretch": {"from_counter_m": PLACES, "to_counter_m": PLACES, "height_mm": [None],
                "shape": [None, "egg", "rectangular"], "size_known": ["unknown", "measured"]},
    "level_tie": {"counter_m": PLACES, "invert_level_m": [None, 9.9, 12.0]},
    "check": {"answer": [None], "run_id": [RUN, "gone"], "taped_length_m": [None]},
    "photo": {"run_id": [RUN, "gone", None], "focus_pct": [None, 0.99, 1.0, 3.0],
              "brightness_pct": [None, 0.0, 7.9, 8.0, 92.0, 92.1], "contrast_pct": [None, 3.0, 12.0],
              "shows_enough": [True, False], "belongs_to": ["break", "start", None]},
    "job": {"longest_gap_m": [0.5, 2.0, 5.0, 20.0]},
}  # fmt: skip
EVERY = [(kind, name, value) for kind, some in CHANGES.items() for name in some for value in some[name]]
CHANGE = st.tuples(st.sampled_from(EVERY), st.integers(0, 20))
OUTSIDE = st.sampled_from([
    {}, {"unsent_entries": None, "unsent_photos": 0, "set_aside": 2},
    {"unsent_entries": 3, "unsent_photos": 2},
    {"conflicts": [{"kind": "run", "id": RUN, "field": "remark"}] * 2}, {"conflicts": None, "set_aside": 0},
])  # fmt: skip


SOME = ("BAB", "BAC", "BBC", "BCD", "BCE", "BDC", "BDG", "BAP")
FEW_CODES = [r for r in TABLES["codes"] if r["code"] in SOME]
LEAN = {**TABLES["leave_site"], "rows": [{k: r[k] for k in ("code", "severity", "sentence")} for r in ROWS]}
SMALL = {**TABLES, "leave_site": LEAN, "codes": FEW_CODES, "safety": TABLES["safety"][:3]}


@parity(
    "review/leave_site",
    st.lists(CHANGE, max_size=8),
    st.sets(st.sampled_from(["reading", "observation", "check", "photo"]), max_size=2),
    OUTSIDE,
    st.booleans(),
    through=[
        "review/leave_item",
        "review/leave_length",
        "review/leave_lengths",
        "review/leave_levels",
        "review/leave_run",
        "review/leave_sight",
    ],
    keep=[SMALL, WORDS],
)
def test_both_sides_name_the_same_items(twin, changes, halved, outside, in_pieces):
    records = sound()
    if in_pieces:
        pieces()(records, outside)
    for (kind, name, value), at in changes:
        records[kind][at % len(records[kind])]["fields"][name] = value
    for kind in halved:
        records[kind] = records[kind][::2]
    reported = agree(twin, "survey/review/leave_site", "open_items", open_items, records, outside, SMALL)
    for one in reported[:3]:
        agree(twin, "survey/review/leave_item", "item_sentence", item_sentence, WORDS, LEAN["rows"], one)


def test_both_sides_name_each_planted_fault(twin):
    for code in FAULTS:
        agree(twin, "survey/review/leave_site", "open_items", open_items, *planted(code), TABLES)
