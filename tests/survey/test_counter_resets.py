"""A counter that was reset part-way: every record of the run lies where it would if it had run on."""

import pytest
from hypothesis import strategies as st
from parity import parity
from run_made import figures_of
from twins import agree, found_by_name

from webapp.figures.run_records import RunRecords
from webapp.records.fold import Record
from webapp.records.unrolled import running_records
from webapp.survey.instruments.counter_resets import (
    CounterPart,
    as_if_never_reset,
    counter_parts,
    part_findings,
    part_of,
    shown_at,
    shown_m,
)
from webapp.survey.review.plausibility import FindingFacts, run_findings

FALLING = {"size": 1, "unit": "pct", "sense": "falling"}
FLATTER = {"size": 0.5, "unit": "pct", "sense": "falling"}
RESET = {"had_shown_m": 12.5, "set_to_m": 0.3}
RUN = {"counter_zero_m": 0.5, "end_counter_m": 20.3, "end_reason": "obstruction"}


def item(identity, **fields):
    return {"id": identity, "fields": fields}


def survey(**second):
    """Ten readings a metre apart in each part; the counter went from 12.5 to 0.3 m where it stood."""
    first = [item(f"a{k:02}", counter_m=0.5 + k, inclination=FALLING) for k in range(13)]
    after = [item(f"b{k:02}", counter_m=0.3 + k, inclination=FLATTER) for k in range(1, 21)]
    after[0]["fields"]["counter_reset"] = {**RESET, **second}
    return [*first, *after]


def same_run_on():
    """The same run with a counter that nobody reset."""
    return [
        item(r["id"], counter_m=r["fields"]["counter_m"] + (12.2 if r["id"] > "b" else 0), **{
            "inclination": r["fields"]["inclination"]})
        for r in survey()
    ]  # fmt: skip


def test_the_figures_are_those_of_a_counter_that_ran_on():
    tie, stretch = item("b99", counter_m=20.3, invert_level_m=9.0), {"height_mm": 150}
    whole = {**RUN, "end_counter_m": 32.5}
    run, found, parts = as_if_never_reset(
        RUN,
        {
            "reading": survey(),
            "level_tie": [tie],
            "stretch": [item("a50", from_counter_m=0.5, to_counter_m=20.3, **stretch)],
            "observation": [
                item("a11x", counter_m=11.0, code="BAB"),
                item("b10x", counter_m=10.3, code="BAB"),
            ],
        },
    )
    assert [p.start_m for p in parts] == [0.0, 12.5]
    ours = figures_of("r", run, {}, RunRecords(
        readings=found["reading"], level_ties=found["level_tie"], stretches=found["stretch"],
        observations=found["observation"]))  # fmt: skip
    theirs = figures_of("r", whole, {}, RunRecords(
        readings=same_run_on(), level_ties=[item("b99", counter_m=32.5, invert_level_m=9.0)],
        stretches=[item("a50", from_counter_m=0.5, to_counter_m=32.5, **stretch)]))  # fmt: skip
    assert len(ours.profile.stations) == len(theirs.profile.stations)
    for a, b in zip(ours.profile.stations, theirs.profile.stations, strict=True):
        assert abs(a.chainage_m - b.chainage_m) < 1e-9
        assert abs(a.level_m - b.level_m) < 1e-9 and abs(a.sd_m - b.sd_m) < 1e-9
    assert abs(ours.extent["surveyed_m"] - 32.0) < 1e-9
    assert ours.capacity["rows"][0]["to_m"] == theirs.capacity["rows"][0]["to_m"]
    assert [round(o["fields"]["counter_m"], 9) for o in found["observation"]] == [11.0, 22.5]
    assert [shown_m(o["fields"], "counter_m") for o in found["observation"]] == [11.0, 10.3]
    assert shown_m(run, "end_counter_m") == 20.3 and RUN["end_counter_m"] == 20.3


def facts(readings, cable_m=None):
    return FindingFacts({}, readings, [], [], cable_m, 90.0)


def test_without_the_reset_told_the_reading_is_asked_about():
    readings = survey()
    del readings[13]["fields"]["counter_reset"]
    found = [f for f in run_findings(facts(readings), []) if f["code"] == "reading_out_of_order"]
    assert [(f["record_id"], f["values"]["before_m"]) for f in found] == [("b01", 12.5)]
    reported = as_if_never_reset({}, {"reading": survey()})[1]["reading"]
    assert run_findings(facts(reported), []) == []


def test_findings_say_what_the_counter_showed():
    readings = [*survey(), item("c", counter_m=1.0, inclination=FALLING)]
    reported = as_if_never_reset({}, {"reading": readings})[1]["reading"]
    found = run_findings(facts(reported, 30.0), [])
    assert found[0]["values"] == {"counter_m": 1.0, "before_m": 20.3}
    assert {f["values"]["counter_m"] for f in found[1:]} == {30.5, 31.5, 32.5}  # of cable, over all


def test_what_the_record_says_outranks_the_order_of_recording():
    parts = counter_parts(survey())
    assert [part_of(parts, "a01", None), part_of(parts, "b01", None), part_of(parts, "b05", None)] == [
        0,
        1,
        1,
    ]
    assert [part_of(parts, "z", 1), part_of(parts, "a01", 2), part_of(parts, "a01", 9)] == [0, 1, 1]
    assert part_of(parts, "b01", 1) == 1  # the reading that tells of the reset lies behind it


