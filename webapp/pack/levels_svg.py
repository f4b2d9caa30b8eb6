"""levels.svg: the levels drawings of all runs, one below the other."""

from ..report_model.contents import PackContents
from .drawing import HEIGHT, LEFT, STRIP_GAP, document, run_groups
from .svg import INK, text

NAME = "Levels drawing"
FILENAME = "levels.svg"
MEDIA_TYPE = "image/svg+xml"
HEAD = 34


def render(contents: PackContents) -> bytes:
    """Return the file."""
    parts, down = [], 0
    for run in contents.runs:
        title = text(LEFT, 24, f"Run {run.ref}", 18, INK, "start", 600)
        none = text(LEFT, 70, "No levels: fewer than two readings.", 14, anchor="start")
        parts.append(f'<g transform="translate(0 {down})">{title}</g>')
        down += HEAD
        for body in run_groups(run) or [none]:
            parts.append(f'<g transform="translate(0 {down})">{body}</g>')
            down += HEIGHT + STRIP_GAP
    if not parts:
        parts.append(text(LEFT, 40, "This job has no runs.", 14, anchor="start"))
        down = 80
    return document("".join(parts), down).encode("utf-8", "replace")
