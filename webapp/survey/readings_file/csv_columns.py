"""The columns of a table of readings: where they are named, and what their names and units tell.

The words stand in ``tables/readings_csv.json``.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Literal, TypedDict

from ..errors import SurveyError
from ..table_types.codes import ReadingsCsv
from .csv_numbers import NUMERIC
from .csv_table import CsvRow

HEADER_WITHIN = 200  # rows
SHOWN = 60  # characters of a cell that are looked at
FOLLOWING = 6  # rows below a header that are looked at
WORD = re.compile(
    r"° ?[cf](?![a-z])|(?<![a-z])(?:mm|cm|m|km|in|ft|l)/(?:min|mm|m|s|h|ft|in)(?![a-z])"
    r"|(?<![0-9a-z])1 ?(?:in(?![a-z])|[:/](?= ?[nx](?![a-z])| *\Z| *[\])]))(?: ?[nx](?![a-z]))?"
    r"|[a-z]+[23](?![0-9a-z])|[a-z]+|[%‰°#]"
)
INSIDE = re.compile(r"[\[(<{]([^\])>}]*)[\])>}]|(?:[/_,] ?|(?<![^ ])(?<!1 )in )([a-z%‰°\"']{1,4})\Z")
BARE = re.compile(r"[+-]? ?[0-9.,:/ -]*[0-9.,:/ -]")
CAMEL = re.compile(r"([a-zà-öø-ÿ])([A-ZÀ-ÖØ-Þ])")
EDGE = " .[](){}<>"
NOTHING = ("", "-", "–")


CsvValues = Mapping[str, str | int]  # what stands in a sentence


class CsvUnit(TypedDict):
    """A unit in the name of a column, and of what it is one."""

    column: str
    unit: str


class CsvColumn(TypedDict):
    """What the name of a column tells."""

    strong: list[str]
    weak: list[str]
    units: list[CsvUnit]
    plus: str | None


class CsvColumns(TypedDict):
    """Where the columns are named, and what each name tells."""

    header: list[str]
    header_line: int
    first: int
    columns: list[CsvColumn]
    feet: bool


def find_columns(rows: Sequence[CsvRow], words: ReadingsCsv) -> CsvColumns:
    """Return where the columns are named, and what each name tells.

    Returns
    -------
    dict
        ``header`` (the names as written, or ``Column 1`` and so on), ``header_line`` (0 for none),
        ``first`` (index of the first row of data) and ``columns``, each with ``strong`` and ``weak`` (the
        kinds that its words stand for), ``units`` (``column`` and ``unit``) and ``plus`` (or None); ``feet``,
        whether feet or inches stand in any name or above the names.

    Examples
    --------
    >>> table = {"columns": [{"column": "counter", "strength": "strong", "words": ["distance"]}]}
    >>> find_columns([{"line": 1, "cells": ["Distance"]}, {"line": 2, "cells": ["1"]}], table)["columns"]
    [{'strong': ['counter'], 'weak': [], 'units': [], 'plus': None}]
    """
    index = _index(words)
    found = _header_at(rows, index)
    if found is None:
        width = max((len(row["cells"]) for row in rows[:HEADER_WITHIN]), default=0)
        names = [f"Column {k + 1}" for k in range(width)]
        described = [_described("", "", index) for _ in names]
        return {"header": names, "header_line": 0, "first": 0, "columns": described, "feet": False}
    cells = list(rows[found]["cells"])
    first = found + 1
    below: Sequence[str] = []
    if first + 1 < len(rows) and _is_units(rows[first]["cells"], index):
        below, first = rows[first]["cells"], first + 1
    described = [_described(cell, below[k] if k < len(below) else "", index) for k, cell in enumerate(cells)]
    above = [_described(cell, "", index) for row in rows[:found] for cell in row["cells"]]
    feet = any(unit["unit"] in ("ft", "in") for one in (*above, *described) for unit in one["units"])
    return {
        "header": cells, "header_line": rows[found]["line"], "first": first, "columns": described,
        "feet": feet,
    }  # fmt: skip


class _Index(TypedDict):
    """The table turned round: from a word to what it stands for; a part of a word, its kind, how sure."""

    columns: dict[str, list[tuple[str, str]]]
    units: dict[str, tuple[str, str]]
    inside: dict[str, tuple[str, str]]
    plus: dict[str, str]
    ends: list[tuple[str, str, str]]
    begins: list[tuple[str, str, str]]
    fold: dict[str, str]


def _index(words: ReadingsCsv) -> _Index:
    fold = {letter: plain for plain, letters in words.get("fold", {}).items() for letter in letters}
    found: _Index = {
        "columns": {}, "units": {}, "inside": {}, "plus": {}, "ends": [], "begins": [], "fold": fold,
    }  # fmt: skip
    for row in words.get("columns", ()):
        for word in row["words"]:
            found["columns"].setdefault(word, []).append((row["column"], row.get("strength", "strong")))
    for part in words.get("parts", ()):
        for word in part["words"]:
            found[part["where"]].append((word, part["column"], part.get("strength", "strong")))
    units: tuple[Literal["units", "inside"], ...] = ("units", "inside")
    for name in units:
        for unit in words.get(name, ()):
            for word in unit["words"]:
                found[name].setdefault(word, (unit["column"], unit["unit"]))
    for sign in words.get("plus", ()):
        for word in sign["words"]:
            found["plus"].setdefault(word, sign["plus"])
    return found


def _folded(text: str, index: _Index) -> str:
    """Small letters without their marks; words that only a capital parts are parted."""
    fold = index["fold"]
    return "".join(fold.get(sign, sign) for sign in CAMEL.sub(r"\1 \2", text[: 2 * SHOWN]).lower())


def _tokens(text: str) -> list[str]:
    return [word.replace(" ", "") for word in WORD.findall(text)]


def _kinds(token: str, index: _Index) -> list[tuple[str, str]]:
    """What a word stands for, with how sure that is; a compound is known by its ends."""
    if token in index["columns"]:
        return list(index["columns"][token])
    found = [(column, strength) for part, column, strength in index["begins"] if token.startswith(part)]
    for part, column, strength in index["ends"]:
        if token.endswith(part):
            return [*found, (column, strength)]
    return found


def _units(text: str, index: _Index, alone: bool) -> list[tuple[str, str]]:
    """The units in a text; single letters and inches count only where a unit is expected."""
    found = [index["units"][token] for token in _tokens(text) if token in index["units"]]
    for inside, tail in [(text, "")] if alone else INSIDE.findall(text):
        if (word := (inside or tail).strip(EDGE)) in index["inside"] and word not in index["units"]:
            found.append(index["inside"][word])
    return list(dict.fromkeys(found))


def _described(cell: str, below: str, index: _Index) -> CsvColumn:
    text = _folded(cell, index) if len(cell) <= SHOWN else ""
    kinds = [kind for token in _tokens(text) for kind in _kinds(token, index)]
    units = _units(text, index, text.strip(EDGE) in index["inside"])
    units += [unit for unit in _units(_folded(below, index), index, True) if unit not in units]
    plus = [index["plus"][token] for token in _tokens(text) if token in index["plus"]]
    return {
        "strong": sorted({column for column, strength in kinds if strength == "strong"}),
        "weak": sorted({column for column, strength in kinds if strength == "weak"}),
        "units": [{"column": column, "unit": unit} for column, unit in units],
        "plus": plus[0] if plus else None,
    }


def _is_units(cells: Sequence[str], index: _Index) -> bool:
    """Whether a row below the names holds units and nothing else."""
    some = False
    for cell in cells:
        text = _folded(cell, index).strip(EDGE)
        if text in NOTHING:
            continue
        if len(cell) > SHOWN or BARE.fullmatch(text):
            return False
        tokens = _tokens(text)
        if text not in index["inside"] and not (tokens and all(token in index["units"] for token in tokens)):
            return False
        some = some or any(column != "other" for column, _ in _units(text, index, True))
    return some


def _header_at(rows: Sequence[CsvRow], index: _Index) -> int | None:
    best, most = None, 0
    for at, row in enumerate(rows[:HEADER_WITHIN]):
        points = _header_points(rows, at, row["cells"], index)
        if points > most:
            best, most = at, points
    return best


def _header_points(rows: Sequence[CsvRow], at: int, cells: Sequence[str], index: _Index) -> int:
    """How much a row looks like one of names: by its words, and by the rows of numbers below it."""
    named = [cell for cell in cells if cell not in NOTHING]
    if any(BARE.fullmatch(cell[:SHOWN]) for cell in named):
        return 0
    described = [_described(cell, "", index) for cell in named]
    columns = [{*t["strong"], *t["weak"], *(u["column"] for u in t["units"])} for t in described]
    known = sum(1 for one in columns if one)
    both = any("counter" in one for one in columns) and any("inclination" in one for one in columns)
    first = at + 1
    if first < len(rows) and _is_units(rows[first]["cells"], index):
        first += 1
    below = [row["cells"] for row in rows[first : first + FOLLOWING]]
    follow = sum(1 for row in below if _of_numbers(row, len(cells)))
    if both:
        return 20 + known + follow
    if len(named) < 2 and not (len(cells) == 1 and known):
        return 0
    return known + follow if follow > 1 or (known and follow) else 0


def _of_numbers(cells: Sequence[str], width: int) -> bool:
    """Whether a row stands under a header of so many cells and holds numbers."""
    filled = [cell for cell in cells if cell]
    numbers = sum(1 for cell in filled if len(cell) <= SHOWN and NUMERIC.fullmatch(cell))
    return not any(cells[width:]) and numbers >= min(width, 2) and 2 * numbers >= len(filled)


def csv_sentence(words: ReadingsCsv, code: str, values: CsvValues) -> str:
    """Return the sentence for a line that is not taken, or for a file that cannot be.

    Parameters
    ----------
    values : mapping
        What stands in the sentence; of an error its field, as ``kind``.

    Raises
    ------
    SurveyError
        ``finding_unknown`` if the table lacks the code.

    Examples
    --------
    >>> table = {"rows": [{"code": "a", "sentence": "It has {have} cells."}], "faults": []}
    >>> csv_sentence(table, "a", {"have": 2})
    'It has 2 cells.'
    """
    of_files = [one for one in words["faults"] if one["kind"] in ("", values.get("kind", ""))]
    for row in (*words["rows"], *of_files):
        if row["code"] == code:
            text = row["sentence"]
            for name, value in values.items():
                text = text.replace("{" + name + "}", f"“{value}”" if name == "text" else str(value))
            return text
    raise SurveyError("finding_unknown", "code")
