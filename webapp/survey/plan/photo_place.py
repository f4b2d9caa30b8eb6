"""Where a photo was taken: at the place of what it belongs to."""

from collections.abc import Mapping
from typing import Any, cast

from ..records import PhotoFields


def photo_place(photo: PhotoFields, owner: Mapping[str, Any] | None) -> PhotoFields:
    """Return the fields of a photo with the place of the record that it belongs to.

    Parameters
    ----------
    owner : mapping or None
        Fields of the standing record that it belongs to; None where there is none.

    Returns
    -------
    dict
        The fields; ``counter_m`` [m], ``counter_part`` and ``run_id`` are the owner's, where it has a place.

    Examples
    --------
    >>> photo_place({"counter_m": 0.95, "caption": "Hole"}, {"counter_m": 0.6})["counter_m"]
    0.6
    """
    fields: dict[str, Any] = dict(photo)
    if owner is None or owner.get("counter_m") is None:
        return {**photo}
    for name in ("counter_m", "counter_shown_m", "counter_part"):
        fields.pop(name, None)
        if owner.get(name) is not None:
            fields[name] = owner[name]
    if owner.get("run_id") is not None:
        fields["run_id"] = owner["run_id"]
    return cast(PhotoFields, fields)
