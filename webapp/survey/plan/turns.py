"""What an observation says of a turn of the pipe: a bend, or a joint at an angle."""

from collections.abc import Sequence

from ..coding.codes import LetterField, find_code
from ..records import ObservationFields
from ..table_types.codes import ObservationCode

BEND = "BCC"
SIDES = {"right": 1, "left": -1}


def turns_a_joint(row: ObservationCode | None, fields: ObservationFields) -> bool:
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
    return row is not None and fields.get("characterisation_1") in row.get("direction_with", ())


def turn_lacks(rows: Sequence[ObservationCode], fields: ObservationFields) -> list[str]:
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


def only_vertical(row: ObservationCode, fields: ObservationFields) -> bool:
    """Return whether a bend goes straight up or down, and so is none in plan.

    >>> row = {"characterisation_2": [{"value": "A", "label": "Up"}]}
    >>> only_vertical(row, {"characterisation_2": "A"})
    True
    """
    up_or_down = is_a_choice(row, "characterisation_2", fields.get("characterisation_2"))
    return not fields.get("characterisation_1") and up_or_down


def is_a_choice(row: ObservationCode, field: LetterField, value: str | None) -> bool:
    """Return whether a code has a letter among the choices of a field.

    >>> is_a_choice({"characterisation_2": [{"value": "A", "label": "Up"}]}, "characterisation_2", "A")
    True
    """
    return any(choice["value"] == value for choice in row[field])


def side_of(row: ObservationCode, value: str | None) -> int | None:
    """Return where a bend turns to by its first characterisation: 1 right, -1 left, None not known.

    >>> row = {"characterisation_1": [{"value": "A", "label": "To the left", "side": "left"}]}
    >>> side_of(row, "A")
    -1
    """
    for choice in row["characterisation_1"]:
        if choice["value"] == value:
            return SIDES.get(choice.get("side") or "")
    return None
