"""Which column of a table is the distance and which the inclination: points for name, unit and numbers.

A column is taken only where it is named well and no other could be meant; else a person is asked.
"""

import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import TypedDict

from ..errors import SurveyError
from .csv_columns import CsvColumn
from .csv_numbers import OTHER, is_long, plain_cell, plain_number

LOOKED_AT = 2000  # rows
MAX_COUNTER = {"m": 5000.0, "cm": 500_000.0, "mm": 5_000_000.0, "km": 5.0, "ft": 16_404.0, "in": 196_850.0}
SURE, POSSIBLE, OUT = 4, 1, -100
STRONG, WEAK, UNIT, GROWS = 5, 3, 2, 1
OTHER_KIND, STANDS_STILL, COUNTS = -5, -4, -2
NEVER_MOVED = 5  # rows of one and the same value, from which on it is odd
FAR_M, WIDE_M = 200, 10  # beyond these, numbers without a unit may be no metres
LENGTH = re.compile(r"\+?([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?(mm|cm|km|m|ft|in|'|\")?")
SLOPE = re.compile(
    r"([+-]?) ?(?:1 ?(?:in|:|/) ?)?([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?(%|‰|mm/m|°|deg|pct|[a-z]*)"
)
ONE_IN = re.compile(r"[+-]? ?1 ?(?:in|:|/) ?[0-9.]+")
OVER = re.compile(r"[+-]? ?(?:[<>]|over|beyond)[^\n]*")
CELL_UNITS = {
    "%": "pct", "pct": "pct", "percent": "pct", "‰": "permille", "mm/m": "permille", "°": "deg", "deg": "deg",
}  # fmt: skip
LENGTHS = {"'": "ft", '"': "in"}


class _Seen(TypedDict):
    """What stands in the cells of a column, read as lengths and as slopes."""

    filled: int
    lengths: list[float]
    length_units: list[str]
    slopes: list[float]
    slope_units: list[str]
    over: int


class _Shape(TypedDict):
    """How numbers go on: one way, not at all, or as the rows are counted; a line may be odd."""

    grows: bool
    still: bool
    counts: bool


class _Score(_Shape):
    """How much a column looks like one of a kind."""

    points: int
    unit: str | None
    other: bool
    large: bool
    strong: bool
    negative: bool


class CsvNote(TypedDict):
    """Which column holds the remarks, and which others could."""

    column: int | None
    may_be: list[int]


class CsvFit(CsvNote):
    """Which column a number stands in, with what is known of each."""

    units: list[str | None]
    fits: list[bool]
    large: list[bool]
    negative: list[bool]


class CsvFits(TypedDict):
    """The columns of distance, inclination and remark."""

    counter: CsvFit
    inclination: CsvFit
    remark: CsvNote


def fit_columns(columns: Sequence[CsvColumn], rows: Sequence[Sequence[str]], decimal: str) -> CsvFits:
    """Return for distance, inclination and remark which column it is, and which others could be meant.

    Parameters
    ----------
    columns : sequence of mapping
        ``columns`` of ``find_columns``.

    Returns
    -------
    dict
        ``counter``, ``inclination`` and ``remark``, each with ``column`` (index, or None if a person has to
        say it) and ``may_be`` (indices, the likeliest first); of the first two also, for each column,
        ``units`` (by its name or its cells, or None), ``fits`` (whether it can be read so), ``large``
        (whether distances are large for metres) and ``negative`` (whether most inclinations are).

    Examples
    --------
    >>> name = {"strong": [], "weak": ["counter"], "units": [], "plus": None}
    >>> way = {"strong": ["counter"], "weak": [], "units": [{"column": "counter", "unit": "m"}], "plus": None}
    >>> found = fit_columns([name, way], [["1", "0.0"], ["2", "1.5"], ["3", "3.0"]], ".")
    >>> found["counter"]["column"], found["counter"]["units"]
    (1, [None, 'm'])
    """
    shown = rows[:LOOKED_AT]
    seen = [_seen([row[k] for row in shown if k < len(row) and row[k]], decimal) for k in range(len(columns))]
    lengths = [_length(one, kind) for one, kind in zip(seen, columns, strict=True)]
    slopes = [_slope(one, kind) for one, kind in zip(seen, columns, strict=True)]
    notes = [k for k, one in enumerate(columns) if [*one["strong"], *one["weak"]] == ["remark"]]
    return {
        "counter": _decided(lengths, _length_rivals),
        "inclination": _decided(slopes, _slope_rivals),
        "remark": {"column": notes[0] if notes else None, "may_be": notes},
    }


def _plain(cell: str, decimal: str) -> str:
    """A cell with a point for its decimal mark; of a mark that is not known yet any will do."""
    if not decimal:
        return plain_cell(cell).replace(",", ".")
    try:
        return plain_number(cell, decimal, OTHER[decimal]).replace(",", ".")
    except SurveyError:
        return ""


def _seen(cells: Sequence[str], decimal: str) -> _Seen:
    texts = [_plain(cell, decimal) for cell in cells if not is_long(cell)]
    lengths = [found for text in texts if (found := LENGTH.fullmatch(text))]
    slopes = [found for text in texts if (found := SLOPE.fullmatch(text))]
    return {
        "filled": len(cells),
        "lengths": [float(found[1]) for found in lengths],
        "length_units": [LENGTHS.get(found[2], found[2]) for found in lengths if found[2]],
        "slopes": [-float(found[2]) if found[1] == "-" else float(found[2]) for found in slopes],
        "slope_units": [CELL_UNITS[found[3]] for found in slopes if found[3] in CELL_UNITS]
        + ["one_in" for text in texts if ONE_IN.fullmatch(text)],
        "over": sum(1 for text in texts if OVER.fullmatch(text)),
    }


