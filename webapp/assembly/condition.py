"""The condition of a run and what to do next, as the pack prints them."""

from collections.abc import Sequence

from .. import tables
from ..figures.run_figures import RunFigures
from ..records.fold import Record
from ..report_model.condition import Action, Class, Condition, GradedClass, Part
from ..survey.coding.codes import find_code
from ..survey.grading.actions import Suggestion
from ..survey.grading.grading import GOALS
from ..survey.grading.immediate import Immediate
from ..survey.grading.points import SITE
from ..survey.grading.prohibitions import Plan
from ..survey.grading.run_grading import Graded, Grading, Summary
from ..survey.records import RunFields, StretchFields
from ..survey.table_types.condition import Goal, GradingLimits
from ..survey.wording.condition import (
    basis_words,
    goal_word,
    known_class_words,
    missing_words,
    number_words,
    object_words,
    reason_words,
    step_words,
)
from ..survey.wording.messages import Words, message, sentences
from ..survey.wording.next_steps import action_reason_words, action_words, chosen_words, forbidden_words
from ..survey.wording.quantities import place_text
from ..survey.wording.sight import MIN_M
from .places import Frame


def condition_of(
    words: Words, found: RunFigures, run: RunFields, stretches: Sequence[Record[StretchFields]], frame: Frame
) -> Condition | None:  # fmt: skip
    """Return the condition of a run; None where it could not be computed."""
    grading, suggested = found.grading, found.suggested
    if grading is None or suggested is None:
        return None
    scheme = tables.load("grading_limits")
    graded = grading["graded"]
    whats = [_what(words, one, frame) for one in graded]
    missing = [n for n in SITE if any(n in one["points"]["missing"] for one in graded)]
    fields = {one.id: one.fields for one in stretches}
    return Condition(
        scheme=scheme["name"],
        immediate=tuple(
            (_immediate(words, scheme, one), what, scheme["immediate"][one["row"]]["source"])
            for what, g in zip(whats, graded, strict=True)
            for one in g["immediate"]
        ),
        classes=tuple(_class(words, goal, grading["run"], graded, whats, scheme) for goal in GOALS),
        number_lines=tuple(object_words(words, grading["run"], scheme)),
        parts=tuple(
            _part(words, k, one, (grading, whats, scheme), frame, fields.get(one["id"] or "", run))
            for k, one in enumerate(suggested)
        ),
        graded=tuple(
            row for one, what in zip(graded, whats, strict=True) for row in _rows(words, one, what, frame)
        ),
        ungraded=tuple(dict.fromkeys(_title(words, one["code"]) for one in grading["ungraded"])),
        missing=missing_words(words, missing),
        suggestions=tables.load("actions")["name"],
    )


def _title(words: Words, code: str) -> str:
    row = find_code(tables.load("observation_codes")["rows"], code)
    return str(row["title"]) if row else code or message(words, "pack.condition.no_code", {})


def _what(words: Words, one: Graded, frame: Frame) -> str:
    """What was graded and where, in the words of the phone."""
    values = {"what": _title(words, one["code"])}
    if one["from_counter_m"] is None:
        return message(words, "survey.hazard.no_place", values)
    values["m"] = place_text(words, frame.place(one["from_counter_m"]) or 0.0)
    if one["to_counter_m"] is None:
        return message(words, "survey.hazard.from", values)
    if one["to_counter_m"] == one["from_counter_m"]:
        return message(words, "survey.hazard.at", values)
    values["to_m"] = place_text(words, frame.place(one["to_counter_m"]) or 0.0)
    return message(words, "pack.condition.what", values)


def _immediate(words: Words, scheme: GradingLimits, one: Immediate) -> str:
    condition = str(scheme["immediate"][one["row"]]["words"])
    if one["sure"]:
        return condition
    return message(words, "pack.condition.immediate_may", {"condition": condition})


def _class(
    words: Words, goal: Goal, summary: Summary, graded: Sequence[Graded], whats: Sequence[str],
    scheme: GradingLimits,
) -> Class:  # fmt: skip
    found = summary["goals"][goal]
    low, high, cause, unseen_m = found["low"], found["high"], found["cause"], summary["unseen_m"]
    line = known_class_words(words, low, high, unseen_m, summary["extent_m"], scheme)
    blind = unseen_m is None or unseen_m > MIN_M
    own = None if cause is None else graded[cause]["classes"][goal]
    if cause is None or own is None:
        return Class(goal, goal_word(words, goal), low, high, line, blind=blind)
    return Class(
        goal, goal_word(words, goal), low, high, line, whats[cause],
        basis_words(words, own, scheme),
        tuple(step_words(words, graded[cause], goal, scheme)),
        blind, number_words(words, graded[cause], goal, scheme),
    )  # fmt: skip


def _part(
    words: Words, place: int, one: Plan,
    reported: tuple[Grading, Sequence[str], GradingLimits], frame: Frame,
    fields: StretchFields | RunFields,
) -> Part:  # fmt: skip
    """A part of the pipe; ``reported``: the grading, the words of what was graded, the scheme."""
    grading, whats, scheme = reported
    table, graded = tables.load("actions"), grading["graded"]
    start, end = (frame.place(one[name]) for name in ("from_counter_m", "to_counter_m"))
    classes: tuple[Class, ...] = ()
    title = message(words, f"pack.{'outside' if grading['stretches'] else 'whole_run'}", {})
    if one["kind"] == "stretch":
        ends = {"from_m": _place(words, start), "to_m": _place(words, end)}
        title = message(words, "pack.stretch", {"number": str(place + 1), **ends})
        classes = tuple(
            _class(words, goal, grading["stretches"][place], graded, whats, scheme) for goal in GOALS
        )
    return Part(
        record_id=one["id"] or "",
        title=title,
        from_m=start,
        to_m=end,
        classes=classes,
        forbidden=tuple(forbidden_words(words, one["forbidden"], table)),
        suggested=tuple(_action(words, act, whats, scheme) for act in one["actions"]),
        waiting=tuple(_action(words, act, whats, scheme) for act in one["waiting"]),
        chosen=tuple(chosen_words(words, fields.get("next_steps"), table)),
    )  # fmt: skip


def _action(words: Words, act: Suggestion, whats: Sequence[str], scheme: GradingLimits) -> Action:
    line = action_words(words, act["action"], act["urgency"], tables.load("actions"), act["urgency_most"])
    reasons = (
        action_reason_words(words, r, "" if r["graded"] is None else whats[r["graded"]], scheme)
        for r in act["reasons"]
    )
    return Action(act["action"], act["urgency"], line, act["sure"], tuple(reasons))


def _place(words: Words, chainage_m: float | None) -> str:
    return "…" if chainage_m is None else place_text(words, chainage_m)


def _rows(words: Words, one: Graded, what: str, frame: Frame) -> list[GradedClass]:
    scheme = tables.load("grading_limits")
    rows = []
    for goal in GOALS:
        found, number = one["classes"][goal], one["numbers"][goal]
        if found is None or number is None:
            continue
        to_m = one["to_counter_m"]
        rows.append(
            GradedClass(
                one["record_id"], one["code"], what, frame.place(one["from_counter_m"]), frame.place(to_m),
                one["length_m"], one["length_known"], goal, found["low"], found["high"],
                "computed" if found["low"] == found["high"] else "bounded", basis_words(words, found, scheme),
                found["review"], found["left_low_pct"], found["left_high_pct"], number["recorded_low"],
                number["recorded_high"], number["low"], number["high"],
                sentences(words, reason_words(words, found, scheme)),
            )
        )  # fmt: skip
    return rows
