"""A firm's own limits of the condition classes: of the form of tables/grading_limits.json, checked by row.

The sentences name the row by its place in the file, counted from 1.
"""

import re
from collections.abc import Iterator
from itertools import islice, pairwise
from pathlib import Path
from typing import Any, cast

from ..errors import AppError
from ..messages import listed, t
from ..survey.flow.narrowing import FORMS
from ..survey.grading.grading import GOALS
from ..survey.table_types.codes import ObservationCode
from ..survey.table_types.condition import GradingLimits
from .fit import misfits
from .own_file import parsed
from .shipped import shipped

MAX_BYTES = 5 * 1024 * 1024
MAX_FAULTS = 200
TEXTS = ("name", "note", "classes_source", "point_length_source", "narrowing_source", "narrowing_certainty")
CERTAIN = ("source", "certainty")


def read(path: Path) -> GradingLimits:
    """Return the scheme in a file; AppError with every fault by its row if it is not sound."""
    scheme = parse(path)
    faults = check(scheme)
    if faults:
        more = [t("grading_file.more", number=len(faults) - 5)] if len(faults) > 5 else []
        raise AppError("grading_limits_faulty", f"{path}: {' '.join([*faults[:5], *more])}")
    return cast(GradingLimits, whole(scheme))


def parse(path: Path) -> Any:
    """Return what a file holds; AppError if it cannot be read as JSON."""
    return parsed(path, MAX_BYTES, AppError("grading_limits_faulty", t("grading_file.too_large", path=path)))


def check(scheme: Any) -> list[str]:
    """Return every fault of a scheme as a sentence, by row; empty if it can be used."""
    if not isinstance(scheme, dict) or scheme.get("format") != "fallbook-grading":
        return [t("grading_file.format")]
    if scheme.get("version") != 1:
        return [t("grading_file.version")]
    found: list[str] = []
    for fault in _faults(scheme):
        found.append(fault)
        if len(found) == MAX_FAULTS:
            break
    return found or list(_misfits(whole(scheme)))


def whole(scheme: dict[str, Any]) -> dict[str, object]:
    """Return a scheme without faults, its rows with the letters that they leave out: none is any."""
    any_letter: dict[str, object] = {"characterisation_1": [], "characterisation_2": []}
    immediate = [{"code": None, "characterisation_1": [], **row} for row in scheme["immediate"]]
    return {**scheme, "immediate": immediate, "rows": [{**any_letter, **row} for row in scheme["rows"]]}


def _misfits(scheme: dict[str, object]) -> Iterator[str]:
    """Parts that are not of the type of the table; those that nothing reads are left alone."""
    for where, form in islice(misfits(scheme, GradingLimits), MAX_FAULTS):
        if form is not None:
            row = re.fullmatch(r"(\w+)\[(\d+)\]\.(.+)", where)
            shown = f"{t('grading_file.row', name=row[1], place=row[2])}: {row[3]}" if row else where
            yield t("grading_file.part", where=shown)


def _faults(scheme: dict[str, object]) -> Iterator[str]:
    for name in TEXTS:
        text = scheme.get(name)
        if not isinstance(text, str) or not text.strip():
            yield t("grading_file.text_needed", name=name)
    point_m: Any = scheme.get("point_length_m")
    if not _number(point_m) or point_m <= 0:
        yield t("grading_file.point_length")
    if scheme.get("narrowing_basis") not in ("indicative", "sourced"):
        yield t("grading_file.narrowing_basis")
    for name in ("capacity_left_pct", "area_left_pct"):
        yield from (f"{name}: {fault}" for fault in _steps(scheme.get(name), falling=True))
    yield from _classes(scheme.get("classes"))
    yield from _pipes(scheme.get("pipes"))
    yield from _listed(scheme, "extra_points", _points)
    yield from _listed(scheme, "immediate", _immediate)
    yield from _listed(scheme, "rows", _row)


def _listed(scheme: dict[str, object], name: str, faults: Any) -> Iterator[str]:
    rows = scheme.get(name)
    if not isinstance(rows, list):
        yield t("grading_file.list_needed", name=name)
        return
    for place, row in enumerate(rows, 1):
        where = t("grading_file.row", name=name, place=place)
        if not isinstance(row, dict):
            yield t("grading_file.row_object", where=where)
            continue
        code = f" ({row['code']})" if isinstance(row.get("code"), str) else ""
        yield from (f"{where}{code}: {fault}" for fault in faults(row))


def _classes(classes: Any) -> Iterator[str]:
    if not isinstance(classes, list) or len(classes) != 6 or not all(isinstance(c, dict) for c in classes):
        yield t("grading_file.six_classes")
        return
    last = -1.0
    for place, one in enumerate(classes):
        if one.get("class") != place:
            yield t("grading_file.class_order", row=place + 1, wanted=place)
        for name in ("word", "meaning"):
            if not isinstance(one.get(name), str) or not one[name].strip():
                yield t("grading_file.class_part", row=place + 1, name=name)
        number = one.get("number")
        if not _number(number) or number <= last:
            yield t("grading_file.class_number", row=place + 1)
        else:
            last = number


