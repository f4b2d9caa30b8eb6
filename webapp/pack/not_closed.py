"""What was not closed on site, as a table of the report and as lines of the command."""

from collections.abc import Iterable

from ..report_model.contents import OpenItem, OpenItems, PackContents
from ..report_model.section import Section, heads
from ..survey.wording.messages import Words, clauses, listed, message, sentences


def not_closed(contents: PackContents) -> Section:
    """Return the open items; without any, what was looked at."""
    words, found = contents.words, contents.not_closed
    return Section(
        key="not_closed",
        title=message(words, "pack.not_closed.title", {}),
        header=heads(words, "run", "record", "open", "later"),
        rows=tuple(_row(words, one) for one in found.items),
        right=(),
        parts=(1.4, 3.2, 7.4, 4),
        lines=() if found.items else (_nothing(words, found.looked_at),),
        note=_note(words, found),
    )


def not_closed_lines(contents: PackContents) -> Iterable[str]:
    """Return the same as lines of text."""
    words, section = contents.words, not_closed(contents)
    yield section.title
    yield from (f"  - {line}" for line in section.lines)
    for one in contents.not_closed.items:
        run = message(words, "pack.run", {"run": one.run_ref}) if one.run_ref else ""
        place = listed(words, (part for part in (run, one.about) if part))
        values = {"place": place, "sentence": one.sentence, "later": _later(words, one)}
        line = message(words, f"pack.not_closed.{'line_at' if place else 'line'}", values)
        yield f"  - {line}"
    yield f"  ({section.note})"


def _row(words: Words, one: OpenItem) -> tuple[str, ...]:
    return one.run_ref, one.about, one.sentence, _later(words, one)


def _later(words: Words, one: OpenItem) -> str:
    return message(words, f"pack.not_closed.{one.severity}", {})


def _nothing(words: Words, looked_at: tuple[str, ...]) -> str:
    return message(
        words, "pack.not_closed.nothing", {"n": len(looked_at), "checks": clauses(words, looked_at)}
    )


def _note(words: Words, found: OpenItems) -> str:
    judged = message(words, "pack.not_closed.note", {})
    if found.photos_unmeasured == 0:
        return judged
    return sentences(
        words, (judged, message(words, "pack.not_closed.photos", {"n": found.photos_unmeasured}))
    )
