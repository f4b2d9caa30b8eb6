"""readings.csv: every reading, raw as typed, then what follows from it."""

from collections.abc import Iterable, Mapping
from typing import Any

from ..report_model.contents import PackContents
from ..report_model.levels import Level
from ..report_model.run import Reading, Run
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded

FILENAME = "readings.csv"
HEADER = (
    "run", "counter_m", "inclination_typed", "inclination_size", "inclination_unit", "inclination_sense",
    "beyond_range", "chainage_m", "inclination_deg", "gradient_pct", "one_in", "falls_towards", "how_known",
    "level_m", "level_sd_m", "level_low_m", "level_high_m", "level_how_known", "counter_zero_m",
    "counter_scale", "counter_had_shown_m", "counter_set_to_m", "disputed", "remark", "record_id",
    "level_measured_m", "distance_in_file", "distance_in_file_unit", "added_to_it_m", "recorded_in_run",
)  # fmt: skip


def render(contents: PackContents) -> bytes:
    """Return the file."""
    return render_rows(HEADER, (row for run in contents.runs for row in _rows(run)))


def _rows(run: Run) -> Iterable[tuple[Cell, ...]]:
    for r in run.readings:
        raw: Mapping[str, Any] = r.inclination or {}
        reset: Mapping[str, Any] = r.counter_reset or {}
        yield (
            run.ref, r.counter_m, raw.get("typed"), raw.get("size"), raw.get("unit"), raw.get("sense"),
            r.over != 0, rounded(r.chainage_m, 4), rounded(r.deg, 5), rounded(r.pct, 4), rounded(r.one_in, 2),
            _towards(r), _known(r), *level_cells(r.level), *_counter(run, r),
            reset.get("had_shown_m"), reset.get("set_to_m"), r.disputed, r.remark, r.record_id,
            measured_cell(r.level), r.counter_typed or None, r.counter_unit or None, r.counter_added_m,
            r.run_ref or run.ref,
        )  # fmt: skip


def _counter(run: Run, reading: Reading) -> tuple[Cell, ...]:
    """Zero and scale of the counter that was read; of a length they are those of its first run."""
    if run.length is not None and run.length.joined and reading.run_ref != run.length.runs[0].ref:
        return None, None
    return run.counter_zero_m, rounded(run.figures.instruments.scale, 6)


def level_cells(level: Level | None) -> tuple[Cell, ...]:
    """Return level, its standard deviation, its bounds and how it is known."""
    if level is None:
        return (None,) * 5
    return (
        rounded(level.level_m, 4), rounded(level.sd_m, 4), rounded(level.low_m, 4), rounded(level.high_m, 4),
        level.known,
    )  # fmt: skip


def measured_cell(level: Level | None) -> Cell:
    """Return the level measured at a place beside the adjusted one; several as text."""
    if level is None or not level.measured_m:
        return None
    rounded_m = [rounded(m, 4) for m in level.measured_m]
    return rounded_m[0] if len(rounded_m) == 1 else "; ".join(str(m) for m in rounded_m)


def _known(reading: Reading) -> str:
    if reading.over:
        return "bounded"
    return "measured" if reading.inclination else "not known"


def _towards(reading: Reading) -> str:
    sign = reading.over or reading.deg or 0
    return "start" if sign > 0 else "finish" if sign < 0 else ""
