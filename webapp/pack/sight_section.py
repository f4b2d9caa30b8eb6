"""What could be seen of a run, and hazards to people, as a table."""

from ..report_model.run import Run
from ..report_model.section import Section, heads
from ..report_model.sight import Hazard, SightPart
from ..survey.wording.messages import Words, message
from ..survey.wording.quantities import place_text


def sight_section(words: Words, run: Run) -> Section:
    """Return hazards first, then the account of what was seen, length by length."""
    found = run.sight
    lines = [hazard_caution(words, one) for one in found.hazards]
    behind = [lined_line(words, *ends) for ends in found.lined]
    rows = tuple(_row(words, one) for one in found.parts) if found.looked else ()
    header = heads(words, "from", "to", "length_m", "seen", "why_not_all")
    title = message(words, "pack.sight.title", {})
    return Section("sight", title, header, rows, (0, 1, 2), 4, (), (*lines, found.words, *behind))


def hazard_caution(words: Words, one: Hazard) -> str:
    """Return a hazard with the caution that goes with it."""
    return message(words, "pack.sight.hazard", {"hazard": one.words, "caution": one.caution})


def lined_line(words: Words, from_m: float, to_m: float) -> str:
    """Return what a lining hides."""
    ends = {"from_m": place_text(words, from_m), "to_m": place_text(words, to_m)}
    return message(words, "pack.sight.lined", ends)


def _row(words: Words, one: SightPart) -> tuple[str, ...]:
    ends = (place_text(words, one.from_m), place_text(words, one.to_m), place_text(words, one.length_m))
    return (*ends, message(words, f"pack.sight.{one.sight}", {}), one.words)
