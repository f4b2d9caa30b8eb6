"""Readings of another instrument, from the rows of a table: which lines become readings, and why not.

What the file does not tell is asked, never guessed: without an answer nothing is made.
"""

import math
import re
from collections.abc import Mapping, Sequence
from typing import NotRequired, TypedDict, cast

from ..errors import SurveyError
from ..instruments.counter import parse_counter
from ..instruments.gradient import parse_inclination
from ..records import Inclination, InclinationSense, LengthUnit
from ..table_types.codes import ReadingsCsv
from .csv_choices import CsvChoices, CsvUsed, settle_choices
from .csv_columns import CsvValues, find_columns
from .csv_fit import LENGTHS
from .csv_numbers import plain_cell, plain_number
from .csv_table import CsvRow, CsvTable

MAX_M = 5000
LARGEST = {"deg": 90.0, "pct": 1e6, "permille": 1e7, "one_in": 1e6}
MAX_REMARK = 400
MAX_TYPED = 40
SHOWN = 60  # characters of a cell in a sentence
METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "ft": 0.3048, "in": 0.0254}
HALF = re.compile(r"[+-]0+|[+-]?0[0-9]+")
TAIL = re.compile(r"(?<=[0-9.,]) ?(mm|cm|km|m|ft|in|'|\")$")
LARGEST = {"deg": 90.0, "pct": 1e6, "permille": 1e7, "one_in": 1e6}
MAX_REMARK = 400
MAX_TYPED = 40
SHOWN = 60  # characters of a cell in a sentence
METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "ft": 0.3048, "in": 0.0254}
OVER = re.compile(
    r"([+-]?) ?(?:[<>]|over ?range|over|beyond range|beyond) ?([+-]?) ?(?:[0-9.,]+ ?[^0-9\n]{0,8})?"
)
SLANTED: Mapping[InclinationSense, InclinationSense] = {
    "rising": "falling",
    "falling": "rising",
    "level": "level",
}
BARE = re.compile(r"[+-]? *[0-9.,]+")
CODES = {
    "inclination_unreadable": "csv_inclination",
    "inclination_beyond_vertical": "csv_beyond_vertical",
    "gradient_one_in_zero": "csv_one_in_zero",
    "number_unreadable": "csv_counter",
    "counter_below_zero": "csv_counter_negative",
}


class CsvReady(TypedDict):
    """What is used once nothing has to be asked any more; the unit of the inclination may be in each cell."""

    counter_column: int
    inclination_column: int
    remark_column: int | None
    counter_unit: LengthUnit
    inclination_unit: str | None
    plus: str | None
    decimal: str
    zero_m: float
    grouping: str


class CsvRaw(TypedDict, total=False):
    """The counter as the file has it, and what was added to it [m]."""

    counter_typed: str
    counter_unit: LengthUnit
    counter_added_m: float


class CsvReading(TypedDict):
    """A reading from a line [m]; the last three where the counter was converted."""

    line: int
    counter_m: float
    inclination: Inclination
    remark: str | None
    counter_typed: NotRequired[str]
    counter_unit: NotRequired[LengthUnit]
    counter_added_m: NotRequired[float]


class CsvLine(TypedDict):
    """A line that is left out, or noted, and why."""

    line: int
    code: str
    values: CsvValues


class CsvResult(TypedDict):
    """What would become of every row, and what must be asked first."""

    header: list[str]
    header_line: int
    choices: CsvUsed
    known: dict[str, str]
    asks: list[str]
    may_be: dict[str, list[int]]
    taken: list[CsvReading]
    left: list[CsvLine]
    notes: list[CsvLine]
    unused: list[str]


