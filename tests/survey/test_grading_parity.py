"""Condition classes, actions and their words: generated runs and narrowings through both sides."""

from grading_cases import ACTIONS, CODES, HAZARDS, SCHEME, grade, levels, runs
from hypothesis import strategies as st
from parity import parity
from twins import agree, far

from webapp import tables
from webapp.survey.coding import continuous
from webapp.survey.flow import narrowing
from webapp.survey.grading import (
    actions,
    class_limits,
    grading,
    hazards,
    immediate,
    prohibitions,
)
from webapp.survey.grading import points as grading_points
from webapp.survey.wording import condition, next_steps, quantities

WORDS = tables.messages()

CASES = "../../tests/js/grading_cases"
FORMS = st.sampled_from([*narrowing.FORMS, "other"])
BORES = st.sampled_from(
    [
        None,
        {"kind": "circular", "height_m": 0.15, "width_m": None},
        {"kind": "circular", "height_m": 0.9, "width_m": None},
        {"kind": "egg", "height_m": 0.6, "width_m": 0.4},
        {"kind": "rectangular", "height_m": 0.5, "width_m": 0.8},
    ]
)

chosen = st.fixed_dictionaries(
    {},
    optional={
        "clean": st.sampled_from(["short_term", "no_term"]),
        "renew": st.just("at_once"),
        "no_action": st.just(True),
        "why": st.just("Roots come back."),
    },
)


@parity(
    "grading/class_limits",
    "flow/narrowing",
    FORMS,
    st.one_of(st.floats(-1, 130), st.integers(0, 1000)),
    BORES,
    st.sampled_from([None, "circular", "egg", "rectangular", "arch"]),
    st.sampled_from([None, -0.2, 0.00001, 0.0001, 0.01, 1.0, 2.0]),
    st.sampled_from([0.03, 1.5, 15.0]),
)
def test_what_is_left_and_its_class_agree(twin, form, size, bore, kind, gradient, roughness):
    for limits in (SCHEME["capacity_left_pct"], {"1": 0, "2": 0.5, "5": 80}):
        agree(
            twin, "survey/grading/class_limits", "class_by_limits", class_limits.class_by_limits, size, limits
        )
        agree(
            twin, "survey/grading/class_limits", "class_by_share", class_limits.class_by_share, size, limits
        )
    agree(twin, "survey/flow/narrowing", "capacity_left", narrowing.capacity_left,
          form, size, bore, kind, gradient, roughness)  # fmt: skip


def with_tables(twin):
    """The other side with the tables in hand: they are too large to send with each case."""
    twin.call(
        CASES,
        "use_tables",
        {"scheme": SCHEME, "codes": CODES, "actions": ACTIONS, "hazards": HAZARDS, "words": WORDS},
    )


def alike(ours, theirs):
    assert far(ours, theirs, 1.0) <= 1e-9, (ours, theirs)


@parity(
    "grading/actions",
    "grading/grading",
    "grading/points",
    "wording/condition",
    "wording/next_steps",
    "grading/immediate",
    "grading/graded_pieces",
    "grading/run_grading",
    "coding/disputes",
    "grading/prohibitions",
    runs(),
    levels,
    chosen,
    st.integers(0, 5),
    st.integers(0, 5),
    by=CASES,
    first=with_tables,
    each=4,
    cases=400,
)
def test_the_condition_of_a_run_agrees(cases, case, about, steps, one, other):
    whole_run_agrees(cases, case, about)
    parts_agree(cases, case, steps, min(one, other), max(one, other))


def whole_run_agrees(cases, case, about):
    items = continuous.continuous_items(case["observations"], case["end_counter_m"])["items"]
    found = grade(
        case["run"],
        case["stretches"],
        case["observations"],
        items,
        case["carried"],
        case["end_counter_m"],
        case["scale"],
    )
    suggested = actions.suggested_actions(found, about, ACTIONS, case["scale"])
    end_m = case["end_counter_m"]
    dangers = hazards.hazards(case["observations"], items, end_m, HAZARDS)
    plan = prohibitions.with_prohibitions(suggested, dangers, HAZARDS, ACTIONS, 0.5, case["scale"])
    ours = {
        "found": found,
        "suggested": suggested,
        "plan": plan,
        "forbidden": [next_steps.forbidden_words(WORDS, one["forbidden"], ACTIONS) for one in plan],
        "object": condition.object_words(WORDS, found["run"], SCHEME),
        "steps": [
            [condition.step_words(WORDS, one, goal, SCHEME) for goal in grading.GOALS]
            for one in found["graded"]
        ],
        "said": [
            [
                next_steps.action_words(WORDS, act["action"], act["urgency"], ACTIONS, act["urgency_most"]),
                *(
                    next_steps.action_reason_words(WORDS, r, "BBA C at 12.10 m", SCHEME)
                    for r in act["reasons"]
                ),
            ]
            for row in suggested
            for act in row["actions"]
        ],
    }
    alike(ours, cases.call(CASES, "grade_case", case | {"items": items}, about))


def parts_agree(cases, case, steps, low, high):
    stretch = case["stretches"][0]["fields"] if case["stretches"] else None
    pipe = grading.pipe_of(stretch, case["carried"][0] if case["carried"] else None, SCHEME)
    ours = {
        "pipe": pipe,
        "word": condition.class_words(WORDS, low, high, SCHEME),
        "span": quantities.span_text(WORDS, str(low), str(high)),
        "chosen": next_steps.chosen_words(WORDS, steps, ACTIONS),
        "parts": [part(one["fields"], case["run"], pipe, low, high) for one in case["observations"]],
    }
    alike(ours, cases.call(CASES, "grade_parts", case, steps, low, high))


def part(fields, run, pipe, low, high):
    classes = grading.classes_of(fields, pipe, SCHEME)
    points = grading_points.extra_points(fields, run, SCHEME)
    number = grading_points.damage_number(low, high, points["operation"], SCHEME)
    words = [
        found and [condition.basis_words(WORDS, found, SCHEME), *condition.reason_words(WORDS, found, SCHEME)]
        for found in classes.values()
    ]
    return {
        "classes": classes,
        "points": points,
        "number": number,
        "graded": grading.is_graded(fields["code"], SCHEME),
        "immediate": immediate.immediate_conditions(fields, classes, run, SCHEME),
        "step": grading_points.class_of_number(number["high"], SCHEME),
        "missing": condition.missing_words(WORDS, points["missing"]),
        "size": quantities.size_text(WORDS, fields.get("quantification_1") or 0),
        "words": words,
    }
