"""CSV that spreadsheets open as it is meant: UTF-8 with a byte order mark, CRLF, no formulas."""

import csv
import io
from collections.abc import Iterable, Sequence

from ..report_model.plain_values import noise_free

MEDIA_TYPE = "text/csv"
FORMULA = ("=", "+", "-", "@", "\t", "\r")

Cell = str | float | int | bool | None


def render_rows(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a CSV file.  The mark at its start is for spreadsheets that would guess another encoding."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return out.getvalue().encode("utf-8-sig", "replace")


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(noise_free(value) if isinstance(value, float) else value)
    # Text that a spreadsheet would run as a formula gets an apostrophe, which it then hides.
    return f"'{value}" if value.lstrip(" \n").startswith(FORMULA) or value.startswith(FORMULA) else value


def rounded(value: float | None, digits: int) -> float | None:
    """Return a computed number without digits that mean nothing; never minus zero."""
    return None if value is None else round(value, digits) + 0.0
