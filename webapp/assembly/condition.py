"""The condition of a run and what to do next, as the pack prints them."""

from collections.abc import Mapping, Sequence
from typing import Any

from .. import tables
from ..figures.run_figures import RunFigures
from ..records.fold import Record
from ..report_model import condition as said
from ..survey.coding.codes import find_code
from ..survey.grading.grading import GOALS
from ..survey.grading.points import SITE
from ..survey.grading.prohibitions import forbidden_words
from ..survey.grading.steps import missing_words, number_words, object_words, step_words
from ..survey.records import RunFields, StretchFields
from ..survey.wording.action_words import action_reason_words, action_words, chosen_words
from ..survey.wording.figure_words import place_text
from ..survey.wording.grading_words import GOAL_WORDS, basis_words, reason_words
from ..survey.wording.visibility_words import MIN_M, known_class_words
from .places import Frame

Graded = Mapping[str, Any]


def condition_of(
    found: RunFigures, run: RunFields, stretches: Sequence[Record[StretchFields]], frame: Frame
) -> said.Condition | None:
    """Return the condition of a run; None where it could not be computed."""
    grading, suggested = found.grading, found.suggested
    if grading is None or suggested is None:
        return None
    scheme = tables.load("grading_limits")
    graded = grading["graded"]
    whats = [_what(one, frame) for one in graded]
    missing = [n for n in SITE if any(n in one["points"]["missing"] for one in graded)]
    fields = {one.id: one.fields for one in stretches}
    return said.Condition(
        scheme=scheme["name"],
        immediate=tuple(
            (_immediate(scheme, one), what, scheme["immediate"][one["row"]]["source"])
            for what, g in zip(whats, graded, strict=True)
            for one in g["immediate"]
        ),
        classes=tuple(_class(goal, grading["run"], graded, whats, scheme) for goal in GOALS),
        number_lines=tuple(object_words(grading["run"], scheme)),
        parts=tuple(
            _part(k, one, grading, whats, frame, fields.get(one["id"] or "", run), scheme)
            for k, one in enumerate(suggested)
        ),
        graded=tuple(row for one, what in zip(graded, whats, strict=True) for row in _rows(one, what, frame)),
        ungraded=tuple(dict.fromkeys(_title(one["code"]) for one in grading["ungraded"])),
        missing=missing_words(missing),
        suggestions=tables.load("actions")["name"],
    )


def _title(code: str) -> str:
    row = find_code(tables.load("observation_codes")["rows"], code)
    return str(row["title"]) if row else code or "an observation without a code"


def _what(one: Graded, frame: Frame) -> str:
    """What was graded and where, in the words of the phone."""
    title = _title(one["code"])
    if one["from_counter_m"] is None:
        return f"{title}, place not recorded"
    start = place_text(frame.place(one["from_counter_m"]) or 0.0)
    if one["to_counter_m"] is None:
        return f"{title} from {start} m on"
    if one["to_counter_m"] == one["from_counter_m"]:
        return f"{title} at {start} m"
    return f"{title} from {start} to {place_text(frame.place(one['to_counter_m']) or 0.0)} m"


def _immediate(scheme: Mapping[str, Any], one: Mapping[str, Any]) -> str:
    words = str(scheme["immediate"][one["row"]]["words"])
    return words if one["sure"] else f"{words} (may be: the records do not settle it)"


def _class(
    goal: str, summary: Mapping[str, Any], graded: Sequence[Graded], whats: Sequence[str],
    scheme: Mapping[str, Any],
) -> said.Class:  # fmt: skip
    found = summary["goals"][goal]
    low, high, cause, unseen_m = found["low"], found["high"], found["cause"], summary["unseen_m"]
    words = known_class_words(low, high, unseen_m, summary["extent_m"], scheme)
    blind = unseen_m is None or unseen_m > MIN_M
    if cause is None:
        return said.Class(goal, GOAL_WORDS[goal], low, high, words, blind=blind)
    return said.Class(
        goal, GOAL_WORDS[goal], low, high, words, whats[cause],
        basis_words(graded[cause]["classes"][goal], scheme), tuple(step_words(graded[cause], goal, scheme)),
        blind, number_words(graded[cause], goal, scheme),
    )  # fmt: skip


def _part(
    place: int, one: Mapping[str, Any], grading: Mapping[str, Any], whats: Sequence[str], frame: Frame,
    fields: Mapping[str, Any], scheme: Mapping[str, Any],
) -> said.Part:  # fmt: skip
    table, graded = tables.load("actions"), grading["graded"]
    start, end = (frame.place(one[name]) for name in ("from_counter_m", "to_counter_m"))
    classes: tuple[said.Class, ...] = ()
    title = "Outside every stretch recorded" if grading["stretches"] else "The whole run"
    if one["kind"] == "stretch":
        title = f"Stretch {place + 1}, {_place(start)} to {_place(end)} m"
        classes = tuple(_class(goal, grading["stretches"][place], graded, whats, scheme) for goal in GOALS)
    return said.Part(
        record_id=one["id"] or "",
        title=title,
        from_m=start,
        to_m=end,
        classes=classes,
        forbidden=tuple(forbidden_words(one["forbidden"], table)),
        suggested=tuple(_action(act, whats, scheme) for act in one["actions"]),
        waiting=tuple(_action(act, whats, scheme) for act in one["waiting"]),
        chosen=tuple(chosen_words(fields.get("next_steps"), table)),
    )  # fmt: skip


def _action(act: Mapping[str, Any], whats: Sequence[str], scheme: Mapping[str, Any]) -> said.Action:
    words = action_words(act["action"], act["urgency"], tables.load("actions"), act["urgency_most"])
    reasons = (
        action_reason_words(r, "" if r["graded"] is None else whats[r["graded"]], scheme)
        for r in act["reasons"]
    )
    return said.Action(act["action"], act["urgency"], words, act["sure"], tuple(reasons))


def _place(chainage_m: float | None) -> str:
    return "…" if chainage_m is None else place_text(chainage_m)


def _rows(one: Graded, what: str, frame: Frame) -> list[said.GradedClass]:
    scheme = tables.load("grading_limits")
    rows = []
    for goal in GOALS:
        found, number = one["classes"][goal], one["numbers"][goal]
        if found is None:
            continue
        to_m = one["to_counter_m"]
        rows.append(
            said.GradedClass(
                one["record_id"], one["code"], what, frame.place(one["from_counter_m"]), frame.place(to_m),
                one["length_m"], one["length_known"], goal, found["low"], found["high"],
                "computed" if found["low"] == found["high"] else "bounded", basis_words(found, scheme),
                found["review"], found["left_low_pct"], found["left_high_pct"], number["recorded_low"],
                number["recorded_high"], number["low"], number["high"], " ".join(reason_words(found, scheme)),
            )
        )  # fmt: skip
    return rows