def _pipes(pipes: Any) -> Iterator[str]:
    known = [row["value"] for row in shipped("materials")["rows"]]  # whatever is looked for in it
    for name in ("rigid", "flexible"):
        materials = pipes.get(name) if isinstance(pipes, dict) else None
        if not isinstance(materials, list):
            yield t("grading_file.pipes_list", name=name)
            continue
        yield from (
            t("grading_file.material_unknown", name=name, material=f"{one!r}")
            for one in materials
            if one not in known
        )


def _points(row: dict[str, object]) -> Iterator[str]:
    allowed = [
        (one["input"], one["value"]) for one in shipped("grading_limits")["extra_points"]
    ]  # the inputs that the app records
    if (row.get("input"), row.get("value")) not in allowed:
        yield t("grading_file.input_unknown", input=f"{row.get('input')!r}", value=f"{row.get('value')!r}")
    for goal in GOALS:
        if goal not in row or not (row[goal] is None or _number(row[goal])):
            yield t("grading_file.points", goal=goal)
    if not isinstance(row.get("label"), str) or not isinstance(row.get("source"), str):
        yield t("grading_file.label_and_source")


def _immediate(row: dict[str, object]) -> Iterator[str]:
    for name in ("condition", "words", "source"):
        text = row.get(name)
        if not isinstance(text, str) or not text.strip():
            yield t("grading_file.text_needed", name=name)
    yield from _letters(row)
    by_share, by_zone = row.get("capacity_left_pct") is not None, bool(row.get("zones"))
    if by_share and not _number(row["capacity_left_pct"]):
        yield t("grading_file.capacity_left")
    if by_zone and (row.get("goal") not in GOALS or not _is_class(row.get("from_class"))):
        yield t("grading_file.zones")
    if not by_share and not by_zone and not isinstance(row.get("code"), str):
        yield t("grading_file.condition_needed")


def _row(row: dict[str, object]) -> Iterator[str]:
    codes = {one["code"]: one for one in shipped("observation_codes")["rows"]}
    code = row.get("code")
    if not isinstance(code, str) or not code:
        yield t("grading_file.code_needed")
        return
    yield from _letters(row)
    if row.get("goal") not in GOALS:
        yield t("grading_file.goal", goals=listed(GOALS))
    if row.get("pipe") not in ("any", "rigid", "flexible"):
        yield t("grading_file.pipe")
    if not isinstance(row.get("review"), bool):
        yield t("grading_file.review")
    if row.get("basis") not in ("indicative", "sourced"):
        yield t("grading_file.basis")
    for name in CERTAIN:
        text = row.get(name)
        if not isinstance(text, str) or not text.strip():
            yield t("grading_file.text_needed", name=name)
    if "note" in row and not isinstance(row["note"], str):
        yield t("grading_file.note")
    yield from _rule(row, codes.get(code))


def _rule(row: dict[str, object], code: ObservationCode | None) -> Iterator[str]:
    rule = row.get("rule")
    if rule == "flat":
        if not _is_class(row.get("class")):
            yield "class: 1 to 5."
        return
    if rule == "limits":
        yield from (
            t("grading_file.limits", fault=fault) for fault in _steps(row.get("limits"), falling=False)
        )
    elif rule == "capacity":
        if row.get("form") not in FORMS:
            yield t("grading_file.form", forms=listed(FORMS))
        elif row.get("goal") != "operation":
            yield t("grading_file.capacity_goal")
    else:
        yield t("grading_file.rule")
        return
    if not isinstance(row.get("unit"), str):
        yield t("grading_file.unit_needed")
    elif code is not None:
        yield from _unit(row, code)


def _unit(row: dict[str, object], code: ObservationCode) -> Iterator[str]:
    """The unit of the limits is that in which the size is recorded."""
    quantity = code["quantification_1"]
    if quantity is None:
        yield t("grading_file.code_without_size")
    elif row["unit"] not in quantity["unit"].replace(",", " ").split():
        yield t("grading_file.unit_other", recorded=quantity["unit"], stated=row["unit"])


def _letters(row: dict[str, object]) -> Iterator[str]:
    for name in ("characterisation_1", "characterisation_2"):
        listed = row.get(name, [])
        if not isinstance(listed, list) or not all(isinstance(one, str) for one in listed):
            yield t("grading_file.letters", name=name)


def _steps(limits: Any, *, falling: bool) -> Iterator[str]:
    """Limits by class: more severe classes begin at greater sizes, or at smaller shares."""
    if not isinstance(limits, dict) or not limits:
        yield t("grading_file.limits_needed", example='{"1": 0, "3": 5}')
        return
    if not all(one in ("1", "2", "3", "4", "5") for one in limits):
        yield t("grading_file.classes_written")
        return
    if not all(_number(value) for value in limits.values()):
        yield t("grading_file.limit_number")
        return
    ordered = [limits[one] for one in sorted(limits)]
    if any(b <= a if not falling else b >= a for a, b in pairwise(ordered)):
        yield (t("grading_file.smaller_share") if falling else (t("grading_file.greater_size")))
    if not falling and ordered[0] != 0:
        yield t("grading_file.mildest_at_zero")
    if falling and "1" in limits:
        yield t("grading_file.class_1")


def _is_class(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 5


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e6