def read_readings(table: CsvTable, words: ReadingsCsv, choices: CsvChoices) -> CsvResult:
    """Return what would become of every row, and what must be asked first.

    Parameters
    ----------
    table : mapping
        ``rows`` and ``ended`` of ``split_table``.
    choices : mapping
        What a person chose, each absent or None where they did not: ``counter_column``,
        ``inclination_column``, ``remark_column`` (index; -1 for no remark), ``counter_unit`` (m, cm, mm,
        km, ft, in), ``inclination_unit`` (deg, pct, permille, one_in, m_per_m), ``plus`` (what a value
        without a minus means: rising or falling), ``decimal`` (point or comma), ``zero_m`` (what our counter
        shows where the file's distance is zero [m]); ``remembered``, the same of an earlier file of this
        kind.

    Returns
    -------
    dict
        ``header``, ``header_line``; ``choices`` as used and ``known``, how each came about (``file``,
        ``chosen``, ``remembered`` or ``assumed``); ``asks``, the choices still needed; ``may_be``, the
        columns that the distance and the inclination may be, the likeliest first; ``taken``, with ``line``,
        ``counter_m`` [m], ``inclination`` and ``remark`` or None, and of a counter that was converted
        ``counter_typed``, as it stands in the file, ``counter_unit`` and ``counter_added_m`` [m]; ``left``,
        with ``line``, ``code`` and ``values`` for the sentence; ``notes`` in the same form; ``unused``, the
        columns that are not taken.
        While something is asked, ``taken`` and ``left`` are empty.

    Raises
    ------
    SurveyError
        ``csv_column`` for a column that is not there; ``csv_no_rows`` if nothing stands under the header;
        ``csv_kind`` (field ``commas``) where commas part both the cells and the numbers.

    Examples
    --------
    >>> words = {"columns": [], "units": [], "plus": []}
    >>> table = {"rows": [{"line": 1, "cells": ["2.5", "-1 %"], "closed": True}], "ended": True}
    >>> chosen = {"counter_column": 0, "inclination_column": 1, "plus": "rising"}
    >>> read_readings(table, words, chosen)["taken"][0]["inclination"]["sense"]
    'falling'
    """
    rows = table["rows"]
    found = find_columns(rows, words)
    data = rows[found["first"] :]
    if not data:
        raise SurveyError("csv_no_rows")
    settled = settle_choices(found, [row["cells"] for row in data], table.get("separator", ""), choices)
    used = settled["choices"]
    _check_commas(table, data, used["inclination_column"])
    result: CsvResult = {
        "header": found["header"],
        "header_line": found["header_line"],
        "choices": used,
        "known": settled["known"],
        "asks": settled["asks"],
        "may_be": settled["may_be"],
        "taken": [],
        "left": [],
        "notes": [],
        "unused": _unused(found["header"], used),
    }
    if result["asks"]:
        return result
    above = rows[: found["first"]]
    result["left"] = [
        _left(row["line"], "csv_before_header") for row in above if row["line"] < found["header_line"]
    ]
    width = len(found["header"]) if found["header_line"] else 0
    ready = cast(CsvReady, {**used, "grouping": settled["grouping"]})
    for row in data:
        _take(row, ready, width, result)
    if not table["ended"]:
        result["notes"].append(_left(data[-1]["line"], "csv_last_line"))
    return result


def _check_commas(table: CsvTable, data: Sequence[CsvRow], column: int | None) -> None:
    """A minus zero, or 05, is the half of a number that a comma cut in two."""
    if table.get("separator") == "," and any(HALF.fullmatch(_cell(row["cells"], column)) for row in data):
        raise SurveyError("csv_kind", "commas")


def _cell(cells: Sequence[str], index: int | None) -> str:
    return cells[index] if index is not None and index < len(cells) else ""


def _unused(header: Sequence[str], used: CsvUsed) -> list[str]:
    taken = (used["counter_column"], used["inclination_column"], used["remark_column"])
    return [name[:SHOWN] for index, name in enumerate(header) if index not in taken and name]


def _left(line: int, code: str, /, **values: str | int) -> CsvLine:
    return {"line": line, "code": code, "values": values}


