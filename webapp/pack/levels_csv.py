"""levels.csv: the invert at every station of every run, with bounds where it is bounded."""

from collections.abc import Iterable

from .contents import PackContents, Run
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded

NAME = "Levels"
FILENAME = "levels.csv"
HEADER = (
    "run", "chainage_m", "level_low_m", "level_high_m", "meaning", "how_known", "levels_above",
    "start_level_how_known", "tie_level_m", "tie_sd_m", "tie_method", "computed_less_tie_m",
)  # fmt: skip
MEANING = {"": "value", "at_least": "at least level_low_m", "at_most": "at most level_high_m",
           "between": "between level_low_m and level_high_m"}  # fmt: skip


def render(contents: PackContents) -> bytes:
    """Return the file."""
    return render_rows(HEADER, (row for run in contents.runs for row in _rows(run, contents)))


def _rows(run: Run, contents: PackContents) -> Iterable[tuple[Cell, ...]]:
    above = (
        "the start of the run" if run.start_level_m is None else contents.level_datum or "datum not recorded"
    )
    for level in run.levels:
        yield (
            run.ref, rounded(level.chainage_m, 4), rounded(level.low_m, 4), rounded(level.high_m, 4),
            MEANING[level.sense], level.known, above, run.start_level_known, None, None, None, None,
        )  # fmt: skip
    for tie in run.ties:
        at = tie.computed
        yield (
            run.ref, rounded(tie.chainage_m, 4), rounded(at.low_m, 4) if at else None,
            rounded(at.high_m, 4) if at else None, MEANING[at.sense] if at else None, "measured: level tie",
            contents.level_datum or "datum not recorded", run.start_level_known, tie.invert_level_m, tie.sd_m,
            tie.method, rounded(tie.misclosure_m, 4),
        )  # fmt: skip
