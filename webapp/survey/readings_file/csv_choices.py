"""What is known of a file of readings, how it came to be known, and what a person has to say first."""

import re
from collections.abc import Mapping, Sequence
from typing import Literal, TypedDict

from ..errors import SurveyError
from .csv_columns import CsvColumn, CsvColumns
from .csv_fit import LOOKED_AT, CsvFits, fit_columns
from .csv_numbers import count_marks, find_decimal, grouping_of, plain_cell

PartName = Literal["counter_column", "inclination_column", "remark_column"]
UnitName = Literal["counter_unit", "inclination_unit", "plus"]
CsvKind = Literal["counter", "inclination", "remark"]
BARE = re.compile(r"[+-]? *[0-9.,]+")
PARTS: tuple[tuple[PartName, CsvKind], ...] = (
    ("counter_column", "counter"),
    ("inclination_column", "inclination"),
    ("remark_column", "remark"),
)

UNITS: tuple[tuple[UnitName, tuple[PartName, CsvKind]], ...] = (
    ("counter_unit", PARTS[0]),
    ("inclination_unit", PARTS[1]),
    ("plus", PARTS[1]),
)


class CsvAnswers(TypedDict, total=False):
    """What a person said of a file that holds for the next one of its kind too; -1: no remark."""

    counter_column: int
    inclination_column: int
    remark_column: int
    counter_unit: str
    inclination_unit: str
    plus: str
    decimal: str


class CsvChoices(TypedDict, total=False):
    """What a person chose, each absent or None where they did not; what was said of an earlier file."""

    counter_column: int | None
    inclination_column: int | None
    remark_column: int | None
    counter_unit: str | None
    inclination_unit: str | None
    plus: str | None
    decimal: str | None
    zero_m: float | None
    remembered: CsvAnswers | None


class CsvUsed(TypedDict):
    """What is used for each choice; None where a person has to say it first."""

    counter_column: int | None
    inclination_column: int | None
    remark_column: int | None
    counter_unit: str | None
    inclination_unit: str | None
    plus: str | None
    decimal: str | None
    zero_m: float


class CsvSettled(TypedDict):
    """What is used for each choice, how it is known, and what is still to be asked."""

    choices: CsvUsed
    known: dict[str, str]
    asks: list[str]
    may_be: dict[str, list[int]]
    grouping: str


def settle_choices(
    found: CsvColumns, rows: Sequence[Sequence[str]], separator: str, choices: CsvChoices
) -> CsvSettled:
    """Return what is used for each choice, how it is known, and what is still to be asked.

    Parameters
    ----------
    found : mapping
        What ``find_columns`` returned.

    Returns
    -------
    dict
        ``choices`` and ``known`` by name, ``asks``, ``may_be`` (which columns the distance and the
        inclination may be, the likeliest first) and ``grouping``, the mark that parts thousands.

    Raises
    ------
    SurveyError
        ``csv_column`` for a column that is not there.

    References
    ----------
    Decision D25.

    Examples
    --------
    >>> told = {"strong": ["counter"], "weak": [], "units": [], "plus": None}
    >>> found = {"header": ["Way"], "columns": [told], "feet": False}
    >>> settle_choices(found, [["0.5"], ["1.5"]], ";", {})["asks"]
    ['inclination_column']
    """
    shown = [cell for row in rows[:LOOKED_AT] for cell in row]
    all_over = count_marks(shown)
    mark = choices.get("decimal") or find_decimal(all_over, all_over, separator) or ""
    fit = fit_columns(found["columns"], rows, mark)
    used, provenance = _columns(found, fit, choices)
    _units(found, fit, choices, used, provenance)
    marks = count_marks(
        row[column]
        for row in rows
        for name, _ in PARTS[:2]
        if (column := used[name]) is not None and column < len(row)
    )
    _decimal(marks, find_decimal(marks, all_over, separator), choices, used, provenance)
    zero_m = choices.get("zero_m")
    used["zero_m"], provenance["zero_m"] = (0.0, "assumed") if zero_m is None else (float(zero_m), "chosen")
    asks = _asks(rows, used)
    stated = provenance["decimal"] != "file"
    return {
        "choices": used,
        "known": provenance,
        "asks": asks,
        "may_be": {
            "counter_column": fit["counter"]["may_be"],
            "inclination_column": fit["inclination"]["may_be"],
        },
        "grouping": grouping_of(used["decimal"], marks, stated) if used["decimal"] else "",
    }


