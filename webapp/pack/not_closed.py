"""What was not closed on site, as a table of the report and as lines of the command."""

from collections.abc import Iterable

from ..report_model.contents import OpenItem, PackContents
from ..report_model.section import Section

SEVERITY = {
    "hazard": "A hazard: tell whoever comes next",
    "site": "Cannot be mended later",
    "desk": "Can be mended at the desk",
}


def not_closed(contents: PackContents) -> Section:
    """Return the open items; without any, what was looked at."""
    found = contents.not_closed
    lines = [] if found.items else [_nothing(found.looked_at)]
    return Section(
        key="not_closed",
        title="Not closed on site",
        header=("Run", "Record", "What is open", "Later"),
        rows=tuple(_row(one) for one in found.items),
        right=(),
        parts=(1.4, 3.2, 7.4, 4),
        lines=tuple(lines),
        note=_note(found.photos_unmeasured),
    )


def not_closed_lines(contents: PackContents) -> Iterable[str]:
    """Return the same as lines of text."""
    section = not_closed(contents)
    yield section.title
    yield from (f"  - {words}" for words in section.lines)
    for one in contents.not_closed.items:
        run = f"Run {one.run_ref}" if one.run_ref else ""
        place = ", ".join(part for part in (run, one.about) if part)
        yield f"  - {f'{place}: ' if place else ''}{one.sentence} {SEVERITY[one.severity]}."
    yield f"  ({section.note})"


def _row(one: OpenItem) -> tuple[str, ...]:
    return one.run_ref, one.about, one.sentence, SEVERITY[one.severity]


def _nothing(looked_at: tuple[str, ...]) -> str:
    return f"Nothing missing among these {len(looked_at)} checks: {'; '.join(looked_at)}."


def _note(unmeasured: int) -> str:
    judged = "This judges neither the survey nor the place; limits are assumed or our own."
    if unmeasured == 0:
        return judged
    photos = "1 photo was" if unmeasured == 1 else f"{unmeasured} photos were"
    return f"{judged} {photos} not measured; nothing is said of how sharp or bright."
