"""The template of the report, whole or in parts: its sections begin with a line ``// ---- name ---``."""

import re

from .. import paths

WHOLE, FIRST, PART = "whole", "first", "part"
_FOLDER = paths.TEMPLATES / "print"
_SECTION = re.compile(r"^// ---- (.+?) -+$", re.MULTILINE)
_RUNS, _RUN_BY_RUN = "runs", "run by run"


def template(which: str) -> str:
    """Return the text of the template: of all, of the first of several files, or of one with runs."""
    text = (_FOLDER / "report.typ").read_text(encoding="utf-8")
    if which == WHOLE:
        return text
    begin, *cut = _SECTION.split(text)
    sections = dict(zip(cut[::2], cut[1::2], strict=True))
    if which == PART:
        head = (_FOLDER / "part.typ").read_text(encoding="utf-8")
        return "".join((begin, head, sections[_RUNS], sections[_RUN_BY_RUN]))
    sections[_RUN_BY_RUN] = (_FOLDER / "elsewhere.typ").read_text(encoding="utf-8")
    return "".join((begin, *sections.values()))
