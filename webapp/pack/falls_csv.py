"""falls.csv: gradient and fall of every length between stations, and the readings beyond the range."""

from collections.abc import Iterable

from ..report_model.contents import PackContents
from ..report_model.run import Run
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded

FILENAME = "falls.csv"
HEADER = (
    "run", "from_m", "to_m", "fall_m", "fall_sd_m", "fall_low_m", "fall_high_m", "inclination_deg",
    "inclination_sd_deg", "gradient_pct", "one_in", "direction", "known",
)  # fmt: skip


KNOWN = {"contradicted": "contradicted by the level ties", "unknown": "not known"}


def render(contents: PackContents) -> bytes:
    """Return the file.  A fall is positive where the invert falls in the direction of survey."""
    return render_rows(HEADER, (row for run in contents.runs for row in _rows(run)))


def _rows(run: Run) -> Iterable[tuple[Cell, ...]]:
    for row in run.figures.lengths:
        yield (
            run.ref, rounded(row.from_m, 4), rounded(row.to_m, 4), rounded(row.fall_m, 4),
            rounded(row.sd_m, 4), rounded(row.low_fall_m, 4), rounded(row.high_fall_m, 4),
            rounded(row.deg, 5), rounded(row.sd_deg, 5), rounded(row.pct, 4), rounded(row.one_in, 2),
            row.direction, KNOWN.get(row.known, row.known),
        )  # fmt: skip
