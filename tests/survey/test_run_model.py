"""From records to the model of a run: by hand, and the same on both sides."""

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import agree, as_json

from webapp.survey.instruments.instruments import ASSUMED, instruments_of
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model


def records(*fields):
    return [{"id": f"{i:02}", "fields": f} for i, f in enumerate(fields)]


def deg(size, sense="falling"):
    return {"size": size, "unit": "deg", "sense": sense}


def model(run, readings, ties=(), stretches=(), nodes=(), checks=()):
    instruments = instruments_of(records(*checks), "run")
    return run_model(run, records(*readings), records(*ties), records(*stretches), list(nodes), instruments)


def test_without_a_check_everything_is_assumed_and_said_to_be():
    instruments = instruments_of([], "run")
    assert (
        instruments.scale_known,
        instruments.limit_known,
        instruments.sd_known,
        instruments.zero_known,
    ) == ("assumed",) * 4
    assert (instruments.limit_deg, instruments.sd_deg) == (ASSUMED["limit_deg"], ASSUMED["sd_deg"])


def test_a_run_s_own_check_comes_before_the_job_s():
    checks = records(
        {"check_type": "inclinometer_limit", "limit_deg": 12, "sd_deg": 0.1},
        {"check_type": "inclinometer_limit", "limit_deg": 15, "run_id": "run"},
        {"check_type": "inclinometer_limit", "limit_deg": 20},
    )
    instruments = instruments_of(checks, "run")
    assert (instruments.limit_deg, instruments.limit_known, instruments.sd_known) == (
        15,
        "measured",
        "assumed",
    )
    assert instruments_of(checks, "other").limit_deg == 20


def test_two_tape_checks_are_taken_together_by_hand():
    """Equal spreads: sum of 20 x 20.1 and 10 x 10.0 over sum of 400 and 100 is 502 / 500."""
    tape = {"check_type": "counter_tape", "taped_length_sd_m": 0.01, "counter_from_m": 0}
    checks = records(
        tape | {"counter_to_m": 20, "taped_length_m": 20.1}, tape | {"counter_to_m": 10, "taped_length_m": 10}
    )
    assert instruments_of(checks, "run").scale == pytest.approx(502 / 500)


def test_half_a_check_is_no_check():
    half = {"check_type": "counter_tape", "counter_from_m": 0, "taped_length_m": 20}
    assert instruments_of(records(half), "run").scale_known == "assumed"


def test_turning_the_crawler_round_gives_the_zero():
    check = {
        "check_type": "inclinometer_reversed",
        "reading_forward": deg(1.3, "rising"),
        "reading_reversed": deg(0.9),
    }
    instruments = instruments_of(records(check), "run")
    assert instruments.zero_deg == pytest.approx(0.2)
    assert instruments.zero_known == "computed"


def test_chainages_come_from_the_counter_its_zero_and_its_scale():
    tape = {"check_type": "counter_tape", "counter_from_m": 0, "counter_to_m": 10, "taped_length_m": 10.2}
    found = model({"counter_zero_m": 1.0}, [{"counter_m": 11.0, "inclination": deg(1)}], checks=[tape])
    assert found.readings[0].chainage_m == pytest.approx(10.2)


def test_what_cannot_take_part_is_named():
    found = model(
        {"counter_zero_m": 2.0},
        [
            {"counter_m": 1.0, "inclination": deg(1)},
            {"counter_m": 5.0},
            {"counter_m": 4.0, "inclination": deg(1)},
        ],
        ties=[{"counter_m": 3.0}],
    )
    assert [(one["id"], one["code"]) for one in found.left_out] == [
        ("00", "before_zero"),
        ("01", "reading_incomplete"),
        ("00", "tie_incomplete"),
    ]
    assert found.reading_ids == ["02"]


def test_joints_lie_where_the_length_of_the_single_pipes_puts_them():
    stretch = {"from_counter_m": 1, "to_counter_m": 11, "pipe_unit_length_m": 2}
    unknown = {"from_counter_m": 11, "to_counter_m": 20}
    readings = [{"counter_m": m, "inclination": deg(1)} for m in (2.0, 5.5, 6.0, 10.9)]
    found = model({"counter_zero_m": 1}, readings, stretches=[stretch, unknown, {"from_counter_m": 20}])
    assert [(p.from_m, p.to_m, p.unit_m) for p in found.setup.pipes] == [(0, 10, 2), (10, 19, None)]
    stations = level_profile(found.readings, found.ties, found.setup).stations
    assert [s.chainage_m for s in stations] == [0, 2, 4, 6, 8, 10]


