"""A backfall or a flat reach takes from the capacity of a stretch; of several stretches the least counts."""

import math

import pytest
from capacity_cases import CRACK, ENDS, EVEN, NARROW, NODES, PIPE, fall, found_reason, records, worked
from scipy import optimize

from webapp.survey.coding.run_end import closed_stretches
from webapp.survey.flow import (
    whole_run,
)
from webapp.survey.flow.open_flow import full_flow
from webapp.survey.flow.resistance import Resistance, friction_slope
from webapp.survey.section.bore import Bore


def test_a_backfall_gives_no_comfortable_number():
    """What stands in the backfall takes headroom; the average over the stretch knows nothing of it."""
    back = fall(*((float(m), -1.0 if 16 <= m < 24 else 1.2) for m in range(0, 41, 2)))
    plain, _, found = worked(read=back)
    row = found["rows"][0]
    assert row["backfall"]["rise_m"] > 0.1 and "backfall_in_it" in row["capacity"]["findings"]
    assert 0 < row["capacity"]["mean_m3_s"] < 0.6 * row["even_m3_s"]
    assert 14 <= row["first_full_m"] <= 18
    assert plain["rows"][0]["capacity"]["mean_m3_s"] > row["capacity"]["mean_m3_s"] * 1.6


def test_a_short_backfall_gets_its_number_back():
    back = fall(*((float(m), -1.2 if 18 <= m < 22 else 0.6) for m in range(0, 41, 2)))
    row = worked(read=back)[2]["rows"][0]
    assert 0.02 < row["backfall"]["rise_m"] < 0.07
    assert row["left_out"] is None
    assert 0.5 * row["even_m3_s"] < row["capacity"]["mean_m3_s"] < row["even_m3_s"]


def test_water_that_stands_to_the_crown_gives_no_number():
    back = fall(*((float(m), -3.0 if 16 <= m < 24 else 2.6) for m in range(0, 41, 2)))
    row = worked(read=back)[2]["rows"][0]
    assert (row["left_out"], row["capacity"]) == ("sag_fills_bore", None)


def test_a_stretch_that_averages_a_backfall_has_no_number():
    back = fall(*((float(m), -0.8 if 6 <= m < 34 else 0.6) for m in range(0, 41, 2)))
    row = worked(read=back)[2]["rows"][0]
    assert row["capacity"]["mean_m3_s"] is None and row["capacity"]["findings"] == ["gradient_adverse"]


def test_a_flat_reach_takes_from_the_average():
    flat_first = fall(*((float(m), 0.15 if m < 20 else 1.05) for m in range(0, 41, 2)))
    row = worked(read=flat_first)[2]["rows"][0]
    flat = full_flow(Bore("circular", 0.3), row["gradient"], Resistance("colebrook_white", 0.0015))
    assert flat["discharge_m3_s"] < row["capacity"]["mean_m3_s"] < 0.85 * row["even_m3_s"]
    assert found_reason(worked(read=flat_first)[2], "even_fall") == pytest.approx(row["even_m3_s"])


def test_under_the_cover_at_the_upper_end_it_passes_more():
    found = worked(run=ENDS, nodes=NODES)[2]
    whole, row = found["whole"], found["rows"][0]
    assert whole["mean_m3_s"] == row["capacity"]["mean_m3_s"]
    assert (whole["surcharge"]["node_id"], whole["surcharge"]["level_m"]) == ("a", 1.8)
    start_m = 0.0  # without a tie the levels are above the start of the run
    drop_m, area = 1.8 - start_m - 0.3 + 40 * math.sin(math.radians(0.6)), math.pi * 0.3**2 / 4
    wall = Resistance("colebrook_white", 0.0015)

    def needed(flow):  # friction all along, half a velocity head at the entrance, a whole one inside the pipe
        return 40 * friction_slope(wall, 0.075, flow / area) + 1.5 * (flow / area) ** 2 / (2 * 9.80665)

    by_hand = optimize.brentq(lambda q: needed(q) - drop_m, 0.01, 1.0)
    assert whole["surcharge"]["discharge_m3_s"] == pytest.approx(by_hand, rel=1e-4)
    assert worked()[2]["whole"]["surcharge"] is None
    upstream = worked(
        run=ENDS | {"direction": "against_flow"},
        nodes=NODES,
        read=fall(*((float(m), -0.6) for m in range(0, 41, 2))),
    )[2]
    assert upstream["whole"]["surcharge"]["node_id"] == "b"


def test_several_stretches_carry_no_more_than_the_least_of_them():
    pipes = PIPE | {"to_counter_m": 20.0}, PIPE | {"from_counter_m": 20.0, "height_mm": 225}
    found = worked(pipes=pipes)[2]
    means = [row["capacity"]["mean_m3_s"] for row in found["rows"]]
    assert found["bottleneck"]["index"] == 1 and found["whole"]["mean_m3_s"] <= min(means)
    assert found["whole"]["mean_m3_s"] > 0.8 * min(means)
    gap = PIPE | {"to_counter_m": 20.0}, PIPE | {"from_counter_m": 24.0}
    assert worked(pipes=gap)[2]["whole"] is None


def test_an_adverse_stretch_between_falling_ones_leaves_the_run_a_number():
    read = fall(*((float(m), -0.8 if 18 <= m < 22 else 0.8) for m in range(0, 41, 2)))
    pipes = (
        PIPE | {"to_counter_m": 18.0},
        PIPE | {"from_counter_m": 18.0, "to_counter_m": 22.0},
        PIPE | {"from_counter_m": 22.0},
    )
    found = worked(read=read, pipes=pipes)[2]
    assert found["rows"][1]["capacity"]["findings"] == ["gradient_adverse"]
    assert found["bottleneck"]["no_number"] == [1]
    least = min(found["rows"][k]["capacity"]["mean_m3_s"] for k in (0, 2))
    assert 0.3 * least < found["whole"]["mean_m3_s"] <= least


def test_a_fall_that_is_only_bounded_gives_no_number():
    over = [
        *EVEN[:10],
        {"counter_m": 20.0, "inclination": {"over_range": True, "sense": "falling"}},
        *EVEN[11:],
    ]
    assert worked(read=over)[2]["rows"][0]["left_out"] == "fall_only_bounded"


def test_a_stretch_is_not_the_whole_run():
    def limits(*seen, pipes=(PIPE,), **run):
        end_m = 40.0
        laid = closed_stretches(records(*pipes), end_m)
        return whole_run.whole_run_limits(run, laid, records(*seen), end_m, NARROW)

    roots = {"code": "BBA", "characterisation_1": "C", "quantification_1": 30}
    assert limits(CRACK, roots | {"counter_m": 30.0}) == []
    assert limits(roots) == ["narrowing_without_place"]
    assert limits(roots | {"counter_m": 55.0}) == ["narrowing_outside_pipes"]
    assert limits(CRACK, pipes=[PIPE | {"to_counter_m": 20.0}]) == ["pipe_not_throughout"]
    assert limits(CRACK, end_reason="obstruction") == ["ended_at_obstruction"]
    assert limits(roots | {"counter_m": 39.6}, end_reason="obstruction") == []
