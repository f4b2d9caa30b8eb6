"""The template of the report, whole or in parts: its sections begin with a line ``// ---- name ---``."""

import re

from .. import paths

WHOLE, FIRST, PART, CONTINUED = "whole", "first", "part", "continued"
_FOLDER = paths.TEMPLATES / "print"
_SECTION = re.compile(r"^// ---- (.+?) -+$", re.MULTILINE)
GOES_ON = '#if data.goes_on != "" { note(data.goes_on) }\n'
_RUNS, _RUN_BY_RUN = "runs", "run by run"


def template(which: str) -> str:
    """Return the text of the template: of all, or of one of several files, whichever it is."""
    text = (_FOLDER / "report.typ").read_text(encoding="utf-8")
    if which == WHOLE:
        return text
    begin, *cut = _SECTION.split(text)
    sections = dict(zip(cut[::2], cut[1::2], strict=True))
    if which in (PART, CONTINUED):
        head = (_FOLDER / "part.typ").read_text(encoding="utf-8")
        goes_on = (_FOLDER / "continued.typ").read_text(encoding="utf-8")
        rest = sections[_RUN_BY_RUN] + GOES_ON if which == PART else goes_on
        return "".join((begin, head, sections[_RUNS], rest))
    sections[_RUN_BY_RUN] = (_FOLDER / "elsewhere.typ").read_text(encoding="utf-8")
    return "".join((begin, *sections.values()))