def test_cover_level_less_dip_is_a_tie_at_each_end():
    nodes = [
        {
            "id": "a",
            "fields": {
                "cover_level_m": 12.0,
                "dipped_depth_m": 1.5,
                "cover_level_sd_m": 0.003,
                "dipped_depth_sd_m": 0.004,
            },
        },
        {"id": "b", "fields": {"cover_level_m": 11.0, "dipped_depth_m": 1.0}},
    ]
    run = {"start_node_id": "a", "finish_node_id": "b", "end_reason": "node_reached", "end_counter_m": 30.0}
    found = model(run, [{"counter_m": 0.0, "inclination": deg(1)}], nodes=nodes)
    assert [(t.chainage_m, t.level_m) for t in found.ties] == [(0.0, 10.5), (30.0, 10.0)]
    assert found.ties[0].sd_m == pytest.approx(0.005)
    assert found.tie_known == ["measured", "assumed"]
    assert found.setup.start_level_m is None
    levelled = model(run, [{"counter_m": 0.0, "inclination": deg(1)}], nodes=nodes,
                     ties=[{"counter_m": 0.2, "invert_level_m": 10.48, "sd_m": 0.002}])  # fmt: skip
    assert levelled.tie_ids == ["00", "b"]


metres = st.sampled_from([0, 0.5, 1.0, 2.25, 4.0, 7.5, 20.0, 33.3])
inclinations = st.one_of(
    st.builds(
        lambda s, d: deg(s, d), st.sampled_from([0, 0.4, 1.2, 5]), st.sampled_from(["rising", "falling"])
    ),
    st.just({"over_range": True, "sense": "rising"}),
    st.just({"over_range": True, "sense": "falling"}),
)


def optional(**fields):
    return st.fixed_dictionaries({}, optional=fields)


readings = st.lists(optional(counter_m=metres, inclination=inclinations), max_size=8)
ties = st.lists(
    optional(counter_m=metres, invert_level_m=st.floats(5, 6), sd_m=st.sampled_from([None, 0.02])), max_size=3
)
stretches = st.lists(
    optional(
        from_counter_m=metres, to_counter_m=metres, pipe_unit_length_m=st.sampled_from([0.5, 1, 2.5, None])
    ),
    max_size=3,
)
nodes = st.lists(
    optional(cover_level_m=st.floats(8, 9), dipped_depth_m=st.floats(1, 2), cover_level_sd_m=st.just(0.02)),
    max_size=3,
)
runs = optional(
    counter_zero_m=st.sampled_from([0, 0.5, None]),
    end_counter_m=metres,
    start_node_id=st.just("00"),
    finish_node_id=st.sampled_from(["00", "01"]),
    end_reason=st.sampled_from(["node_reached", "water"]),
)
checks = st.lists(
    optional(
        check_type=st.sampled_from(
            ["counter_tape", "inclinometer_limit", "inclinometer_reversed", "cable_length"]
        ),
        run_id=st.sampled_from(["run", "other", None]),
        limit_deg=st.just(15),
        sd_deg=st.sampled_from([0.1, None]),
        counter_from_m=st.just(0),
        counter_to_m=st.sampled_from([0, 20]),
        taped_length_m=st.sampled_from([20.1, 19]),
        taped_length_sd_m=st.sampled_from([0, 0.01]),
        reading_forward=inclinations,
        reading_reversed=inclinations,
        cable_length_m=st.just(120),
    ),
    max_size=4,
)


@parity(
    "instruments/instruments", "levels/run_model", runs, readings, ties, stretches, nodes, checks, each=10
)
def test_both_sides_make_the_same_model(twin, run, read, tied, pipes, ends, checked):
    instruments = agree(
        twin,
        "survey/instruments/instruments",
        "instruments_of",
        lambda *a: as_json(instruments_of(*a)),
        records(*checked),
        "run",
    )
    held = instruments_of(records(*checked), "run")

    def ours(*args):
        return as_json(run_model(*args[:-1], held))

    args = (run, records(*read), records(*tied), records(*pipes), records(*ends), instruments)
    agree(twin, "survey/levels/run_model", "run_model", ours, *args)
