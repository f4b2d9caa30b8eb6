"""Observation codes: what an observation of a code may carry, and what it lacks.

The rows come from ``tables/observation_codes.json``; nothing about a code stands here.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypeGuard

from ..findings import Finding, Shown, Values
from ..records import ObservationFields
from ..table_types.codes import ObservationCode
from .code_quantities import SizeField, quantity_for

Row = ObservationCode
LetterField = Literal["characterisation_1", "characterisation_2"]


Found = list[Finding]


def find_code(rows: Sequence[Row], code: str) -> Row | None:
    """Return the row of a code, or None.

    Parameters
    ----------
    code : str
        Main code, for example ``BAB``.

    Examples
    --------
    >>> find_code([{"code": "BAB"}], "BAC") is None
    True
    """
    for row in rows:
        if row["code"] == code:
            return row
    return None


def check_observation(rows: Sequence[Row], observation: ObservationFields) -> Found:
    """Return what an observation carries that its code does not, and what it lacks.

    Returns
    -------
    list of dict
        ``code`` of the finding, ``field``, ``values`` for its sentence.

    Examples
    --------
    >>> check_observation([], {"code": "XYZ"})
    [{'code': 'code_unknown', 'field': 'code', 'values': {'code': 'XYZ'}}]
    """
    code = observation.get("code")
    if code is None or code == "":
        return []
    row = find_code(rows, code) if isinstance(code, str) else None
    if row is None:
        return [_finding("code_unknown", "code", code=_shown(code))]
    return [
        *_check_characterisations(row, observation),
        *_check_quantity(row, "quantification_1", observation),
        *_check_quantity(row, "quantification_2", observation),
        *_check_clock(row, observation),
        *_check_joint(row, observation.get("at_joint")),
        *_check_continuous(row, observation.get("continuous")),
        *_check_remark(row, observation),
    ]


def compact_code(observation: ObservationFields) -> str:
    """Return code and characterisations as one short text.

    Returns
    -------
    str
        For example ``BAB B A``; empty without a code.

    Examples
    --------
    >>> compact_code({"code": "BAB", "characterisation_1": "B", "characterisation_2": None})
    'BAB B'
    """
    parts = (
        observation.get("code"), observation.get("characterisation_1"), observation.get("characterisation_2")
    )  # fmt: skip
    return " ".join(p for p in parts if p)


def _finding(name: str, where: str, /, **values: Shown) -> Finding:
    return {"code": name, "field": where, "values": values}


def _shown(value: object) -> Shown:
    """A value as a sentence can show it."""
    return value if isinstance(value, str) or _is_number(value) else "something unreadable"


def _is_number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _empty(value: Any) -> bool:
    return value is None or value == ""


def _check_characterisations(row: Row, fields: ObservationFields) -> Found:
    code, one, two = row["code"], fields.get("characterisation_1"), fields.get("characterisation_2")
    found = _known_choice(row, "characterisation_1", one) + _known_choice(row, "characterisation_2", two)
    if row.get("either_characterisation") and _empty(one) and _empty(two):
        return [*found, _finding("characterisation_either", "characterisation_1", code=code)]
    if row["characterisation_1_needed"] and _empty(one):
        missing = _finding("characterisation_missing", "characterisation_1", code=code, label="kind_1")
        found.insert(0, missing)
    only_with = row.get("characterisation_2_with")
    takes = only_with is None or _empty(one) or one in only_with
    if not takes and not _empty(two):
        values = {"code": code, "with": list(only_with or ())}
        found.append(_finding("characterisation_2_only_with", "characterisation_2", **values))
    if row["characterisation_2_needed"] and takes and _empty(two) and not (only_with and _empty(one)):
        missing = _finding(
            "characterisation_missing",
            "characterisation_2",
            code=code,
            label="kind_2",
        )
        found.append(missing)
    return found


def _known_choice(row: Row, field: LetterField, value: Any) -> Found:
    if _empty(value) or any(c["value"] == value for c in row[field]):
        return []
    values = {"code": row["code"], "label": field, "value": _shown(value)}
    return [_finding("characterisation_unknown", field, **values)]


def _finishes(fields: ObservationFields) -> bool:
    """The finish of something continuous only says where it ends; how much holds before it."""
    continuous = fields.get("continuous")
    return isinstance(continuous, Mapping) and continuous.get("role") == "finish"


def _check_quantity(row: Row, field: SizeField, fields: ObservationFields) -> Found:
    value, code = fields.get(field), row["code"]
    quantity = quantity_for(row, field, fields.get("characterisation_1"))
    if _empty(value):
        if quantity is None or not quantity["needed"] or _finishes(fields):
            return []
        return [
            _finding(
                "quantification_missing", field, code=code, asked=quantity["label"], unit=quantity["unit"]
            )
        ]
    if quantity is None:
        return [_finding("quantification_not_taken", field, code=code, label=field)]
    if not _is_number(value):
        return [_finding("quantification_unreadable", field, code=code, value=_shown(value))]
    if quantity["unit"] == "%" and value > 100:
        return [_finding("quantification_beyond_whole", field, value=value)]
    if "least" in quantity and not quantity["least"] <= value <= quantity["most"]:
        values: Values = {"unit": quantity["unit"], "least": quantity["least"], "most": quantity["most"]}
        return [_finding("quantification_unlikely", field, code=code, value=value, **values)]
    return []


def _check_clock(row: Row, fields: ObservationFields) -> Found:
    clock, allowed, code = fields.get("clock"), row["clock_references"], row["code"]
    if not clock and not _is_number(clock):
        needed = row["clock_needed"] or fields.get("characterisation_1") in row.get("clock_needed_with", ())
        return [_finding("clock_missing", "clock", code=code)] if allowed and needed else []
    if allowed == 0:
        return [_finding("clock_not_taken", "clock", code=code)]
    if not isinstance(clock, Mapping):
        return [_finding("clock_unreadable", "clock", value=_shown(clock))]
    found = []
    first, last = clock.get("hour_from"), clock.get("hour_to")
    if first is None:
        found.append(_finding("clock_from_missing", "clock", code=code))
    for hour in (first, last):
        if hour is not None and not (_is_number(hour) and hour == math.floor(hour) and 1 <= hour <= 12):
            found.append(_finding("clock_hour_unknown", "clock", hour=_shown(hour)))
    if allowed == 1 and last is not None:
        found.append(_finding("clock_too_many", "clock", code=code))
    return found


def _check_joint(row: Row, at_joint: Any) -> Found:
    if at_joint is True and row["joint"] == "n/a":
        return [_finding("joint_not_taken", "at_joint", code=row["code"])]
    if at_joint is False and row["joint"] == "inherent":
        return [_finding("joint_always", "at_joint", code=row["code"])]
    return []


def _check_continuous(row: Row, continuous: Any) -> Found:
    if continuous is None or continuous is False or continuous == "":
        return []
    if not row["continuous"]:
        return [_finding("continuous_not_taken", "continuous", code=row["code"])]
    whole = isinstance(continuous, Mapping)
    role, number = (continuous.get("role"), continuous.get("number")) if whole else (None, None)
    if role not in ("start", "change", "finish") or not (_is_number(number) and number == math.floor(number)):
        return [_finding("continuous_unreadable", "continuous", code=row["code"])]
    return []


def _check_remark(row: Row, fields: ObservationFields) -> Found:
    remark = fields.get("remark")
    if isinstance(remark, str) and remark.strip():
        return []
    letters: tuple[LetterField, ...] = ("characterisation_1", "characterisation_2")
    chosen = [(row[f], fields.get(f)) for f in letters]
    asking = any(c.get("remark") and c["value"] == value for choices, value in chosen for c in choices)
    if row["remark_needed"] or asking:
        return [_finding("remark_missing", "remark", code=row["code"])]
    return []
