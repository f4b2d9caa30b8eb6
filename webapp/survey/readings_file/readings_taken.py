"""Readings from a file beside what a run holds already: the same file taken twice doubles nothing."""

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, TypedDict

from .readings_csv import CsvReading

Row = Mapping[str, Any]
FIELDS = ("counter_m", "inclination", "remark")
RAW = ("counter_typed", "counter_unit", "counter_added_m")


def reading_id(file_sha256: str, run_id: str, line: int) -> str:
    """Return the id of the reading that a line of a file becomes: the same file, the same ids.

    References
    ----------
    RFC 9562, section 5.8: contents of our own.

    Examples
    --------
    >>> reading_id("0123456789abcdef" * 4, "019412f0-0000-7000-8000-00000000000f", 2)
    '019412f0-0000-8012-8345-0000026789a4'
    """
    at, own = f"{line:06x}", int(file_sha256[6:12], 16) ^ int(run_id[-6:], 16)
    return f"{run_id[:13]}-8{file_sha256[:3]}-8{file_sha256[3:6]}-{at}{own:06x}"


class MadeReading(TypedDict):
    """What a line of a file becomes: the fields of a reading, under its id."""

    line: int
    record_id: str
    fields: dict[str, Any]


class BesideStanding(TypedDict):
    """Which readings of a file are new to a run, and which it has already."""

    new: list[MadeReading]
    other: list[MadeReading]
    removed: list[MadeReading]
    gone: list[MadeReading]
    same: int
    places: int
    otherwise: bool


def beside_standing(
    taken: Sequence[CsvReading], file_sha256: str, run_id: str, standing: Sequence[Row]
) -> BesideStanding:
    """Return which readings of a file are new to a run and which it has already.

    Parameters
    ----------
    taken : sequence of mapping
        ``taken`` of ``read_readings``.
    standing : sequence of mapping
        ``id``, ``fields`` and ``removed`` of the run's readings, those removed among them.

    Returns
    -------
    dict
        ``new``, ``other`` (here with other values), ``removed`` (here and removed) and ``gone`` (here, but
        no longer among those that the file gives), each a list of ``line``, ``record_id`` and ``fields``;
        ``same``, how many are here as the file gives them; ``places``, how many of the new ones are at a
        centimetre where the run has a reading already; ``otherwise``, whether the file was taken with other
        answers before, so that new readings would stand among those of another column.

    Examples
    --------
    >>> row = {"line": 2, "counter_m": 1.0, "inclination": {}, "remark": None}
    >>> beside_standing([row], "0" * 64, "019412f0-0000-7000-8000-000000000000", [])["new"][0]["line"]
    2
    """
    known = {row["id"]: row for row in standing}
    occupied = {
        _centimetre(row["fields"]["counter_m"])
        for row in standing
        if not row["removed"] and row["fields"].get("counter_m") is not None
    }
    found: BesideStanding = {
        "new": [], "other": [], "removed": [], "gone": [], "same": 0, "places": 0, "otherwise": False,
    }  # fmt: skip
    for one in taken:
        row: Row = one
        record_id = reading_id(file_sha256, run_id, row["line"])
        fields = {"run_id": run_id, **{name: row[name] for name in FIELDS if row[name] is not None}}
        fields |= {name: row[name] for name in RAW if row.get(name) is not None}
        made: MadeReading = {"line": row["line"], "record_id": record_id, "fields": fields}
        here = known.get(record_id)
        if here is None:
            found["new"].append(made)
            found["places"] += _centimetre(row["counter_m"]) in occupied
        elif here["removed"]:
            found["removed"].append(made)
        elif all(here["fields"].get(name) == row[name] for name in FIELDS) and _same_raw(here["fields"], row):
            found["same"] += 1
        else:
            found["other"].append(made)
    lines = {row["line"] for row in taken}
    for row in standing:
        line = None if row["removed"] else _line_of(row["id"], file_sha256, run_id)
        if line is not None and line not in lines:
            found["gone"].append({"line": line, "record_id": row["id"], "fields": {"removed": True}})
    found["gone"].sort(key=lambda row: int(row["line"]))
    found["otherwise"] = len(found["other"]) + len(found["gone"]) > found["same"]
    return found


def _same_raw(fields: Row, row: Row) -> bool:
    """Whether the counter of the file is the same; one taken before it was kept has none."""
    return fields.get("counter_typed") is None or all(fields.get(name) == row.get(name) for name in RAW)


def _line_of(record_id: str, file_sha256: str, run_id: str) -> int | None:
    """The line of the file that a reading was made from; None if it was not."""
    line = record_id[24:30]
    if not re.fullmatch("[0-9a-f]{6}", line):
        return None
    return int(line, 16) if reading_id(file_sha256, run_id, int(line, 16)) == record_id else None


def _centimetre(counter_m: float) -> int:
    return math.floor(counter_m * 100 + 0.5)