def _take(row: CsvRow, used: CsvReady, width: int, result: CsvResult) -> None:
    line, cells = row["line"], row["cells"]
    need = max(used["counter_column"], used["inclination_column"]) + 1
    if not row["closed"]:
        result["left"].append(_left(line, "csv_quote"))
    elif len(cells) < need:
        result["left"].append(_left(line, "csv_short", have=len(cells), need=need))
    elif width and any(cells[width:]):
        result["left"].append(_left(line, "csv_wide", have=len(cells), need=width))
    else:
        try:
            counter_m = _counter(_cell(cells, used["counter_column"]), used)
            slope = _inclination(_cell(cells, used["inclination_column"]), used)
        except _Refused as refused:
            result["left"].append({"line": line, "code": refused.code, "values": refused.values})
            return
        remark = _cell(cells, used["remark_column"]) or None
        if remark and len(remark) > MAX_REMARK:
            result["notes"].append(_left(line, "csv_remark_cut", have=len(remark)))
            remark = remark[:MAX_REMARK]
        raw = _raw(_cell(cells, used["counter_column"]), used)
        result["taken"].append(
            {"line": line, "counter_m": counter_m, "inclination": slope, "remark": remark, **raw}
        )


def _raw(cell: str, used: CsvReady) -> CsvRaw:
    """The counter as the file has it, where ours is not the same number."""
    if used["counter_unit"] == "m" and not used["zero_m"]:
        return {}
    raw: CsvRaw = {"counter_typed": cell[:MAX_TYPED], "counter_unit": used["counter_unit"]}
    if used["zero_m"]:
        raw["counter_added_m"] = used["zero_m"]
    return raw


class _Refused(Exception):
    def __init__(self, code: str, text: str = "") -> None:
        self.code = code
        self.values = {"text": text[:SHOWN]} if text else {}


def _number(cell: str, used: CsvReady) -> str:
    try:
        return plain_number(cell, used["decimal"], used["grouping"])
    except SurveyError as error:
        raise _Refused(error.code, cell) from error


def _counter(cell: str, used: CsvReady) -> float:
    if not cell:
        raise _Refused("csv_no_counter")
    text, unit = _number(cell, used), used["counter_unit"]
    if own := TAIL.search(text):
        if LENGTHS.get(own[1], own[1]) != unit:
            raise _Refused("csv_counter_unit", cell)
        text = text[: own.start()]
    try:
        value = parse_counter(text)
    except SurveyError as error:
        raise _Refused(CODES[error.code], cell) from error
    counter_m = (
        value if unit == "m" and not used["zero_m"] else _rounded(value * METRES[unit] + used["zero_m"])
    )
    if not counter_m <= MAX_M:
        raise _Refused("csv_counter_far", cell)
    if counter_m < 0:
        raise _Refused("csv_counter_negative", cell)
    return counter_m


def _rounded(value: float) -> float:
    """To a nanometre: what a conversion leaves behind the digits that were shown goes."""
    return math.floor(value * 1e9 + 0.5) / 1e9 if value < 2 * MAX_M else value


def _inclination(cell: str, used: CsvReady) -> Inclination:
    if not cell:
        raise _Refused("csv_no_inclination")
    if beyond := OVER.fullmatch(plain_cell(cell)):
        return _beyond(cell, beyond[1] or beyond[2], ">" in cell, used)
    text, unit = _number(cell, used), used["inclination_unit"] or "deg"
    try:
        value = parse_inclination(text, "pct" if unit == "m_per_m" else unit)
    except SurveyError as error:
        raise _Refused(CODES[error.code], cell) from error
    if unit == "m_per_m" and BARE.fullmatch(text):
        value["size"] = _rounded(value["size"] * 100)
    if value["size"] > LARGEST[value["unit"]]:
        raise _Refused("csv_inclination", cell)
    value["typed"] = cell[:MAX_TYPED]
    sense = cast(InclinationSense, value.get("sense", "rising"))  # no sign is a plus
    value["sense"] = SLANTED[sense] if used["plus"] == "falling" else sense
    return cast(Inclination, {**value})


def _beyond(cell: str, sign: str, more: bool, used: CsvReady) -> Inclination:
    if not sign and not more:
        raise _Refused("csv_over_no_sense", cell)
    sense: InclinationSense = "falling" if sign == "-" else "rising"
    if used["plus"] == "falling":
        sense = SLANTED[sense]
    return {"over_range": True, "sense": sense, "typed": cell[:MAX_TYPED]}
