"""Values that two people recorded differently: every reading of an observation that they allow."""

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

JUDGED = ("code", "characterisation_1", "characterisation_2", "quantification_1", "quantification_2")
MAX_VARIANTS = 64  # beyond, one field is varied at a time


def variants(
    fields: Mapping[str, Any], conflicts: Mapping[str, Sequence[Sequence[Any]]] | None,
    judged: Sequence[str] = JUDGED,
) -> list[dict[str, Any]]:  # fmt: skip
    """Return the fields of a record under each value that stands in dispute.

    Parameters
    ----------
    fields : mapping
        Its fields, each with the value that is shown.
    conflicts : mapping or None
        For each field in dispute the values that stand, each with the entry that set it.
    judged : sequence of str
        The fields that count; without, those of an observation that decide its classes.

    Returns
    -------
    list of dict
        First the fields as shown; then, without doubles, what else they may be. Fields that decide no class
        are left as shown.

    Raises
    ------
    Nothing.

    References
    ----------
    Fallbook's own rule: what is in dispute widens a class, it is never picked.

    Examples
    --------
    >>> sizes = {"quantification_1": [["a", 25], ["b", 30]]}
    >>> [one["quantification_1"] for one in variants({"quantification_1": 25}, sizes)]
    [25, 30]
    """
    open_fields = [name for name in judged if name in (conflicts or {})]
    choices = [[value for _, value in (conflicts or {})[name]] for name in open_fields]
    count = 1
    for values in choices:
        count *= len(values)
    found = [dict(fields)]
    if count <= MAX_VARIANTS:
        sets = [dict(zip(open_fields, values, strict=True)) for values in product(*choices)]
    else:
        sets = [{n: v} for n, values in zip(open_fields, choices, strict=True) for v in values]
    for one in sets:
        variant = {name: value for name, value in {**fields, **one}.items() if value is not None}
        if variant not in found:
            found.append(variant)
    return found
