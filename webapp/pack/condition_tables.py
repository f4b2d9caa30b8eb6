"""The condition of a run as tables: for the report, page one and ``fallbook figures``."""

from collections.abc import Iterable

from ..messages import notes
from ..report_model.condition import Action, Class, Condition, Part
from ..report_model.run import Run
from ..report_model.section import Section, heads
from ..survey.wording.messages import Words, listed, message, sentences
from ..survey.wording.quantities import span_text


def preliminary(words: Words, condition: Condition) -> str:
    """Return what stands beside every class."""
    return sentences(
        words,
        (
            message(words, "survey.grading.preliminary", {}),
            message(words, "pack.condition.describes", {}),
            message(words, "pack.condition.limits", {"scheme": condition.scheme}),
        ),
    )


def condition_sections(words: Words, run: Run) -> list[Section]:
    """Return classes, what to do next and the observations with their classes, in the order of reading."""
    found = run.condition
    return [] if found is None else [make(words, found) for make in (_classes, _next, _graded, _steps)]


def immediate_lines(words: Words, found: Condition) -> list[str]:
    """Return what calls for action at once."""
    return [
        message(words, "pack.condition.at_once", {"condition": condition, "what": what})
        for condition, what, _ in found.immediate
    ]


def action_line(words: Words, action: Action) -> str:
    """Return an action with its urgency, and whether it is sure."""
    return action.words if action.sure else message(words, "pack.condition.may", {"action": action.words})


def waiting_line(words: Words, action: Action) -> str:
    """Return an action that waits until a hazard is settled."""
    return message(words, "pack.condition.waiting", {"action": action.words})


def _title(words: Words, key: str) -> str:
    return message(words, f"pack.{key}.title", {})


def _classes(words: Words, found: Condition) -> Section:
    whole, nothing = message(words, "pack.whole_run", {}), message(words, "pack.condition.nothing_graded", {})
    rows = [(whole, c.label, c.words, c.cause or nothing, c.basis) for c in found.classes]
    for part in found.parts:
        rows += [(part.title, c.label, c.words, c.cause or nothing, c.basis) for c in part.classes]
    header = heads(words, "where", "goal", "class", "because_of", "whose_limits")
    return Section(
        "condition", _title(words, "condition"), header, tuple(rows), (), 3, (1.4, 0.8, 1.2, 1.6, 1.4),
        (*immediate_lines(words, found), *left_lines(words, found)), preliminary(words, found),
    )  # fmt: skip


def left_lines(words: Words, found: Condition) -> Iterable[str]:
    """Return what has no class and what is not recorded."""
    if found.ungraded:
        yield message(words, "pack.condition.ungraded", {"what": listed(words, found.ungraded)})
    if found.missing:
        yield message(words, "pack.condition.missing", {"what": found.missing})


def suggested_note(words: Words, found: Condition) -> str:
    """Return what a suggestion is, and by which rules it is made."""
    rules = message(words, "pack.condition.rules", {"rules": found.suggestions})
    return sentences(words, (message(words, "survey.action.suggestion", {}), rules))


def _next(words: Words, found: Condition) -> Section:
    rows = tuple(row for part in found.parts for row in _next_rows(words, part))
    header = heads(words, "where", "suggested", "reasons", "surveyor")
    note = suggested_note(words, found)
    return Section("next", _title(words, "next"), header, rows, (), 2, (1.2, 1.3, 2.4, 1.3), (), note)


def _next_rows(words: Words, part: Part) -> Iterable[tuple[str, ...]]:
    own = notes(words, part.chosen) or message(words, "pack.condition.not_chosen", {})
    lines = [(ban.rstrip("."), "") for ban in part.forbidden]
    lines += [(action_line(words, action), sentences(words, action.reasons)) for action in part.suggested]
    lines += [(waiting_line(words, action), sentences(words, action.reasons)) for action in part.waiting]
    for k, (what, reasons) in enumerate(lines):
        yield (part.title if k == 0 else "", what, reasons, own if k == 0 else "")


def _graded(words: Words, found: Condition) -> Section:
    rows = tuple(
        (g.what, message(words, f"survey.grading.goal.{g.goal}", {}),
         span_text(words, str(g.low), str(g.high)), g.why)
        for g in found.graded
    )  # fmt: skip
    header = heads(words, "observation", "goal", "class", "why")
    return Section("graded", _title(words, "graded"), header, rows, (), 3, (1.6, 0.8, 0.5, 3.4))


def _steps(words: Words, found: Condition) -> Section:
    lines = [
        message(words, "pack.steps.line", {"goal": c.label, "step": step})
        for c in found.classes
        for step in _worked(words, c)
    ]
    return Section("steps", _title(words, "steps"), lines=(*lines, *found.number_lines))


def _worked(words: Words, one: Class) -> tuple[str, ...]:
    if not one.steps:
        return (message(words, "pack.steps.nothing", {}),)
    return (message(words, "pack.steps.because", {"cause": one.cause}), *one.steps)
