"""The condition of the runs as the report prints it."""

from collections.abc import Iterable
from typing import TypedDict

from ..messages import notes
from ..report_model.condition import Class, Condition, Part
from ..report_model.contents import PackContents
from ..report_model.run import Run
from ..report_model.sight import Sight
from ..survey.wording.condition import goal_letter
from ..survey.wording.messages import Words, clauses, message, sentences
from ..survey.wording.sight import MIN_M
from .condition_tables import action_line, left_lines, preliminary, suggested_note, waiting_line

URGENT = ("at_once", "short_term", "medium_term")


class Mark(TypedDict):
    """A class as the template draws it; ``numeral`` is what stands in it."""

    letter: str
    low: int
    high: int
    numeral: str


def condition_data(contents: PackContents) -> list[dict[str, object]]:
    """Return the page "Condition and what to do next": one block a run."""
    return [_run(contents, run, run.condition) for run in contents.runs if run.condition]


def condition_line(words: Words, run: Run) -> dict[str, object]:
    """Return the classes of a run for page one."""
    if run.condition is None:
        return {"marks": [], "words": ""}
    limits = message(words, "pack.condition.preliminary", {"scheme": run.condition.scheme})
    return {"marks": _marks(words, run.condition.classes), "words": limits}


def urgent_actions(words: Words, run: Run) -> Iterable[tuple[int, str]]:
    """Return, for page one, the suggestions that press, or what the surveyor chose in their place.

    Each with its rank: 0 what must not be done, 1 at once, 2 short term, 3 medium term.
    """
    for part in run.condition.parts if run.condition else ():
        for ban in part.forbidden:
            yield 0, message(words, "pack.next.forbidden", {"where": part.title, "ban": ban})
        if part.chosen:
            chosen = {"where": part.title, "chosen": notes(words, part.chosen)}
            yield 1, message(words, "pack.next.chosen", chosen)
            continue
        for action in part.suggested:
            if action.urgency in URGENT:
                suggested = {"where": part.title, "action": action_line(words, action)}
                rank = 1 + URGENT.index(action.urgency)
                yield rank, message(words, "pack.next.suggested", suggested)


def _run(contents: PackContents, run: Run, found: Condition) -> dict[str, object]:
    words = contents.words
    return {
        "title": message(words, "pack.run", {"run": run.ref}),
        "immediate": [
            message(
                words, "pack.condition.immediate", {"condition": condition, "what": what, "source": source}
            )
            for condition, what, source in found.immediate
        ],
        "classes": [
            {
                **_mark(words, c),
                "label": c.label,
                "words": clauses(words, (p for p in (c.words, c.number) if p)),
                "cause": _cause(words, c, run.sight),
                "basis": c.basis,
            }
            for c in found.classes
        ],
        "number": list(found.number_lines),
        "left": list(left_lines(words, found)),
        "parts": [_part(words, part, contents.surveyor) for part in found.parts],
        "note": preliminary(words, found),
        "next_note": suggested_note(words, found),
    }


def _cause(words: Words, one: Class, sight: Sight) -> str:
    if one.cause:
        return one.cause
    key = "nothing_in_what_was_seen" if one.blind else "nothing_graded_for_it"
    if not sight.looked or sight.total_m is None or sight.total_m - (sight.hidden_m or 0.0) <= MIN_M:
        key = "nothing_seen"
    return message(words, f"pack.condition.{key}", {})


def _part(words: Words, part: Part, surveyor: str) -> dict[str, object]:
    key = "by_surveyor_named" if surveyor else "by_surveyor"
    return {
        "title": part.title,
        "marks": _marks(words, part.classes),
        "forbidden": list(part.forbidden),
        "suggested": [[action_line(words, a), sentences(words, a.reasons)] for a in part.suggested],
        "waiting": [waiting_line(words, a) for a in part.waiting],
        "who": message(words, f"pack.condition.{key}", {"surveyor": surveyor}),
        "chosen": list(part.chosen) or [message(words, "pack.condition.not_chosen", {})],
    }


def _marks(words: Words, classes: Iterable[Class]) -> list[Mark]:
    return [_mark(words, one) for one in classes]


def _mark(words: Words, one: Class) -> Mark:
    nothing = "?" if one.blind else "–"
    numeral = nothing if one.high == 0 else str(one.high) if one.low == one.high else f"{one.low}–{one.high}"
    return {"letter": goal_letter(words, one.goal), "low": one.low, "high": one.high, "numeral": numeral}