def test_a_stretch_ends_in_the_first_part_that_holds_its_end():
    def ends(**fields):
        found = as_if_never_reset({}, {"reading": survey(), "stretch": [item("a50", **fields)]})[1]
        fields = found["stretch"][0]["fields"]
        return round(fields["from_counter_m"], 9), round(fields["to_counter_m"], 9)

    assert ends(from_counter_m=0.5, to_counter_m=8.0) == (0.5, 8.0)
    assert ends(from_counter_m=9.0, to_counter_m=8.0) == (9.0, 20.2)
    assert ends(from_counter_m=0.5, to_counter_m=13.0) == (0.5, 25.2)
    assert ends(from_counter_m=0.5, to_counter_m=8.0, to_part=2) == (0.5, 20.2)
    assert ends(from_counter_m=0.5, to_counter_m=8.0, from_part=2) == (12.7, 20.2)


def test_what_a_counter_showed_at_a_place_leads_back_to_that_place():
    parts = counter_parts(survey())
    assert [shown_at(parts, m)[1] for m in (0.0, parts[1].start_m, parts[1].start_m + 0.1)] == [1, 1, 2]
    for running_m in (0.5, 9.0, 14.5, 25.2):
        shown, part = shown_at(parts, running_m)
        back = as_if_never_reset({}, {"reading": survey(), "level_tie": [
            item("z", counter_m=shown, counter_part=part)]})[1]["level_tie"][0]  # fmt: skip
        assert back["fields"]["counter_m"] == pytest.approx(running_m)


def test_ties_and_stretches_that_do_not_say_their_part_are_told():
    parts = counter_parts(survey())
    ties = [
        item("a00x", counter_m=0.5),
        item("z1", counter_m=0.5),
        item("z2", counter_m=0.5, counter_part=1),
        item("z3"),
    ]
    before = item("a00y", from_counter_m=1.0, to_counter_m=5.0)
    found = part_findings(parts, ties, [item("z4", from_counter_m=1.0, to_counter_m=5.0, to_part=2), before])
    assert [(f["record_id"], f["field"], f["values"]["part"]) for f in found] == [
        ("z1", "counter_part", 2), ("z4", "from_part", 2), ("a00y", "to_part", 1)]  # fmt: skip


def test_records_of_other_runs_and_removed_ones_are_left_as_they_are():
    records = [
        Record("r", "run", RUN),
        Record("s", "run", RUN),
        Record("x", "reading", {"run_id": "s", "counter_m": 1}),
    ]
    records += [Record(r["id"], "reading", {**r["fields"], "run_id": "r"}) for r in survey()]
    gone = Record("b00", "reading", {"run_id": "r", "counter_m": 2.0, "counter_reset": RESET}, removed=True)
    photo = Record("c", "photo", {"run_id": "r", "counter_m": 1.3})
    found = {r.id: r.fields for r in running_records([*records, gone, photo])}
    assert found["s"] == RUN and found["x"]["counter_m"] == 1 and found["b00"]["counter_m"] == 2.0
    assert round(found["r"]["end_counter_m"], 9) == 32.5 and round(found["c"]["counter_m"], 9) == 13.5
    assert records[-1].fields["counter_m"] == 20.3


resets = st.fixed_dictionaries({"had_shown_m": st.floats(0, 60), "set_to_m": st.floats(0, 60)})
places = st.one_of(st.none(), st.floats(0, 80))
stated = st.one_of(st.none(), st.integers(1, 4))


@parity(
    "instruments/counter_resets",
    "review/plausibility",
    st.lists(st.tuples(places, st.one_of(st.none(), resets)), max_size=6),
    st.lists(st.tuples(places, places, stated, stated), max_size=4),
    places,
)
def test_both_sides_agree(twin, shown, rows, end_m):
    readings = [item(f"{k:02}", counter_m=m, counter_reset=reset) for k, (m, reset) in enumerate(shown)]
    ties = [item(f"{2 * k:02}x", counter_m=a, counter_part=p) for k, (a, _, p, _) in enumerate(rows)]
    keys = ("from_counter_m", "to_counter_m", "from_part", "to_part")
    stretches = [item(f"{2 * k:02}y", **dict(zip(keys, row, strict=True))) for k, row in enumerate(rows)]
    kinds = {"reading": readings, "level_tie": ties, "stretch": stretches}

    def ours(*args):
        run, found, parts = as_if_never_reset(*args)
        return [run, found, [vars(p) for p in parts]]

    def findings(plain_parts, *args):
        return part_findings([CounterPart(**p) for p in plain_parts], *args)

    agree(
        twin, "survey/instruments/counter_resets", "as_if_never_reset", ours, {"end_counter_m": end_m}, kinds
    )
    parts = [vars(p) for p in counter_parts(readings)]
    agree(twin, "survey/instruments/counter_resets", "part_findings", findings, parts, ties, stretches)
    if end_m is not None:

        def shown(plain_parts, running_m):
            return list(shown_at([CounterPart(**p) for p in plain_parts], running_m))

        agree(twin, "survey/instruments/counter_resets", "shown_at", shown, parts, end_m)
    through, run = as_if_never_reset({}, kinds)[1]["reading"], {"end_counter_m": end_m}
    plain = {
        "run": run, "readings": through, "observations": [], "others": [], "cable_length_m": 50.0,
        "limit_deg": 10.0,
    }  # fmt: skip
    found_by_name(twin, plain, [])
