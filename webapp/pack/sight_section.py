"""What could be seen of a run, and hazards to people, as a table."""

from ..report_model.contents import Run, SightPart
from ..report_model.section import Section
from ..survey.wording.figure_words import place_text

SIGHT_WORDS = {"clear": "Clearly", "part": "In part", "hidden": "Not seen"}


def sight_section(run: Run) -> Section:
    """Return hazards first, then the account of what was seen, length by length."""
    found = run.sight
    lines = [f"{one.words}. {one.caution}" for one in found.hazards]
    behind = [lined_line(*ends) for ends in found.lined]
    rows = tuple(_row(one) for one in found.parts) if found.looked else ()
    header = ("From, m", "To, m", "Length, m", "Seen", "Why not all")
    return Section(
        "sight", "What could be seen", header, rows, (0, 1, 2), 4, (), (*lines, found.words, *behind),
    )  # fmt: skip


def lined_line(from_m: float, to_m: float) -> str:
    """Return what a lining hides."""
    where = f"From {place_text(from_m)} m to {place_text(to_m)} m"
    return f"{where} a lining hides the pipe: what is said of the wall is said of the lining."


def _row(one: SightPart) -> tuple[str, ...]:
    ends = (place_text(one.from_m), place_text(one.to_m), place_text(one.length_m))
    return (*ends, SIGHT_WORDS[one.sight], one.words)
