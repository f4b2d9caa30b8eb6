"""CSV that spreadsheets open as it is meant: UTF-8 with a byte order mark, CRLF, no formulas."""

import csv
import io
import re
from collections.abc import Iterable, Sequence

from ..report_model.plain_values import noise_free

MEDIA_TYPE = "text/csv"
# What begins a cell that a spreadsheet computes, in ASCII and as East Asian keyboards write it, behind
# whatever it does not show.  A cell also begins behind each sign by which a spreadsheet parts cells or rows.
# Where the comma is the decimal mark that is the semicolon; quotes that begin no cell mean nothing there, and
# those behind it vanish.
_HIDDEN = r"\s\x00-\x1f\x7f-\x9f\u200b-\u200f\u2060\ufeff"
_SIGN = r"[=+\-@\uff1d\uff0b\uff0d\uff20]"
FIRST = re.compile(f"[{_HIDDEN}]*{_SIGN}")
# Each run of such signs is read once, however long it is.
_BEFORE = f'[;"{_HIDDEN}]'
FURTHER = re.compile(f"(?<!{_BEFORE})({_BEFORE}++)({_SIGN})")
_PARTS = re.compile(r"[;\t\r\n]")
OPENING = ("\t", "\r")

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
    guarded = FURTHER.sub(_guarded, value)
    return f"'{guarded}" if guarded.startswith(OPENING) or FIRST.match(value) else guarded


def _guarded(found: re.Match[str]) -> str:
    before, sign = found.groups()
    return f"{before}'{sign}" if _PARTS.search(before) else f"{before}{sign}"


def rounded(value: float | None, digits: int) -> float | None:
    """Return a computed number without digits that mean nothing; never minus zero."""
    return None if value is None else round(value, digits) + 0.0
