"""Readings of another instrument, from the rows of a table: which lines become readings, and why not.

What the file does not tell is asked, never guessed: without an answer nothing is made.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from .counter import parse_counter
from .csv_columns import find_columns
from .errors import SurveyError
from .gradient import parse_inclination

MOST_M = 5000
LARGEST = {"deg": 90.0, "pct": 1e6, "permille": 1e7, "one_in": 1e6}
MOST_REMARK = 400
MOST_TYPED = 40
SHOWN = 60  # characters of a cell in a sentence
SPACES = re.compile("[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]")
OVER = re.compile(
    r"([+-]?) ?(?:[<>]|over ?range|over|beyond range|beyond) ?([+-]?) ?(?:[0-9.,]+ ?[^0-9\n]{0,8})?"
)
SLANTED = {"rising": "falling", "falling": "rising", "level": "level"}
BARE = re.compile(r"[+-]? *[0-9.,]+")
COMMA, POINT = re.compile(r"[0-9],[0-9]"), re.compile(r"[0-9]\.[0-9]")
CODES = {
    "inclination_unreadable": "csv_inclination",
    "inclination_beyond_vertical": "csv_beyond_vertical",
    "gradient_one_in_zero": "csv_one_in_zero",
    "number_unreadable": "csv_counter",
    "counter_below_zero": "csv_counter_negative",
}

Row = Mapping[str, Any]


def read_readings(
    table: Mapping[str, Any], words: Mapping[str, Any], choices: Mapping[str, Any]
) -> dict[str, Any]:
    """Return what would become of every row, and what must be asked first.

    Parameters
    ----------
    table : mapping
        ``rows`` and ``ended`` of ``split_table``.
    words : mapping
        ``tables/readings_csv.json``.
    choices : mapping
        What a person chose, each absent or None where they did not: ``counter_column``,
        ``inclination_column``, ``remark_column`` (index; -1 for no remark), ``counter_unit`` (m, cm, mm,
        ft), ``inclination_unit`` (deg, pct, permille, one_in), ``plus`` (what a value without a minus
        means: rising or falling), ``decimal`` (point or comma), ``zero_m`` (what our counter shows where
        the file's distance is zero [m]).

    Returns
    -------
    dict
        ``header``, ``header_line``; ``choices`` as used and ``known``, how each came about (``file``,
        ``chosen`` or ``assumed``); ``asks``, the choices still needed; ``taken``, with ``line``,
        ``counter_m`` [m], ``inclination`` and ``remark`` or None; ``left``, with ``line``, ``code`` and
        ``values`` for the sentence; ``notes`` in the same form; ``unused``, the columns that are not taken.
        While something is asked, ``taken`` and ``left`` are empty.

    Raises
    ------
    SurveyError
        ``csv_column`` for a column that is not there; ``csv_no_rows`` if nothing stands under the header.

    References
    ----------
    International foot: 0.3048 m exactly. The rest: common practice, no source.

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
    used, known = _settled(found, choices)
    _check_columns(used, len(found["header"]))
    cells = [row["cells"] for row in data]
    if used["decimal"] is None:
        used["decimal"], known["decimal"] = _decimal(cells, used), "file"
    result: dict[str, Any] = {
        "header": found["header"],
        "header_line": found["header_line"],
        "choices": used,
        "known": known,
        "asks": _asks(cells, used),
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
    for row in data:
        _take(row, used, width, result)
    if not table["ended"]:
        result["notes"].append(_left(data[-1]["line"], "csv_last_line"))
    return result


def _settled(found: Row, choices: Row) -> tuple[dict[str, Any], dict[str, str]]:
    names = (
        "counter_column",
        "inclination_column",
        "remark_column",
        "counter_unit",
        "inclination_unit",
        "plus",
    )
    used: dict[str, Any] = {}
    known: dict[str, str] = {}
    for name in names:
        if choices.get(name) is not None:
            used[name], known[name] = choices[name], "chosen"
        else:
            used[name], known[name] = found[name], "file"
    if used["counter_unit"] is None:
        used["counter_unit"], known["counter_unit"] = "m", "assumed"
    if used["remark_column"] == -1:
        used["remark_column"] = None
    used["decimal"], known["decimal"] = choices.get("decimal"), "chosen"
    zero_m = choices.get("zero_m")
    used["zero_m"], known["zero_m"] = (0.0, "assumed") if zero_m is None else (float(zero_m), "chosen")
    return used, known


def _check_columns(used: Row, width: int) -> None:
    for name in ("counter_column", "inclination_column", "remark_column"):
        if used[name] is not None and not 0 <= used[name] < max(width, 1):
            raise SurveyError("csv_column", name)


def _cell(cells: Sequence[str], index: int | None) -> str:
    return cells[index] if index is not None and index < len(cells) else ""


def _decimal(rows: Sequence[Sequence[str]], used: Row) -> str:
    texts = [_cell(cells, used[n]) for cells in rows for n in ("counter_column", "inclination_column")]
    commas = sum(1 for text in texts if COMMA.search(text))
    return "," if commas > sum(1 for text in texts if POINT.search(text)) else "."


def _asks(rows: Sequence[Sequence[str]], used: Row) -> list[str]:
    asks = [name for name in ("counter_column", "inclination_column") if used[name] is None]
    if asks:
        return asks
    slopes = [_plain(_cell(cells, used["inclination_column"])) for cells in rows]
    if used["inclination_unit"] is None and any(BARE.fullmatch(text) for text in slopes):
        asks.append("inclination_unit")
    if used["plus"] is None and any(re.search("[1-9]", text) for text in slopes):
        asks.append("plus")
    return asks


def _unused(header: Sequence[str], used: Row) -> list[str]:
    taken = (used["counter_column"], used["inclination_column"], used["remark_column"])
    return [name[:SHOWN] for index, name in enumerate(header) if index not in taken and name]


def _left(line: int, code: str, /, **values: Any) -> dict[str, Any]:
    return {"line": line, "code": code, "values": values}


def _plain(cell: str) -> str:
    return SPACES.sub(" ", cell).lower().replace("−", "-")


def _take(row: Row, used: Row, width: int, result: dict[str, Any]) -> None:
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
        if remark and len(remark) > MOST_REMARK:
            result["notes"].append(_left(line, "csv_remark_cut", have=len(remark)))
            remark = remark[:MOST_REMARK]
        result["taken"].append({"line": line, "counter_m": counter_m, "inclination": slope, "remark": remark})


class _Refused(Exception):
    def __init__(self, code: str, text: str = "") -> None:
        self.code = code
        self.values = {"text": text[:SHOWN]} if text else {}


def _check_decimal(cell: str, used: Row) -> None:
    other = POINT if used["decimal"] == "," else COMMA
    if other.search(cell):
        raise _Refused("csv_decimal", cell)


def _counter(cell: str, used: Row) -> float:
    if not cell:
        raise _Refused("csv_no_counter")
    _check_decimal(cell, used)
    try:
        value = parse_counter(_plain(cell))
    except SurveyError as error:
        raise _Refused(CODES[error.code], cell) from error
    unit = used["counter_unit"]
    if unit != "m" and cell.lower().endswith("m"):
        raise _Refused("csv_counter_unit", cell)
    metres = value * 0.3048 if unit == "ft" else value / {"m": 1, "cm": 100, "mm": 1000}[unit]
    counter_m = float(metres + used["zero_m"])
    if not counter_m <= MOST_M:
        raise _Refused("csv_counter_far", cell)
    if counter_m < 0:
        raise _Refused("csv_counter_negative", cell)
    return counter_m


def _inclination(cell: str, used: Row) -> dict[str, Any]:
    if not cell:
        raise _Refused("csv_no_inclination")
    if beyond := OVER.fullmatch(_plain(cell)):
        return _beyond(cell, beyond[1] or beyond[2], ">" in cell, used)
    _check_decimal(cell, used)
    try:
        value = parse_inclination(_plain(cell), used["inclination_unit"] or "deg")
    except SurveyError as error:
        raise _Refused(CODES[error.code], cell) from error
    if value["size"] > LARGEST[value["unit"]]:
        raise _Refused("csv_inclination", cell)
    value["typed"] = cell[:MOST_TYPED]
    sense = value.get("sense", "rising")  # no sign is a plus
    value["sense"] = SLANTED[sense] if used["plus"] == "falling" else sense
    return value


def _beyond(cell: str, sign: str, more: bool, used: Row) -> dict[str, Any]:
    if not sign and not more:
        raise _Refused("csv_over_no_sense", cell)
    sense = "falling" if sign == "-" else "rising"
    if used["plus"] == "falling":
        sense = SLANTED[sense]
    return {"over_range": True, "sense": sense, "typed": cell[:MOST_TYPED]}