def _fits(fit: CsvFits, kind: CsvKind) -> list[bool] | None:
    """For each column whether it can be read so; None of remarks, for which any can."""
    return None if kind == "remark" else fit[kind]["fits"]


def _columns(found: CsvColumns, fit: CsvFits, choices: CsvChoices) -> tuple[CsvUsed, dict[str, str]]:
    """The columns: as said, else as said of an earlier file of the same kind, else as the file tells."""
    before: CsvAnswers = choices.get("remembered") or {}
    used: CsvUsed = {
        "counter_column": None, "inclination_column": None, "remark_column": None, "counter_unit": None,
        "inclination_unit": None, "plus": None, "decimal": None, "zero_m": 0.0,
    }  # fmt: skip
    provenance: dict[str, str] = {}
    for name, kind in PARTS:
        index, fits = before.get(name), _fits(fit, kind)
        if choices.get(name) is not None:
            used[name], provenance[name] = choices[name], "chosen"
        elif index is not None and index < len(found["columns"]) and (fits is None or fits[index]):
            used[name], provenance[name] = index, "remembered"
        else:
            used[name], provenance[name] = fit[kind]["column"], "file"
        if name == "remark_column" and used[name] == -1:
            used[name] = None
        column = used[name]
        if column is not None and not 0 <= column < max(len(found["columns"]), 1):
            raise SurveyError("csv_column", name)
    if used["inclination_column"] is not None and used["inclination_column"] == used["counter_column"]:
        used["inclination_column"], provenance["inclination_column"] = None, "file"
    return used, provenance


def _units(
    found: CsvColumns, fit: CsvFits, choices: CsvChoices, used: CsvUsed, provenance: dict[str, str]
) -> None:
    """The units and what a plus means: those of the columns that are used, not of any other."""
    before: CsvAnswers = choices.get("remembered") or {}
    counter, slope = used["counter_column"], used["inclination_column"]
    from_file = {
        "counter_unit": None if counter is None else fit["counter"]["units"][counter],
        "inclination_unit": None if slope is None else _slope_unit(found["columns"][slope]),
        "plus": None
        if slope is None
        else _plus(found["columns"][slope], fit["inclination"]["negative"][slope]),
    }
    for name, of in UNITS:
        same = used[of[0]] in (before.get(of[0]), fit[of[1]]["column"])
        if choices.get(name) is not None:
            used[name], provenance[name] = choices[name], "chosen"
        elif before.get(name) is not None and same:
            used[name], provenance[name] = before[name], "remembered"
        else:
            used[name], provenance[name] = from_file[name], "file"
    if used["counter_unit"] is None:
        doubtful = counter is not None and (
            found["feet"] or fit["counter"]["large"][counter] or _several(found["columns"][counter])
        )
        used["counter_unit"], provenance["counter_unit"] = (None, "file") if doubtful else ("m", "assumed")


def _several(kind: CsvColumn) -> bool:
    return len([one for one in kind["units"] if one["column"] == "counter"]) > 1


def _slope_unit(kind: CsvColumn) -> str | None:
    units = [one["unit"] for one in kind["units"] if one["column"] == "inclination"]
    return units[0] if len(units) == 1 else None


def _plus(kind: CsvColumn, negative: bool) -> str | None:
    """What the name says of a plus; a fall that is mostly below zero says nothing."""
    return None if kind["plus"] == "falling" and negative else kind["plus"]


def _decimal(
    marks: Mapping[str, int],
    by_itself: str | None,
    choices: CsvChoices,
    used: CsvUsed,
    provenance: dict[str, str],
) -> None:
    before = (choices.get("remembered") or {}).get("decimal")
    if choices.get("decimal") is not None:
        used["decimal"], provenance["decimal"] = choices["decimal"], "chosen"
    elif before is not None and not (marks["comma"] if before == "." else marks["point"]):
        used["decimal"], provenance["decimal"] = before, "remembered"
    else:
        used["decimal"], provenance["decimal"] = by_itself, "file"


def _asks(rows: Sequence[Sequence[str]], used: CsvUsed) -> list[str]:
    asks: list[str] = [name for name, _ in PARTS[:2] if used[name] is None]
    if asks:
        return asks
    column = used["inclination_column"]
    slopes = [plain_cell(row[column]) for row in rows if column is not None and column < len(row)]
    asks = [name for name in ("decimal", "counter_unit") if used[name] is None]
    if used["inclination_unit"] is None and any(BARE.fullmatch(text) for text in slopes):
        asks.append("inclination_unit")
    if used["plus"] is None and any(re.search("[1-9]", text) for text in slopes):
        asks.append("plus")
    return asks
