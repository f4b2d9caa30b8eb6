"""Server and phone limit a capacity alike, say alike what speaks against one, and widen alike a dispute."""

import pytest
from capacity_cases import CLEAN, CRACK, ENDS, EVEN, NARROW, NODES, PIPE, ROUGH, case, records, worked
from hypothesis import strategies as st
from parity import parity
from twins import agree, as_json

from webapp.survey.coding.run_end import closed_stretches
from webapp.survey.errors import SurveyError
from webapp.survey.flow import (
    capacity_band,
    capacity_limits,
    disputed_pipe,
    narrowed_lengths,
    whole_run,
)
from webapp.survey.flow.capacity_limits import limited_capacity
from webapp.survey.levels import reaches
from webapp.survey.section.bore import Bore


@parity(
    "flow/capacity_limits",
    *case,
    each=10,
    keep=[ROUGH, NARROW],
    through=[
        "flow/backwater",
        "flow/bottleneck",
        "flow/capacity_band",
        "flow/grade_line",
        "flow/invert_line",
        "flow/narrowed_lengths",
        "levels/reaches",
        "flow/run_backwater",
        "flow/wall_roughness",
        "flow/waterway",
    ],
)
def test_both_sides_limit_alike(twin, read, seen, lengths, flow, water, end_m):
    run = ENDS | {"direction": flow, "water_carried": water}
    plain, facts, _ = worked(read, seen, lengths, run, end_m=end_m, nodes=NODES)
    profile = None if facts.profile is None else as_json(facts.profile)
    known = {name: getattr(facts, name) for name in facts.__dataclass_fields__} | {"profile": profile}

    def ours(found, _, *rest):
        return limited_capacity(found, facts, *rest)

    agree(twin, "survey/flow/capacity_limits", "limited_capacity", ours, plain, known, ROUGH, NARROW)


@parity(
    "flow/whole_run",
    *case,
    st.booleans(),
    st.sampled_from([None, "node_reached", "obstruction"]),
    each=20,
    keep=[NARROW],
)
def test_both_sides_say_alike_what_speaks_against_a_number_for_the_whole(
    twin, read, seen, lengths, flow, water, end_m, contradicted, reason
):
    observed, laid = records(*seen), closed_stretches(records(*lengths), end_m)
    run = {"end_reason": reason, "counter_zero_m": 0.0 if water else 4.0}
    limits = whole_run.whole_run_limits(run, laid, observed, end_m, NARROW)
    agree(twin, "survey/flow/whole_run", "whole_run_limits", whole_run.whole_run_limits,
          run, laid, observed, end_m, NARROW)  # fmt: skip
    rows = {
        "rows": [{"left_out": None, "capacity": 1}, {"left_out": "bore_blocked", "capacity": None}],
        "bottleneck": None,
    }
    agree(
        twin, "survey/flow/whole_run", "with_whole_run", whole_run.with_whole_run, rows, limits, contradicted
    )
    withheld = whole_run.withheld_bottleneck
    agree(twin, "survey/flow/whole_run", "withheld_bottleneck", withheld, list(range(len(read))))


pipe_conflicts = st.fixed_dictionaries(
    {},
    optional={
        "height_mm": st.just([["a", 300], ["b", 150]]),
        "material": st.just([["a", None], ["b", "pvc_u"]]),
        "shape": st.just([["a", "circular"], ["b", "egg"]]),
    },
)  # fmt: skip


def disputed(read, seen, lengths, run, conflicts, end_m):
    """The capacities as shown, and each row in dispute under its other values."""
    shown = worked(read, seen, lengths, run, end_m=end_m)[2]
    laid = [{"id": f"{k:02d}", "fields": f, "conflicts": conflicts} for k, f in enumerate(lengths)]
    each = {}
    for k, one in enumerate(laid):
        others = [may["fields"] for may in disputed_pipe.pipe_variants(one)[1:]]
        if others:
            each[k] = [
                worked(read, seen, [*lengths[:k], may, *lengths[k + 1 :]], run, end_m=end_m)[2]["rows"][k]
                for may in others
            ]
    return laid, shown, each


@parity("flow/disputed_pipe", *case, pipe_conflicts, st.sampled_from([None, 20.0, 30.0]), each=20, cases=700)
def test_both_sides_widen_alike_what_is_in_dispute(
    twin, read, seen, lengths, flow, water, end_m, mays, least
):
    run = {"direction": flow, "water_carried": water}
    laid, shown, each = disputed(read, seen, lengths, run, mays, end_m)
    for one in laid:
        agree(twin, "survey/flow/disputed_pipe", "pipe_variants", disputed_pipe.pipe_variants, one)
    plain = {name: shown[name] for name in ("rows", "bottleneck")}
    wide = agree(twin, "survey/flow/disputed_pipe", "over_pipes", disputed_pipe.over_pipes, plain, each)
    agree(twin, "survey/flow/disputed_pipe", "settled_rows", disputed_pipe.settled_rows, wide["rows"])
    ends = (
        {"end_counter_m": [["a", end_m], ["b", least]]}
        if least
        else {"direction": [["a", flow], ["b", None]]}
    )
    agree(twin, "survey/flow/disputed_pipe", "settled_run", disputed_pipe.settled_run,
          run | {"end_counter_m": end_m}, ends)  # fmt: skip
    for k, row in enumerate(wide["rows"]):
        flows = [one["capacity"] for one in (shown["rows"][k], *each.get(k, ()))]
        if k in each and row["capacity"]:
            assert row["capacity"]["mean_m3_s"] is None
            assert row["capacity"]["low_m3_s"] <= min(one["low_m3_s"] for one in flows)
            assert row["capacity"]["high_m3_s"] >= max(one["high_m3_s"] for one in flows)
        elif k in each:
            assert row["left_out"]


def test_a_size_in_dispute_spans_both_and_a_shape_without_a_number_gives_none():
    _, shown, each = disputed(EVEN, [CRACK], [PIPE], {"direction": "with_flow"},
                              {"height_mm": [["a", 300], ["b", 150]]}, 40.0)  # fmt: skip
    row = disputed_pipe.over_pipes(shown, each)["rows"][0]
    low, high = row["capacity"]["low_m3_s"], row["capacity"]["high_m3_s"]
    assert low < CLEAN / 5 and high > CLEAN and row["capacity"]["mean_m3_s"] is None
    assert [bore["height_m"] for bore in row["bores"]] == [0.3, 0.15]
    _, shown, each = disputed(EVEN, [CRACK], [PIPE], {"direction": "with_flow"},
                              {"shape": [["a", "circular"], ["b", None]]}, 40.0)  # fmt: skip
    row = disputed_pipe.over_pipes(shown, each)["rows"][0]
    assert (row["capacity"], row["left_out"]) == (None, "pipe_in_dispute")


def test_refusals_of_the_parts_are_named():
    with pytest.raises(SurveyError):
        capacity_band.capacity_band(
            Bore("circular", 0.3), "measured", capacity_band.Carried(2.0, 0.1, None, 0.2, None),
            {"low_mm": 1, "mm": 1, "high_mm": 1},
        )  # fmt: skip
    assert reaches.reaches(None, 0, 1, "with_flow")["gradient"] is None
    assert narrowed_lengths.narrowings([], [], (0, 1), None, {"bore": None}, NARROW) == []
    assert capacity_limits.MIN_M > 0
