"""What an observation says of a turn of the pipe: a bend, or a joint at an angle."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..coding.codes import find_code
from ..table_types.codes import ObservationCode

Fields = Mapping[str, Any]
BEND = "BCC"


def turns_a_joint(row: Fields | None, fields: Fields) -> bool:
    """Return whether an observation is of a joint at an angle, so that it is asked which way it turns.

    Parameters
    ----------
    row : mapping or None
        Row of its code: ``direction_with`` names the characterisations that are angles.

    Examples
    --------
    >>> turns_a_joint({"direction_with": ["C"]}, {"characterisation_1": "C"})
    True
    """
    return bool(row) and fields.get("characterisation_1") in (row or {}).get("direction_with", ())


def turn_lacks(rows: Sequence[ObservationCode], fields: Fields) -> list[str]:
    """Return what an observation of a bend or of a joint at an angle does not say of the turn.

    Returns
    -------
    list of str
        Names of the fields that are asked for: which way it turns, and ``quantification_1``, the angle.

    Examples
    --------
    >>> turn_lacks([{"code": "BCC", "characterisation_2": []}], {"code": "BCC"})
    ['characterisation_1', 'quantification_1']
    """
    row = find_code(rows, fields.get("code") or "")
    if turns_a_joint(row, fields):
        lacks = [] if fields.get("turns_to") else ["turns_to"]
    elif row is not None and row["code"] == BEND:
        lacks = (
            [] if fields.get("characterisation_1") or only_vertical(row, fields) else ["characterisation_1"]
        )
    else:
        return []
    return lacks if fields.get("quantification_1") is not None else [*lacks, "quantification_1"]


def only_vertical(row: Fields, fields: Fields) -> bool:
    """Return whether a bend goes straight up or down, and so is none in plan.

    >>> row = {"characterisation_2": [{"value": "A", "label": "Up"}]}
    >>> only_vertical(row, {"characterisation_2": "A"})
    True
    """
    up_or_down = choice_label(row, "characterisation_2", fields.get("characterisation_2"))
    return not fields.get("characterisation_1") and bool(up_or_down)


def choice_label(row: Fields, field: str, value: str | None) -> str:
    """Return the label of a choice of a code, in small letters.

    Parameters
    ----------
    field : str
        ``characterisation_1`` or ``characterisation_2``.

    Examples
    --------
    >>> row = {"characterisation_1": [{"value": "A", "label": "To the left"}]}
    >>> choice_label(row, "characterisation_1", "A")
    'to the left'
    """
    for choice in row[field]:
        if choice["value"] == value:
            return str(choice["label"]).lower()
    return ""
