"""levels.csv: the invert at every station of every run, its spread or its bounds, and every level tie."""

from collections.abc import Iterable

from ..report_model.contents import PackContents
from ..report_model.levels import Tie
from ..report_model.run import Run
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded
from .readings_csv import measured_cell

FILENAME = "levels.csv"
HEADER = (
    "run", "chainage_m", "level_m", "sd_m", "low_m", "high_m", "band_95_low_m", "band_95_high_m", "meaning",
    "known", "levels_above", "tie_level_m", "tie_sd_m", "tie_sd_known", "tie_method",
    "tie_less_readings_m", "tie_less_adjusted_m", "tie_less_rest_m", "tie_less_rest_sd_m",
    "tie_standardised", "tie_suspect", "tie_left_out", "measured_m", "tie_adjusted_m", "tie_adjusted_sd_m",
)  # fmt: skip
MEANING = {
    "": "value",
    "at_least": "at least low_m",
    "at_most": "at most high_m",
    "between": "between low_m and high_m",
    "unknown": "not known",
}


def render(contents: PackContents) -> bytes:
    """Return the file."""
    return render_rows(HEADER, (row for run in contents.runs for row in _rows(run, contents)))


def _rows(run: Run, contents: PackContents) -> Iterable[tuple[Cell, ...]]:
    datum = contents.level_datum or "datum not recorded"
    above = datum if run.figures.absolute else "the start of the run"
    for level in run.figures.levels:
        yield (
            run.ref, rounded(level.chainage_m, 4), rounded(level.level_m, 4), rounded(level.sd_m, 4),
            rounded(level.low_m, 4), rounded(level.high_m, 4), rounded(level.band_low_m, 4),
            rounded(level.band_high_m, 4), MEANING[level.sense], level.known, above, *(None,) * 11,
            measured_cell(level), None, None,
        )  # fmt: skip
    for tie in run.figures.ties:
        yield (run.ref, rounded(tie.chainage_m, 4), *(None,) * 6, "level tie", "measured", datum, *_tie(tie))


def _tie(tie: Tie) -> tuple[Cell, ...]:
    return (
        rounded(tie.invert_level_m, 4), rounded(tie.sd_m, 4), tie.sd_known, tie.method,
        rounded(tie.before_m, 4), rounded(tie.after_m, 4), rounded(tie.rest_m, 4), rounded(tie.rest_sd_m, 4),
        rounded(tie.standardised, 2), tie.suspect, tie.left_out, rounded(tie.invert_level_m, 4),
        rounded(tie.adjusted_m, 4), rounded(tie.adjusted_sd_m, 4),
    )  # fmt: skip
