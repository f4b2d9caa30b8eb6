"""What a code asks for as a quantity: in which unit, and what is usual."""

import re
from collections.abc import Mapping
from typing import Any, Literal, NotRequired, TypedDict, cast

from ..table_types.codes import ObservationCode

SizeField = Literal["quantification_1", "quantification_2"]
UNIT = re.compile(r"(\S+) for ([A-Z](?: and [A-Z])*)")


class AskedQuantity(TypedDict):
    """What a code asks for as a quantity, of one first characterisation; limits in its unit."""

    label: str
    unit: str
    note: str
    needed: bool
    usual: list[float]
    least: NotRequired[float]
    most: NotRequired[float]


def quantity_for(row: ObservationCode, field: SizeField, characterisation_1: Any) -> AskedQuantity | None:
    """Return what a code asks for as a quantity, given its first characterisation.

    Parameters
    ----------
    field : str
        ``quantification_1`` or ``quantification_2``.

    Returns
    -------
    dict or None
        ``label``, ``unit``, ``note``, ``needed``; where known ``least``, ``most`` and ``usual``
        values in that unit (common practice, no source; ``usual`` may be empty). None where the
        code takes none.

    Examples
    --------
    >>> asked = {"label": "Gap", "unit": "mm for A, degrees for C", "note": "", "needed": True,
    ...          "by_characterisation": {"C": {"unit": "degrees", "least": 0.5, "most": 30}}}
    >>> quantity_for({"quantification_1": asked}, "quantification_1", "C")["unit"]
    'degrees'
    """
    quantity = row.get(field)
    if quantity is None:
        return None
    kind = characterisation_1 if isinstance(characterisation_1, str) else ""
    plain: dict[str, Any] = {
        k: v for k, v in quantity.items() if k not in ("by_characterisation", "needed_with")
    }
    plain["needed"] = bool(quantity["needed"]) or kind in quantity.get("needed_with", ())
    plain["usual"] = _of_kind(quantity.get("usual"), kind)
    found = {**plain, **(quantity.get("by_characterisation") or {}).get(kind, {})}
    return cast(AskedQuantity, {**found, "unit": unit_for(found["unit"], kind)})


def unit_for(unit: str, characterisation_1: str) -> str:
    """Return the one unit meant where a table says, for example, ``mm for A and B, degrees for C``.

    >>> unit_for("mm for A and B, degrees for C", "B")
    'mm'
    """
    for one, letters in UNIT.findall(unit):
        if characterisation_1 in letters.split(" and "):
            return str(one)
    return unit


def _of_kind(usual: Any, kind: str) -> list[float]:
    """Usual values: one list, or one for each kind."""
    return list(usual.get(kind, ()) if isinstance(usual, Mapping) else usual or ())
