"""readings.csv: every reading, raw as typed, then what follows from it."""

from collections.abc import Iterable

from .contents import PackContents, Reading, Run
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded
from .texts import reading_known

NAME = "Readings"
FILENAME = "readings.csv"
HEADER = (
    "run", "counter_m", "inclination_typed", "inclination_size", "inclination_unit", "inclination_sense",
    "beyond_range", "chainage_m", "inclination_deg", "gradient_pct", "one_in", "falls_towards",
    "against_flow", "length_since_last_m", "rise_since_last_low_m", "rise_since_last_high_m",
    "rise_how_known", "how_known", "counter_zero_m", "counter_scale", "disputed", "remark", "record_id",
)  # fmt: skip


def render(contents: PackContents) -> bytes:
    """Return the file."""
    return render_rows(HEADER, (row for run in contents.runs for row in _rows(run)))


def _rows(run: Run) -> Iterable[tuple[Cell, ...]]:
    for r in run.readings:
        raw = r.inclination or {}
        yield (
            run.ref, r.counter_m, raw.get("typed"), raw.get("size"), raw.get("unit"), raw.get("sense"),
            r.over != 0, rounded(r.chainage_m, 4), rounded(r.deg, 5), rounded(r.pct, 4), rounded(r.one_in, 2),
            _towards(r), r.against_flow, rounded(r.length_m, 4), rounded(r.rise_low_m, 4),
            rounded(r.rise_high_m, 4), _rise_known(r), reading_known(r), run.counter_zero_m,
            rounded(run.scale, 6), r.disputed, r.remark, r.record_id,
        )  # fmt: skip


def _rise_known(reading: Reading) -> str:
    if reading.level is None or reading.rise_low_m is None:
        return ""
    if reading.step_sense:
        return "bounded"
    return "assumed" if reading.level.known == "assumed" else "computed"


def _towards(reading: Reading) -> str:
    sign = reading.over or reading.deg or 0
    return "start" if sign > 0 else "finish" if sign < 0 else ""
