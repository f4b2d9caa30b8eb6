"""What the figures of a run say on page one: fall, backfalls, water, bottleneck, the far end."""

from collections.abc import Iterable
from typing import Any

from ..report_model.capacity import Capacity
from ..report_model.run import Run
from ..survey.wording.figures import code_reason
from ..survey.wording.messages import Words, message, sentences
from ..survey.wording.quantities import known_word, place_text
from .figure_words import (
    backfall_line,
    blunder_text,
    capacity_text,
    known_text,
    rise_text,
    sag_line,
    water_text,
    whole_run_lines,
)
from .length_text import is_reported, withheld_line
from .summary_text import of_run, short
from .trace_table import look_text

NOT_LOOKED = "bore_not_looked_at"


def numbers_of(words: Words, run: Run) -> Iterable[str]:
    """What the figures of a run say: fall, backfalls, water, bottleneck, where to look for the far end."""
    figures = run.figures
    if run.length is not None and not is_reported(run):
        yield of_run(words, run, sentences(words, run.length.words_of_join))
    if figures.blunders:
        values = {"run": short(run.ref), "slip": blunder_text(words, figures.blunders[0])}
        yield message(words, "pack.one.contradicted", values)
    if figures.rise is not None and figures.levels:
        fall = {
            "run": short(run.ref),
            "m": place_text(words, figures.levels[-1].chainage_m),
            "change": rise_text(words, figures.rise),
            "known": known_text(words, figures.rise.known),
        }
        yield message(words, "pack.one.fall", fall)
    bad = [backfall_line(words, b) for b in figures.backfalls if b.sure or b.at_least]
    bad = bad or [sag_line(words, s) for s in figures.sags if s.sure or s.at_least]
    if bad:
        line = of_run(words, run, bad[0])
        more = message(words, "pack.one.and_more", {"n": len(bad) - 1})
        yield sentences(words, (line, more)) if len(bad) > 1 else line
    if water := _water(words, run):
        yield of_run(words, run, water)
    yield from _carries(words, run)
    if run.end_reason != "node_reached" and (look := look_text(words, run)):
        yield of_run(words, run, look)


def _water(words: Words, run: Run) -> str:
    """The water seen that the levels explain least, in words; empty where they agree."""
    against = [one for one in run.figures.water if one.verdict != "agrees"]
    if not against:
        return ""
    return water_text(words, max(against, key=lambda one: abs(one.difference_m) / max(one.sd_m, 1e-6)))


def _carries(words: Words, run: Run) -> Iterable[str]:
    bottleneck, limits = run.figures.bottleneck, run.figures.limits
    name = {"run": short(run.ref)}
    if run.length is not None and (run.length.between or not run.length.joined):
        if not is_reported(run):
            why = withheld_line(words, run.length)
            yield message(words, "pack.carries.not_given", {**name, "why": why})
        return
    if bottleneck is None or bottleneck.index is None:
        each = [one for c in run.figures.capacities for one in _whys(c)]
        whys = list(dict.fromkeys(code_reason(words, one) for one in (*limits, *each))) if each else []
        if whys:
            yield message(words, "pack.carries.not_given", {**name, "why": sentences(words, whys)})
        return
    looked = [code_reason(words, NOT_LOOKED)] if not_looked(run) else []
    whole = run.figures.whole_run
    if whole is not None:
        line = _carries_line(words, "run", run, whole)
        yield sentences(words, (line, *whole_run_lines(words, run.figures), *looked))
        return
    withheld = [*(code_reason(words, one) for one in limits), *_without_number(words, run)]
    if withheld:
        yield message(words, "pack.carries.whole_not_given", {**name, "why": sentences(words, withheld)})
    key = "least_of_those" if bottleneck.no_number else "least"
    if len(run.figures.capacities) == 1:
        key = "by_itself" if limits else "run"
    yield sentences(
        words, (_carries_line(words, key, run, run.figures.capacities[bottleneck.index]), *looked)
    )


def _carries_line(words: Words, key: str, run: Run, row: Any) -> str:
    bottleneck = run.figures.bottleneck
    index = bottleneck.index if bottleneck is not None and bottleneck.index is not None else 0
    of = run.figures.capacities[index]
    values = {
        "run": short(run.ref),
        "number": str(index + 1),
        "from_m": place_text(words, of.from_m or 0.0),
        "to_m": place_text(words, of.to_m or 0.0),
        "flow": capacity_text(words, row),
        "known": known_word(words, row.known),
    }
    return message(words, f"pack.carries.{key}", values)


def _without_number(words: Words, run: Run) -> Iterable[str]:
    """Which stretches have no number, and why."""
    rows, bottleneck = run.figures.capacities, run.figures.bottleneck
    for k in bottleneck.no_number if bottleneck is not None else ():
        why = sentences(words, (code_reason(words, one) for one in _whys(rows[k])))
        yield message(words, "pack.carries.stretch_less", {"number": str(k + 1), "why": why})


def not_looked(run: Run) -> bool:
    """Say whether nobody looked how much of the bore is blocked."""
    return any(NOT_LOOKED in c.findings for c in run.figures.capacities)


def _whys(row: Capacity) -> tuple[str, ...]:
    """Why a stretch has no number."""
    return (row.left_out,) if row.left_out else row.findings
