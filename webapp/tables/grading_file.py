"""A firm's own limits of the condition classes: of the form of tables/grading_limits.json, checked by row.

The sentences name the row by its place in the file, counted from 1.
"""

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

from ..errors import AppError
from ..survey.flow.narrowing import FORMS
from ..survey.grading.grading import GOALS
from .shipped import shipped

MAX_BYTES = 5 * 1024 * 1024
MAX_FAULTS = 200
FORM_UNIT = {"step": "mm"}
TEXTS = ("name", "note", "classes_source", "point_length_source", "narrowing_source", "narrowing_certainty")
CERTAIN = ("source", "certainty")


def read(path: Path) -> Any:
    """Return the scheme in a file; AppError with every fault by its row if it is not sound."""
    scheme = parse(path)
    faults = check(scheme)
    if faults:
        more = f" And {len(faults) - 5} more." if len(faults) > 5 else ""
        raise AppError("grading_limits_faulty", f"{path}: {' '.join(faults[:5])}{more}")
    return scheme


def parse(path: Path) -> Any:
    """Return what a file holds; AppError if it cannot be read as JSON."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise AppError("grading_limits_faulty", f"{path} is larger than 5 MB.")
        return json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise AppError("file_unreadable", f"({path}: {error.strerror})") from error
    except (ValueError, RecursionError) as error:
        raise AppError("file_not_json", f"({path})") from error


def check(scheme: Any) -> list[str]:
    """Return every fault of a scheme as a sentence, by row; empty if it can be used."""
    if not isinstance(scheme, dict) or scheme.get("format") != "fallbook-grading":
        return ["This is not a file of limits: its format is not fallbook-grading."]
    if scheme.get("version") != 1:
        return ["Only version 1 of the format is known here."]
    found: list[str] = []
    for fault in _faults(scheme):
        found.append(fault)
        if len(found) == MAX_FAULTS:
            break
    return found


def _faults(scheme: dict[str, Any]) -> Iterator[str]:
    for name in TEXTS:
        if not isinstance(scheme.get(name), str) or not scheme[name].strip():
            yield f"{name}: a text is needed."
    if not _number(scheme.get("point_length_m")) or scheme["point_length_m"] <= 0:
        yield "point_length_m: a length above 0 m is needed."
    if scheme.get("narrowing_basis") not in ("indicative", "sourced"):
        yield "narrowing_basis: indicative or sourced."
    for name in ("capacity_left_pct", "area_left_pct"):
        yield from (f"{name}: {fault}" for fault in _steps(scheme.get(name), falling=True))
    yield from _classes(scheme.get("classes"))
    yield from _pipes(scheme.get("pipes"))
    yield from _listed(scheme, "extra_points", _points)
    yield from _listed(scheme, "immediate", _immediate)
    yield from _listed(scheme, "rows", _row)


def _listed(scheme: dict[str, Any], name: str, faults: Any) -> Iterator[str]:
    rows = scheme.get(name)
    if not isinstance(rows, list):
        yield f"{name}: a list is needed."
        return
    for place, row in enumerate(rows, 1):
        where = f"{name}, row {place}"
        if not isinstance(row, dict):
            yield f"{where}: not an object."
            continue
        code = f" ({row['code']})" if isinstance(row.get("code"), str) else ""
        yield from (f"{where}{code}: {fault}" for fault in faults(row))


def _classes(classes: Any) -> Iterator[str]:
    if not isinstance(classes, list) or len(classes) != 6 or not all(isinstance(c, dict) for c in classes):
        yield "classes: six are needed, from 0 (nothing found) to 5 (most severe)."
        return
    last = -1.0
    for place, one in enumerate(classes):
        if one.get("class") != place:
            yield f"classes, row {place + 1}: its class must be {place}."
        for name in ("word", "meaning"):
            if not isinstance(one.get(name), str) or not one[name].strip():
                yield f"classes, row {place + 1}: {name} is needed."
        number = one.get("number")
        if not _number(number) or number <= last:
            yield f"classes, row {place + 1}: its number must be greater than that of the class before."
        else:
            last = number


def _pipes(pipes: Any) -> Iterator[str]:
    known = {row["value"] for row in shipped("materials")["rows"]}
    for name in ("rigid", "flexible"):
        listed = pipes.get(name) if isinstance(pipes, dict) else None
        if not isinstance(listed, list):
            yield f"pipes: {name} must list materials."
            continue
        yield from (f"pipes, {name}: no material {one!r} is known." for one in listed if one not in known)


def _points(row: dict[str, Any]) -> Iterator[str]:
    allowed = {
        (one["input"], one["value"]) for one in shipped("grading_limits")["extra_points"]
    }  # the inputs that the app records
    if (row.get("input"), row.get("value")) not in allowed:
        yield f"no input {row.get('input')!r} with the value {row.get('value')!r} is recorded."
    for goal in GOALS:
        if goal not in row or not (row[goal] is None or _number(row[goal])):
            yield f"{goal}: a number of points, or null where it does not matter."
    if not isinstance(row.get("label"), str) or not isinstance(row.get("source"), str):
        yield "label and source are needed."


def _immediate(row: dict[str, Any]) -> Iterator[str]:
    for name in ("condition", "words", "source"):
        if not isinstance(row.get(name), str) or not row[name].strip():
            yield f"{name}: a text is needed."
    yield from _letters(row)
    by_share, by_zone = row.get("capacity_left_pct") is not None, bool(row.get("zones"))
    if by_share and not _number(row["capacity_left_pct"]):
        yield "capacity_left_pct: a share in percent is needed."
    if by_zone and (row.get("goal") not in GOALS or not _is_class(row.get("from_class"))):
        yield "zones: a goal and from_class (1 to 5) are needed."
    if not by_share and not by_zone and not isinstance(row.get("code"), str):
        yield "a code, capacity_left_pct or zones is needed."


def _row(row: dict[str, Any]) -> Iterator[str]:
    codes = {one["code"]: one for one in shipped("observation_codes")["rows"]}
    if not isinstance(row.get("code"), str) or not row["code"]:
        yield "code: the code of an observation is needed."
        return
    yield from _letters(row)
    if row.get("goal") not in GOALS:
        yield f"goal: one of {', '.join(GOALS)}."
    if row.get("pipe") not in ("any", "rigid", "flexible"):
        yield "pipe: any, rigid or flexible."
    if not isinstance(row.get("review"), bool):
        yield "review: true or false."
    if row.get("basis") not in ("indicative", "sourced"):
        yield "basis: indicative or sourced."
    for name in CERTAIN:
        if not isinstance(row.get(name), str) or not row[name].strip():
            yield f"{name}: a text is needed."
    if "note" in row and not isinstance(row["note"], str):
        yield "note: a text."
    yield from _rule(row, codes.get(row["code"]))


def _rule(row: dict[str, Any], code: Any) -> Iterator[str]:
    rule = row.get("rule")
    if rule == "flat":
        if not _is_class(row.get("class")):
            yield "class: 1 to 5."
        return
    if rule == "limits":
        yield from (f"limits: {fault}" for fault in _steps(row.get("limits"), falling=False))
    elif rule == "capacity":
        if row.get("form") not in FORMS:
            yield f"form: one of {', '.join(FORMS)}."
        elif row.get("goal") != "operation":
            yield "capacity is a rule for operation."
    else:
        yield "rule: flat, limits or capacity."
        return
    if not isinstance(row.get("unit"), str):
        yield "unit: the unit of the size is needed."
    elif code is not None:
        yield from _unit(row, code)


def _unit(row: dict[str, Any], code: dict[str, Any]) -> Iterator[str]:
    """The unit of the limits is that in which the size is recorded."""
    quantity = code["quantification_1"]
    if quantity is None:
        yield "this code carries no size: use the rule flat."
    elif row["unit"] not in quantity["unit"].replace(",", " ").split():
        yield f"unit: the size of this code is recorded in {quantity['unit']}, not in {row['unit']}."


def _letters(row: dict[str, Any]) -> Iterator[str]:
    for name in ("characterisation_1", "characterisation_2"):
        listed = row.get(name, [])
        if not isinstance(listed, list) or not all(isinstance(one, str) for one in listed):
            yield f"{name}: a list of letters, empty for any."


def _steps(limits: Any, *, falling: bool) -> Iterator[str]:
    """Limits by class: more severe classes begin at greater sizes, or at smaller shares."""
    if not isinstance(limits, dict) or not limits:
        yield 'limits by class are needed, such as {"1": 0, "3": 5}.'
        return
    if not all(one in ("1", "2", "3", "4", "5") for one in limits):
        yield 'classes are written "1" to "5".'
        return
    if not all(_number(value) for value in limits.values()):
        yield "every limit is a number."
        return
    ordered = [limits[one] for one in sorted(limits)]
    if any(b <= a if not falling else b >= a for a, b in pairwise(ordered)):
        yield (
            "a more severe class begins at a smaller share."
            if falling
            else ("a more severe class begins at a greater size.")
        )
    if not falling and ordered[0] != 0:
        yield "the mildest class begins at 0."
    if falling and "1" in limits:
        yield "class 1 needs no limit: it is what is left."


def _is_class(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 5


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e6
