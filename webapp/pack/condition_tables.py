"""The condition of a run as tables: for the report, page one and ``fallbook figures``."""

from collections.abc import Iterable

from ..report_model.condition import Action, Class, Condition, Part
from ..report_model.contents import Run
from ..report_model.section import Section
from ..survey.wording.action_words import SUGGESTION
from ..survey.wording.grading_words import PRELIMINARY

DESCRIBES = "EN 13508-2 describes and does not grade."
SAID = "The surveyor has not said otherwise."


def preliminary(condition: Condition) -> str:
    """Return what stands beside every class."""
    return f"{PRELIMINARY} {DESCRIBES} Limits: {condition.scheme}."


def condition_sections(run: Run) -> list[Section]:
    """Return classes, what to do next and the observations with their classes, in the order of reading."""
    found = run.condition
    if found is None:
        return []
    return [_classes(found), _next(found), _graded(found), _steps(found)]


def immediate_lines(found: Condition) -> list[str]:
    """Return what calls for action at once."""
    return [f"At once: {words[:1].lower()}{words[1:]}, {what}." for words, what, _ in found.immediate]


def action_line(action: Action) -> str:
    """Return an action with its urgency, and whether it is sure."""
    return action.words if action.sure else f"{action.words} (may be needed)"


def waiting_line(action: Action) -> str:
    """Return an action that waits until a hazard is settled."""
    return f"Not before that is settled: {action.words[:1].lower()}{action.words[1:]}"


def _classes(found: Condition) -> Section:
    rows = [("The whole run", c.label, c.words, c.cause or "nothing graded", c.basis) for c in found.classes]
    for part in found.parts:
        rows += [(part.title, c.label, c.words, c.cause or "nothing graded", c.basis) for c in part.classes]
    header = ("Where", "Goal", "Class", "Because of", "Whose limits")
    return Section(
        "condition", "Condition classes", header, tuple(rows), (), 3, (1.4, 0.8, 1.2, 1.6, 1.4),
        (*immediate_lines(found), *left_lines(found)), preliminary(found),
    )  # fmt: skip


def left_lines(found: Condition) -> Iterable[str]:
    """Return what has no class and what is not recorded."""
    if found.ungraded:
        yield f"Not graded: the limits say nothing of {', '.join(found.ungraded)}. An engineer judges these."
    if found.missing:
        yield f"Not recorded, so that the numbers are bounded only: {found.missing}."


def _next(found: Condition) -> Section:
    rows = tuple(row for part in found.parts for row in _next_rows(part))
    header = ("Where", "Suggested by rule", "Reasons", "By the surveyor")
    note = f"{SUGGESTION} Rules: {found.suggestions}."
    return Section("next", "What to do next", header, rows, (), 2, (1.2, 1.3, 2.4, 1.3), (), note)


def _next_rows(part: Part) -> Iterable[tuple[str, ...]]:
    own = ". ".join(part.chosen) or SAID
    lines = [(words.rstrip("."), "") for words in part.forbidden]
    lines += [(action_line(action), " ".join(action.reasons)) for action in part.suggested]
    lines += [(waiting_line(action), " ".join(action.reasons)) for action in part.waiting]
    for k, (words, reasons) in enumerate(lines):
        yield (part.title if k == 0 else "", words, reasons, own if k == 0 else "")


def _graded(found: Condition) -> Section:
    rows = tuple(
        (g.what, g.goal.capitalize(), str(g.high) if g.low == g.high else f"{g.low} to {g.high}", g.why)
        for g in found.graded
    )
    header = ("Observation", "Goal", "Class", "Why")
    return Section("graded", "Classes, observation by observation", header, rows, (), 3, (1.6, 0.8, 0.5, 3.4))


def _steps(found: Condition) -> Section:
    lines = [f"{c.label}: {step}" for c in found.classes for step in _worked(c)]
    return Section("steps", "How the classes of the run were worked out", lines=(*lines, *found.number_lines))


def _worked(one: Class) -> tuple[str, ...]:
    return (f"because of {one.cause}.", *one.steps) if one.steps else ("nothing graded.",)
