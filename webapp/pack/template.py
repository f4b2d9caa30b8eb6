"""The template of the report, whole or in parts: its sections begin with a line ``// ---- name ---``."""

import re

from .. import paths

WHOLE, FIRST, PART, CONTINUED = "whole", "first", "part", "continued"
_FOLDER = paths.TEMPLATES / "print"
_SECTION = re.compile(r"^// ---- (.+?) -+$", re.MULTILINE)
_RUNS, _RUN_BY_RUN = "runs", "run by run"


def template(which: str) -> str:
    """Return the text of the template: of all, or of one of several files, whichever it is."""
    text = _own("report.typ")
    if which == WHOLE:
        return text
    begin, *cut = _SECTION.split(text)
    sections = dict(zip(cut[::2], cut[1::2], strict=True))
    if which in (PART, CONTINUED):
        body = sections[_RUN_BY_RUN] if which == PART else _own("continued.typ")
        return "".join((begin, _own("part.typ"), sections[_RUNS], body, _own("goes_on.typ")))
    sections[_RUN_BY_RUN] = _own("elsewhere.typ")
    return "".join((begin, *sections.values()))


def _own(name: str) -> str:
    return (_FOLDER / name).read_text(encoding="utf-8")
