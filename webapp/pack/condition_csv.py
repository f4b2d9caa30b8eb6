"""condition.csv: the preliminary class of every observation for every goal, whose limits, and why."""

from collections.abc import Iterable

from ..report_model.contents import PackContents
from ..report_model.run import Run
from ..survey.wording.messages import message
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded

FILENAME = "condition.csv"
HEADER = (
    "run", "record_id", "code", "from_m", "to_m", "counted_length_m", "length_known", "goal", "class_least",
    "class_most", "known", "limits", "engineer_to_review", "left_least_pct", "left_most_pct", "number_least",
    "number_most", "number_least_with_all_unknown", "number_most_with_all_unknown", "why", "standing",
    "scheme",
)  # fmt: skip


def render(contents: PackContents) -> bytes:
    """Return the file: one row per observation, stretch and goal that has a class."""
    return render_rows(HEADER, (row for run in contents.runs for row in _rows(contents, run)))


def _rows(contents: PackContents, run: Run) -> Iterable[tuple[Cell, ...]]:
    if run.condition is None:
        return
    standing = message(contents.words, "survey.grading.preliminary", {})
    for g in run.condition.graded:
        provenance = "not known" if g.length_known == "unknown" else g.length_known
        yield (
            run.ref, g.record_id, g.code, rounded(g.from_m, 4), rounded(g.to_m, 4), rounded(g.length_m, 4),
            provenance, g.goal, g.low, g.high, g.known, g.basis, g.review, rounded(g.left_low_pct, 1),
            rounded(g.left_high_pct, 1), g.number_low, g.number_high, g.bound_low, g.bound_high, g.why,
            standing, run.condition.scheme,
        )  # fmt: skip
