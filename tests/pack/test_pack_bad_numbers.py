"""Numbers that cannot be, or contradict each other: a report with a named finding, never a traceback."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pack_jobs import Maker
from test_pack_hostile import run_with, sound

from webapp import tables
from webapp.assembly.job import assemble
from webapp.errors import AppError
from webapp.pack.figure_tables import sections
from webapp.records import job_file
from webapp.records.json_text import loads

WORDS = tables.messages()

DOWN = [(float(m), -1.0) for m in range(0, 21, 2)]
PIPE = {
    "from_counter_m": 0,
    "to_counter_m": 20,
    "shape": "circular",
    "height_mm": 300,
    "material": "concrete",
}


def findings(maker):
    (run,) = assemble(maker.job_file()).runs
    return run, " ".join(words for _, words in run.findings)


def flat(maker):
    return " ".join(sound(maker.job_file())[0].split())


def test_no_readings_but_ties_and_stretches():
    maker = Maker()
    run_id = run_with(maker, direction="with_flow", end_counter_m=20)
    maker.add("level_tie", run_id=run_id, counter_m=0, invert_level_m=10.0)
    maker.add("stretch", run_id=run_id, **PIPE)
    run, _ = findings(maker)
    assert run.figures.levels == () and run.figures.rise is None
    assert run.figures.capacities[0].known == "unknown" and run.figures.bottleneck.index is None
    text = flat(maker)
    assert "too few readings" in text and "no number" in text and "no bottleneck is named" in text


def test_one_reading_says_what_is_assumed():
    maker = Maker()
    run_with(maker, (3, -1), end_counter_m=10)
    run, _ = findings(maker)
    assert {v.known for v in run.figures.levels} == {"assumed"}
    assert "assumed" in flat(maker)


def test_two_readings_at_one_chainage_are_a_step_of_no_length():
    maker = Maker()
    run_with(maker, (0, -1), (5, -1), (5, -2), (10, -2))
    run, words = findings(maker)
    assert "There is another reading at 5 m" in words
    assert all(row.to_m > row.from_m for row in run.figures.lengths)
    assert run.figures.rise.value_m == pytest.approx(
        -5 * math.sin(math.radians(1)) - 5 * math.sin(math.radians(2)), abs=0.02
    )
    flat(maker)


def test_a_tie_before_the_start_takes_no_part_and_is_named():
    maker = Maker()
    run_id = run_with(maker, *[(m + 2, d) for m, d in DOWN], counter_zero_m=2)
    maker.add("level_tie", run_id=run_id, counter_m=0.5, invert_level_m=12.0)
    run, words = findings(maker)
    assert (
        "The level tie at counter 0.50 m takes no part in the levels. It lies before chainage zero." in words
    )
    assert not run.figures.absolute
    assert "Takes no part." in flat(maker)


def test_ties_that_contradict_each_other_by_metres_name_the_most_suspicious():
    maker = Maker()
    run_id = run_with(maker, *DOWN)
    for counter_m, level_m in ((0, 10.0), (10, 12.8), (20, 9.65)):
        maker.add("level_tie", run_id=run_id, counter_m=counter_m, invert_level_m=level_m, sd_m=0.01)
    run, words = findings(maker)
    assert "Most suspicious: the level tie at 10.00 m." in words
    assert [t.suspect for t in run.figures.ties] == [False, True, False]
    text = flat(maker)
    assert "It does not fit." in text and "something in them looks like a slip" in text
    assert "Run R1: levels and readings contradict each other. Most suspicious: the level tie" in text


def test_ties_further_apart_than_the_pipe_is_long():
    maker = Maker()
    run_id = run_with(maker, (0, -1), (1, -1))
    for counter_m, level_m in ((0, 10.0), (1, 5.0)):
        maker.add("level_tie", run_id=run_id, counter_m=counter_m, invert_level_m=level_m, sd_m=0.001)
    run, words = findings(maker)
    assert run.figures.lengths[0].known == "contradicted"
    assert "further apart than the pipe between them is long" in words
    assert "contradicted by the level ties" in flat(maker)


def test_ties_that_a_reading_beyond_the_range_does_not_fit():
    maker = Maker()
    run_id = run_with(maker, (0, -1), (10, "-"), (20, -1))
    for counter_m, level_m in ((0, 10.0), (20, 9.7)):
        maker.add("level_tie", run_id=run_id, counter_m=counter_m, invert_level_m=level_m, sd_m=0.01)
    _, words = findings(maker)
    assert "The ties do not fit the length beyond the range at 10.00 m" in words
    flat(maker)


def test_two_exact_ties_at_one_place_that_differ():
    maker = Maker()
    run_id = run_with(maker, *DOWN)
    for level_m in (10.0, 11.0):
        maker.add("level_tie", run_id=run_id, counter_m=4, invert_level_m=level_m, sd_m=0)
    run, words = findings(maker)
    assert run.figures.levels or "cannot be computed" in words
    assert run.figures.blunders or "cannot be computed" in words
    flat(maker)


@pytest.mark.parametrize(
    ("observation", "change", "says"),
    [
        ({"code": "BBC", "quantification_1": 100}, {}, "Something fills the bore."),
        ({"code": "BAA", "quantification_1": 99}, {}, ""),
        ({}, {"height_mm": None}, "The size is not recorded."),
        ({}, {"shape": None}, "The shape is not recorded."),
        ({}, {"shape": "arch"}, "The width is not recorded."),
        ({}, {"to_counter_m": None, "from_counter_m": 400}, "The stretch has no end yet"),
        (
            {},
            {"shape": "egg", "height_mm": 200, "width_mm": 900},
            "An egg-shaped pipe is higher than it is wide.",
        ),
        ({}, {"roughness_mm": 100}, "rough"),
    ],
)
def test_a_bore_that_cannot_be_computed_with(observation, change, says):
    maker = Maker()
    run_id = run_with(maker, *DOWN, direction="with_flow")
    maker.add("stretch", run_id=run_id, **{k: v for k, v in (PIPE | change).items() if v is not None})
    if observation:
        maker.add("observation", run_id=run_id, counter_m=9, **observation)
    assert says in flat(maker)


def test_a_diameter_of_zero_is_set_aside_before_it_is_computed_with():
    maker = Maker()
    run_id = run_with(maker, *DOWN)
    maker.add("stretch", run_id=run_id, **(PIPE | {"height_mm": 0}))
    _, manifest, _ = sound(maker.job_file())
    assert (
        len(manifest["set_aside"]) == 1 and "between 10 and 20000" in manifest["set_aside"][0]["reasons"][0]
    )


def test_an_adverse_gradient_has_no_capacity_and_says_why():
    maker = Maker()
    run_id = run_with(maker, *DOWN, direction="against_flow")
    maker.add("stretch", run_id=run_id, **PIPE)
    run, _ = findings(maker)
    assert run.figures.capacities[0].mean_m3_s is None and run.figures.backfalls
    text = flat(maker)
    assert "It rises with the flow." in text and "Backfall from" in text


def test_no_direction_recorded_is_taken_from_the_fall_and_said_to_be_assumed():
    maker = Maker()
    run_id = run_with(maker, *DOWN)
    maker.add("stretch", run_id=run_id, **PIPE)
    text = flat(maker)
    assert "The water runs in the direction of survey (assumed)." in text


def test_a_counter_far_off_the_length_expected_is_told_and_nothing_is_corrected():
    maker = Maker()
    run_with(maker, *DOWN, end_counter_m=20, expected_length_m=22, end_reason="node_reached")
    run, words = findings(maker)
    assert "differs from the length expected by −2.00 m" in words and "it is not applied" in words
    assert run.surveyed_m == 20


def test_a_position_of_the_far_node_kilometres_away_is_suspect():
    maker = Maker()
    ends = [maker.add("node", node_ref=n, position={"lat_deg": 50 + d, "lon_deg": -30, "accuracy_m": 5})
            for n, d in (("A", 0), ("B", 0.02))]  # fmt: skip
    run_with(maker, *DOWN, start_node_id=ends[0], finish_node_id=ends[1], end_reason="node_reached",
             end_counter_m=20, start_bearing={"bearing_deg": 90, "north": "true"})  # fmt: skip
    _, words = findings(maker)
    assert "check bends, bearing and both positions" in words
    flat(maker)


def test_nan_cannot_come_in():
    maker = Maker()
    run_with(maker, (0, -1), (5, -1))
    text = job_file.dumps(maker.job_file()).decode()
    for bad in ("NaN", "Infinity", "1e999"):
        with pytest.raises((AppError, ValueError)):
            assemble(loads(text.replace('"counter_m":5', f'"counter_m":{bad}').encode()))


counters = st.sampled_from([0, 0.5, 2, 2, 5, 11, 40, 4999])
slopes = st.sampled_from([-90, -10, -1, -0.01, 0, 0.3, 8, 45, 90, "+", "-"])
levels = st.sampled_from([-500, 0, 9.9, 10, 10.2, 9000])


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(counters, slopes), max_size=7),
    st.lists(st.tuples(counters, levels, st.sampled_from([None, 0, 0.01, 10])), max_size=4),
    st.lists(st.tuples(st.sampled_from([10, 150, 20000]), st.sampled_from(["circular", "egg", "oval"]),
                       st.sampled_from([None, 0.1, 2])), max_size=2),
    st.lists(st.tuples(counters, st.sampled_from(["BCC", "BBC", "BAA", "BDD"]),
                       st.sampled_from([None, 0, 50, 100, 400])), max_size=4),
    st.sampled_from(["with_flow", "against_flow", "unknown"]),
    st.sampled_from([None, 0, 40, 5000]),
)  # fmt: skip
def test_whatever_is_recorded_every_figure_is_a_number_or_a_word(read, ties, pipes, seen, direction, end_m):
    maker = Maker()
    node = maker.add("node", node_ref="A", position={"lat_deg": 89.9, "lon_deg": 179.9999, "accuracy_m": 3})
    more = (
        {}
        if end_m is None
        else {"end_counter_m": end_m, "expected_length_m": 40, "end_reason": "node_reached"}
    )
    run_id = run_with(maker, *read, direction=direction, start_node_id=node,
                      start_bearing={"bearing_deg": 359.9, "north": "true"}, **more)  # fmt: skip
    for counter_m, level_m, sd_m in ties:
        sd = {} if sd_m is None else {"sd_m": sd_m}
        maker.add("level_tie", run_id=run_id, counter_m=counter_m, invert_level_m=level_m, **sd)
    for height, shape, unit in pipes:
        single = {} if unit is None else {"pipe_unit_length_m": unit}
        maker.add(
            "stretch",
            run_id=run_id,
            from_counter_m=0,
            to_counter_m=40,
            height_mm=height,
            shape=shape,
            **single,
        )
    for counter_m, code, size in seen:
        sized = {} if size is None else {"quantification_1": size}
        maker.add(
            "observation", run_id=run_id, counter_m=counter_m, code=code, characterisation_1="A", **sized
        )
    contents = assemble(maker.job_file())
    from webapp.commands.run.figures import figure_lines, figures_value
    from webapp.pack import report_pdf
    from webapp.pack.write import EXPORTS

    json.dumps(figures_value(contents), allow_nan=False)
    text = "\n".join(figure_lines(contents))
    assert "nan" not in text.split() and "None" not in text.split()
    for export in EXPORTS:
        if export is not report_pdf:
            export.render(contents)
    (run,) = contents.runs
    assert all(len(row) == len(s.header) for s in sections(WORDS, run) for row in s.rows)
    for figure, _ in run.figures.trouble:
        assert figure in {key.rpartition(".")[2] for key in WORDS if key.startswith("pack.finding.refused.")}
