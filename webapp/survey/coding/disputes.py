"""Values that two people recorded differently: every reading of an observation that they allow."""

from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any, TypeVar, cast

from ..records import Disputed

JUDGED = ("code", "characterisation_1", "characterisation_2", "quantification_1", "quantification_2")
MAX_VARIANTS = 64  # beyond, one field is varied at a time


F = TypeVar("F", bound=Mapping[str, Any])  # the fields of a record of one kind


def variants(fields: F, conflicts: Disputed | None, judged: Sequence[str] = JUDGED) -> list[F]:
    """Return the fields of a record under each value that stands in dispute.

    >>> sizes = {"quantification_1": [["a", 25], ["b", 30]]}
    >>> [one["quantification_1"] for one in variants({"quantification_1": 25}, sizes)]
    [25, 30]
    """
    open_fields = [name for name in judged if name in (conflicts or {})]
    choices = [[value for _, value in (conflicts or {})[name]] for name in open_fields]
    count = 1
    for values in choices:
        count *= len(values)
    found: list[dict[str, Any]] = [dict(fields)]
    if count <= MAX_VARIANTS:
        sets = [dict(zip(open_fields, values, strict=True)) for values in product(*choices)]
    else:
        sets = [{n: v} for n, values in zip(open_fields, choices, strict=True) for v in values]
    for one in sets:
        variant = {name: value for name, value in {**fields, **one}.items() if value is not None}
        if variant not in found:
            found.append(variant)
    return cast(list[F], found)
