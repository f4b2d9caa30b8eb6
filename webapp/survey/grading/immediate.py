"""What calls for action at once, whatever the class."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..records import RunFields


def immediate_conditions(
    fields: Mapping[str, Any], classes: Mapping[str, Any], run: RunFields, scheme: Mapping[str, Any]
) -> list[dict[str, Any]]:
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
    found: list[dict[str, Any]] = []
    for index, row in enumerate(scheme["immediate"]):
        sure = _holds(row, fields, classes, run)
        if sure is not None and row["condition"] not in [one["condition"] for one in found]:
            found.append({"row": index, "condition": row["condition"], "sure": sure})
    return found


def immediate_over_variants(each: Sequence[Sequence[Mapping[str, Any]]]) -> list[dict[str, Any]]:
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
    found: dict[str, dict[str, Any]] = {}
    for conditions in each:
        for one in conditions:
            found.setdefault(one["condition"], dict(one))
    for name, one in found.items():
        one["sure"] = all(any(c["condition"] == name and c["sure"] for c in some) for some in each)
    return list(found.values())


def _holds(
    row: Mapping[str, Any], fields: Mapping[str, Any], classes: Mapping[str, Any], run: RunFields
) -> bool | None:
    """True where it is so, False where it may be, None where it is not."""
    if row.get("capacity_left_pct") is not None:
        return _hardly_any_left(row["capacity_left_pct"], classes.get("operation"))
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


def _hardly_any_left(limit_pct: float, found: Mapping[str, Any] | None) -> bool | None:
    if found is None or found["left_low_pct"] is None or found["left_low_pct"] > limit_pct:
        return None
    return bool(found["left_high_pct"] <= limit_pct)
