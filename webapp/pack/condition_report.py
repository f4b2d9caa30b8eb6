"""The condition of the runs as the report prints it."""

from collections.abc import Iterable
from typing import Any

from ..report_model.condition import Class, Condition, Part
from ..report_model.contents import PackContents, Run
from ..survey.wording.action_words import SUGGESTION
from .condition_tables import SAID, action_line, left_lines, preliminary, waiting_line

URGENT = ("at_once", "short_term", "medium_term")


def condition_data(contents: PackContents) -> list[dict[str, Any]]:
    """Return the page "Condition and what to do next": one block a run."""
    return [_run(run, run.condition, contents.surveyor) for run in contents.runs if run.condition]


def condition_line(run: Run) -> dict[str, Any]:
    """Return the classes of a run for page one."""
    if run.condition is None:
        return {"marks": [], "words": ""}
    return {"marks": _marks(run.condition.classes), "words": f"Preliminary. Limits: {run.condition.scheme}."}


def urgent_actions(run: Run) -> Iterable[tuple[int, str]]:
    """Return, for page one, the suggestions that press, or what the surveyor chose in their place.

    Each with its rank: 0 what must not be done, 1 at once, 2 short term, 3 medium term.
    """
    for part in run.condition.parts if run.condition else ():
        yield from ((0, f"{part.title}: {line[:1].lower()}{line[1:]}") for line in part.forbidden)
        if part.chosen:
            yield 1, f"{part.title}: {'. '.join(part.chosen)} (the surveyor's choice)."
            continue
        for action in part.suggested:
            if action.urgency in URGENT:
                rank = 1 + URGENT.index(action.urgency)
                yield rank, f"{part.title}: {action_line(action).lower()} (suggested by rule)."


def _run(run: Run, found: Condition, surveyor: str) -> dict[str, Any]:
    return {
        "ref": run.ref,
        "immediate": [
            f"{words}: {what}. Source of the rule: {source}." for words, what, source in found.immediate
        ],
        "classes": [
            {
                **_mark(c),
                "label": c.label,
                "words": "; ".join(p for p in (c.words, c.number) if p),
                "cause": _cause(c),
                "basis": c.basis,
            }
            for c in found.classes
        ],
        "number": list(found.number_lines),
        "left": list(left_lines(found)),
        "parts": [_part(part, surveyor) for part in found.parts],
        "note": preliminary(found),
        "next_note": f"{SUGGESTION} Rules: {found.suggestions}.",
    }


def _cause(one: Class) -> str:
    if one.cause:
        return f"because of {one.cause}"
    return "nothing graded in what could be seen" if one.blind else "nothing graded for it"


def _part(part: Part, surveyor: str) -> dict[str, Any]:
    who = f"By the surveyor, {surveyor}" if surveyor else "By the surveyor"
    return {
        "title": part.title,
        "marks": _marks(part.classes),
        "forbidden": list(part.forbidden),
        "suggested": [[action_line(a), " ".join(a.reasons)] for a in part.suggested],
        "waiting": [waiting_line(a) for a in part.waiting],
        "who": who,
        "chosen": list(part.chosen) or [SAID],
    }


def _marks(classes: Iterable[Class]) -> list[dict[str, Any]]:
    return [_mark(one) for one in classes]


def _mark(one: Class) -> dict[str, Any]:
    nothing = "?" if one.blind else "–"
    numeral = nothing if one.high == 0 else str(one.high) if one.low == one.high else f"{one.low}–{one.high}"
    return {"letter": one.label[:1], "low": one.low, "high": one.high, "numeral": numeral}
