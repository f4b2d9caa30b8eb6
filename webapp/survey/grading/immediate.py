"""What calls for action at once, whatever the class."""

from collections.abc import Sequence
from typing import TypedDict

from ..records import ObservationFields, RunFields
from ..table_types.condition import GradingLimits, ImmediateRow
from .grading import Classes, Found


class Immediate(TypedDict):
    """A condition that calls for action at once; not sure where it only may be so."""

    row: int
    condition: str
    sure: bool


def immediate_conditions(
    fields: ObservationFields, classes: Classes, run: RunFields, scheme: GradingLimits
) -> list[Immediate]:
    """Return the conditions of an observation that call for action at once.

    Parameters
    ----------
    classes : mapping
        From ``grading.classes_of``, its shares left [%].

    Returns
    -------
    list of dict
        ``row``: index in the scheme's ``immediate``; ``condition``; ``sure``: False where it only may be so.

    References
    ----------
    BFR Abwasser, Annex A-3, names the conditions; which codes show them is our own reading, in the table.

    Examples
    --------
    >>> row = {"condition": "escaping", "code": "BBG", "characterisation_1": []}
    >>> immediate_conditions({"code": "BBG"}, {}, {}, {"immediate": [row]})[0]["sure"]
    True
    """
    found: list[Immediate] = []
    for index, row in enumerate(scheme["immediate"]):
        sure = _holds(row, fields, classes, run)
        if sure is not None and row["condition"] not in [one["condition"] for one in found]:
            found.append({"row": index, "condition": row["condition"], "sure": sure})
    return found


def immediate_over_variants(each: Sequence[Sequence[Immediate]]) -> list[Immediate]:
    """Return what calls for action at once under any of the values that stand in dispute.

    Parameters
    ----------
    each : sequence
        ``immediate_conditions`` of each variant, the one that is shown first.

    Returns
    -------
    list of dict
        As ``immediate_conditions``; ``sure`` only what is sure in every variant.

    Examples
    --------
    >>> immediate_over_variants([[{"row": 0, "condition": "escaping", "sure": True}], []])[0]["sure"]
    False
    """
    found: dict[str, Immediate] = {}
    for conditions in each:
        for one in conditions:
            found.setdefault(one["condition"], {**one})
    for name, one in found.items():
        one["sure"] = all(any(c["condition"] == name and c["sure"] for c in some) for some in each)
    return list(found.values())


def _holds(row: ImmediateRow, fields: ObservationFields, classes: Classes, run: RunFields) -> bool | None:
    """True where it is so, False where it may be, None where it is not."""
    limit_pct = row.get("capacity_left_pct")
    if limit_pct is not None:
        return _hardly_any_left(limit_pct, classes.get("operation"))
    if row.get("zones"):
        if run.get("protection_zone") not in row["zones"]:
            return None
        found = classes.get(row["goal"])
        if found is None or found["high"] < row["from_class"]:
            return None
        return bool(found["low"] >= row["from_class"])
    if row["code"] != fields.get("code"):
        return None
    if not row["characterisation_1"]:
        return True
    kind = fields.get("characterisation_1")
    if not kind:
        return False
    return True if kind in row["characterisation_1"] else None


def _hardly_any_left(limit_pct: float, found: Found | None) -> bool | None:
    if found is None or found["left_low_pct"] is None or found["left_low_pct"] > limit_pct:
        return None
    return found["left_high_pct"] is not None and found["left_high_pct"] <= limit_pct
