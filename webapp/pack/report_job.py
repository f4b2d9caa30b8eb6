"""What the report says of a job beside its runs."""

from ..messages import stamp_text
from ..report_model.contents import PackContents
from ..report_model.section import Section
from ..survey.wording.messages import Words, clauses, listed, message, sentences
from .not_closed import not_closed
from .report_records import check_row, node_row
from .words import limits


def of_the_site(contents: PackContents) -> dict[str, object]:
    """Return what was found on the site: nodes, checks, safety, and what the report rests on."""
    words = contents.words
    return {
        "facts": [list(f) for f in contents.facts],
        "nodes": [node_row(words, n) for n in contents.nodes],
        "checks": [check_row(words, c) for c in contents.checks],
        "safety_note": contents.safety_note,
        "safety": [[s.question, _answer(words, s.answer, s.as_hoped), s.remark] for s in contents.safety],
        "cautions": [
            [c[0], c[1], message(words, "pack.value_known", {"value": c[2], "known": c[3]})]
            for c in contents.cautions
        ],
        "limits": limits(contents),
        "remarks": [r.text for r in contents.remarks],
    }


def of_the_records(contents: PackContents) -> dict[str, object]:
    """Return what phones disagree about, what takes no part, what is still open, and who recorded."""
    words = contents.words
    return {
        "conflicts": [[c.where, c.field, c.shown, clauses(words, c.others)] for c in contents.conflicts],
        "aside": [
            [a.entry, listed(words, (a.kind, a.device)), sentences(words, a.reasons)]
            for a in contents.rejected
        ],
        "erased": [
            [message(words, "pack.erased.entries", {"n": one.entries, "what": one.what}), one.why]
            for one in contents.erased
        ],
        "erased_note": _erased_note(contents),
        "not_closed": section_data(not_closed(contents)),
        "devices": [
            [
                d.device_id,
                str(d.openings),
                str(d.entries),
                *(stamp_text(words, at) for at in (d.first_at, d.last_at)),
            ]
            for d in contents.devices
        ],
        "changes_note": _changes_note(contents),
    }


def _changes_note(contents: PackContents) -> str:
    words = contents.words
    lines = [message(words, "pack.changes.entries", {"n": contents.entries})]
    if contents.removed:
        lines.append(message(words, "pack.changes.removed", {"n": contents.removed}))
    lines.append(message(words, "pack.changes.times", {"job": contents.job_id}))
    return sentences(words, lines)


def _erased_note(contents: PackContents) -> str:
    if not contents.erased:
        return ""
    lines = [message(contents.words, "pack.erased.note", {})]
    if contents.erased_in_part:
        lines.append(message(contents.words, "pack.erased.in_part", {"n": contents.erased_in_part}))
    return sentences(contents.words, lines)


def _answer(words: Words, answer: str, as_hoped: bool | None) -> str:
    return message(words, "pack.attend", {"answer": answer}) if as_hoped is False else answer


def section_data(s: Section) -> dict[str, object]:
    """Return a section as the template takes it."""
    return {
        "title": s.title, "header": list(s.header), "rows": [list(r) for r in s.rows], "right": list(s.right),
        "wide": s.wide, "parts": list(s.parts), "lines": list(s.lines), "note": s.note,
    }  # fmt: skip