def _shape(values: Sequence[float]) -> _Shape:
    steps = [after - before for before, after in pairwise(values)]
    up, down = sum(1 for step in steps if step > 0), sum(1 for step in steps if step < 0)
    most, odd = max(up, down), min(up, down)
    grows = most > 0 and (10 * odd <= most or (odd == 1 and most > 2))
    whole = 10 * sum(1 for value in values if value == int(value)) >= 8 * len(values)
    return {"grows": grows, "still": len(values) > 1 and most == 0, "counts": whole and grows}


def _unit(kind: CsvColumn, column: str, in_cells: Sequence[str], filled: int) -> str | None:
    """The one unit that a column has by its name, else in most of its cells."""
    named = [one["unit"] for one in kind["units"] if one["column"] == column]
    if named:
        return named[0] if len(named) == 1 else None
    return next((unit for unit in sorted(set(in_cells)) if 2 * in_cells.count(unit) > filled), None)


def _other_unit(kind: CsvColumn, column: str) -> bool:
    """Whether the name has a unit, and none of this sort."""
    return bool(kind["units"]) and all(one["column"] != column for one in kind["units"])


def _name_points(kind: CsvColumn, column: str, unit: str | None, rival: str) -> tuple[int, bool]:
    """Points for the words of a name, and whether they stand for something else too."""
    strong = {one for one in kind["strong"] if one != rival or not unit}
    weak = {one for one in kind["weak"] if one != rival or not unit}
    other = bool((strong | weak) - {column})
    points = STRONG if column in strong else WEAK if column in weak else 0
    return points + (OTHER_KIND if other else 0), other


def _length(seen: _Seen, kind: CsvColumn) -> _Score:
    values, in_cells = seen["lengths"], seen["length_units"]
    unit = _unit(kind, "counter", in_cells, seen["filled"])
    points, other = _name_points(kind, "counter", unit, "inclination")
    reach = sum(1 for value in values if value <= MAX_COUNTER[unit or "mm"])
    out = _other_unit(kind, "counter") or 2 * len(values) <= seen["filled"] or 2 * reach <= len(values)
    shape = _shape(values)
    points += UNIT * bool(unit) + GROWS * shape["grows"] + STANDS_STILL * shape["still"]
    if shape["counts"] and not unit and "counter" not in kind["strong"]:
        points += COUNTS
    return {
        "points": OUT if out else points, "unit": unit, "other": other, "large": _is_large(values, in_cells),
        "strong": "counter" in kind["strong"], "negative": False, **shape,
    }  # fmt: skip


def _is_large(values: Sequence[float], units: Sequence[str]) -> bool:
    """Whether numbers without a unit are larger, or go on in larger whole steps, than metres in a pipe do."""
    steps = [abs(after - before) for before, after in pairwise(values)]
    whole = all(value == int(value) for value in values)
    far = bool(values) and sorted(values)[len(values) // 2] > FAR_M
    wide = bool(steps) and whole and sorted(steps)[len(steps) // 2] >= WIDE_M
    return far or wide or any(unit != "m" for unit in units)


def _slope(seen: _Seen, kind: CsvColumn) -> _Score:
    values = seen["slopes"]
    unit = _unit(kind, "inclination", seen["slope_units"], seen["filled"])
    points, other = _name_points(kind, "inclination", unit, "counter")
    known = len(values) + seen["over"]
    steep = unit == "deg" and 2 * sum(1 for value in values if abs(value) > 90) > len(values)
    out = _other_unit(kind, "inclination") or 2 * known <= seen["filled"] or steep
    shape = _shape(values)
    points += UNIT * bool(unit)
    if shape["still"] and len(values) >= NEVER_MOVED:
        points = min(points - 1, SURE - 1)
    if shape["counts"] and not unit and len(values) > 2:
        points += COUNTS
    return {
        "points": OUT if out else points, "unit": unit, "other": other, "large": False,
        "strong": "inclination" in kind["strong"],
        "negative": 2 * sum(1 for value in values if value < 0) > sum(1 for value in values if value != 0),
        **shape,
    }  # fmt: skip


def _decided(scores: Sequence[_Score], rivals: Callable[[_Score, _Score], bool]) -> CsvFit:
    """The one column that is sure and has no rival; else none."""
    sure = [k for k, one in enumerate(scores) if one["points"] >= SURE]
    ahead = sorted(
        (k for k, one in enumerate(scores) if one["points"] > OUT), key=lambda k: -scores[k]["points"]
    )
    alone = len(sure) == 1 and not any(rivals(scores[sure[0]], scores[k]) for k in ahead if k != sure[0])
    return {
        "column": sure[0] if alone else None,
        "may_be": [k for k in ahead if scores[k]["points"] >= POSSIBLE],
        "units": [one["unit"] for one in scores],
        "fits": [one["points"] > OUT for one in scores],
        "large": [one["large"] for one in scores],
        "negative": [one["negative"] for one in scores],
    }


def _length_rivals(best: _Score, one: _Score) -> bool:
    """Whether another column could be the distance: it grows with a unit, or the best is in doubt."""
    if one["other"] or one["still"]:
        return False
    if best["grows"]:
        return bool(one["grows"] and (one["unit"] or not best["strong"]))
    return True


def _slope_rivals(best: _Score, one: _Score) -> bool:
    """Whether another column could be the inclination: it has a unit of slopes and moves."""
    return bool(one["unit"] and not one["other"] and not one["still"])
