"""levels.svg: the levels drawings of all runs, one below the other."""

from ..report_model.contents import PackContents
from ..survey.wording.messages import message
from .drawing import STRIP_GAP, document, run_groups
from .drawing_frame import HEIGHT, LEFT
from .svg import INK, text

FILENAME = "levels.svg"
MEDIA_TYPE = "image/svg+xml"
HEAD = 34


def render(contents: PackContents) -> bytes:
    """Return the file."""
    words = contents.words
    parts, down = [], 0
    for run in contents.runs:
        title = text(LEFT, 24, message(words, "pack.run", {"run": run.ref}), 18, INK, "start", weight=600)
        none = text(LEFT, 70, message(words, "pack.drawn.no_levels", {}), 14, anchor="start")
        parts.append(f'<g transform="translate(0 {down})">{title}</g>')
        down += HEAD
        for body in run_groups(words, run) or [none]:
            parts.append(f'<g transform="translate(0 {down})">{body}</g>')
            down += HEIGHT + STRIP_GAP
    if not parts:
        parts.append(text(LEFT, 40, message(words, "pack.drawn.no_runs", {}), 14, anchor="start"))
        down = 80
    return document("".join(parts), down).encode("utf-8", "replace")
