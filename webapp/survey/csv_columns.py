"""The columns of a table of readings: their names, units and what a value without a sign means.

The words stand in ``tables/readings_csv.json``.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from .errors import SurveyError

HEADER_WITHIN = 50  # rows
SHOWN = 60  # characters of a cell that are looked at
WORD = re.compile(r"mm/m|1 ?in|1:n|1/n|[a-zà-öø-ÿ]+|[%‰°]")

Row = Mapping[str, Any]


def find_columns(rows: Sequence[Row], words: Mapping[str, Any]) -> dict[str, Any]:
    """Return which columns the header line names, and what it tells of their units.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of ``split_table``.
    words : mapping
        ``tables/readings_csv.json``.

    Returns
    -------
    dict
        ``header`` (the names as written, or ``Column 1`` and so on), ``header_line`` (0 for none),
        ``first`` (index of the first row of data), ``counter_column``, ``inclination_column``,
        ``remark_column`` (index or None), ``counter_unit``, ``inclination_unit``, ``plus`` (or None).

    Raises
    ------
    Nothing.

    References
    ----------
    Names of columns: common practice, no source.

    Examples
    --------
    >>> table = {"columns": [{"column": "counter", "words": ["distance"]}], "units": [], "plus": []}
    >>> find_columns([{"line": 1, "cells": ["Distance"]}], table)["counter_column"]
    0
    """
    found = None
    for index, row in enumerate(rows[:HEADER_WITHIN]):
        named = [_column(cell, words) for cell in row["cells"]]
        if "counter" in named and ("inclination" in named or len(named) == 1):
            found = index
            break
    if found is None:
        return _headless(rows)
    cells = list(rows[found]["cells"])
    first = found + 1
    below = rows[first]["cells"] if first < len(rows) else []
    if len(rows) > first + 1 and not any(re.search("[0-9]", cell) for cell in below):
        first += 1  # a line of units
    else:
        below = []
    told = [f"{cell} {below[k]}" if k < len(below) else cell for k, cell in enumerate(cells)]
    at = {name: _first(cells, name, words) for name in ("counter", "inclination", "remark")}
    slope = told[at["inclination"]] if at["inclination"] is not None else ""
    place = told[at["counter"]] if at["counter"] is not None else ""
    return {
        "header": cells,
        "header_line": rows[found]["line"],
        "first": first,
        "counter_column": at["counter"],
        "inclination_column": at["inclination"],
        "remark_column": at["remark"],
        "counter_unit": _told(place, [r for r in words["units"] if r["column"] == "counter"], "unit"),
        "inclination_unit": _told(slope, [r for r in words["units"] if r["column"] == "inclination"], "unit"),
        "plus": _told(slope, words["plus"], "plus"),
    }


def _headless(rows: Sequence[Row]) -> dict[str, Any]:
    width = max(len(row["cells"]) for row in rows[:HEADER_WITHIN]) if rows else 0
    names = [f"Column {k + 1}" for k in range(width)]
    return {
        "header": names, "header_line": 0, "first": 0, "counter_column": None, "inclination_column": None,
        "remark_column": None, "counter_unit": None, "inclination_unit": None, "plus": None,
    }  # fmt: skip


def _words(text: str) -> list[str]:
    return [word.replace(" ", "") for word in WORD.findall(text.lower())]


def _column(cell: str, words: Mapping[str, Any]) -> str:
    if len(cell) > SHOWN:
        return ""
    own = _words(cell)
    for row in words["columns"]:
        if any(word in row["words"] for word in own):
            return str(row["column"])
    return ""


def _first(cells: Sequence[str], name: str, words: Mapping[str, Any]) -> int | None:
    for index, cell in enumerate(cells):
        if _column(cell, words) == name:
            return index
    return None


def _told(text: str, table: Sequence[Row], part: str) -> str | None:
    own = _words(text[: 2 * SHOWN])
    for row in table:
        if any(word in row["words"] for word in own):
            return str(row[part])
    return None


def csv_sentence(words: Mapping[str, Any], code: str, values: Mapping[str, Any]) -> str:
    """Return the sentence for a line that is not taken, or for a file that cannot be.

    Parameters
    ----------
    words : mapping
        ``tables/readings_csv.json``.
    code : str
        The code of the line or of the error.
    values : mapping
        What stands in the sentence; of an error its field, as ``kind``.

    Returns
    -------
    str
        The sentence.

    Raises
    ------
    SurveyError
        ``finding_unknown`` if the table lacks the code.

    References
    ----------
    Fallbook's own wording.

    Examples
    --------
    >>> table = {"rows": [{"code": "a", "sentence": "It has {have} cells."}], "faults": []}
    >>> csv_sentence(table, "a", {"have": 2})
    'It has 2 cells.'
    """
    for row in (*words["rows"], *words["faults"]):
        if row["code"] == code and row.get("kind", "") in ("", values.get("kind", "")):
            text: str = row["sentence"]
            for name, value in values.items():
                text = text.replace("{" + name + "}", f"“{value}”" if name == "text" else str(value))
            return text
    raise SurveyError("finding_unknown", "code")
