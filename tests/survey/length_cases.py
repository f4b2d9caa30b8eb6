"""Runs of one length as the records hold them, two or three of them."""

import json
from pathlib import Path

from grading_cases import observations, stretches
from hypothesis import strategies as st

from webapp.survey.lengths import length_of_runs

TABLES = Path(__file__).resolve().parents[2] / "webapp" / "tables"
SIGHT = json.loads((TABLES / "visibility.json").read_text(encoding="utf-8"))
COUNTED = ["BAB", "BBA", "BBC", "BAC"]
lengths = st.integers(0, 60).map(lambda n: n / 2)
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
