"""Which counter reading a new record of a run offers: never one behind the camera."""

from collections.abc import Mapping, Sequence
from typing import Any, TypedDict, cast

from ..records import RecordsByKind, RunFields
from .counter_resets import CounterPart, counter_parts, part_of

Item = Mapping[str, Any]
# Where the camera stood: level ties are left out, they are known from outside the pipe.
PLACES = {"reading": "counter_m", "observation": "counter_m", "stretch": "from_counter_m",
          "remark": "counter_m", "photo": "counter_m"}  # fmt: skip
SAME_PLACE_M = 1e-6


class OfferedCounter(TypedDict):
    """The counter reading that a new record offers [m], and what it is from."""

    counter_m: float
    whence: str
    last_m: float | None


def offered_counter(run: RunFields, records: RecordsByKind) -> OfferedCounter | None:
    """Return what the counter of a new record is filled with until it is typed.

    Parameters
    ----------
    records : mapping
        Its records by kind as recorded (``reading`` among them), each with ``id`` and ``fields``, in the
        order of their making.

    Returns
    -------
    dict or None
        ``counter_m`` [m]: the farthest of the current drive, which begins anew with a reset of the counter
        and with a reading that lies before the one before it. ``whence``: the kind of the record it is
        from, ``reset`` or ``zero``. ``last_m`` [m]: the place recorded last, where it is another one, else
        None. None where nothing has a place.

    Examples
    --------
    >>> made = [{"id": "b", "fields": {"code": "BCD", "counter_m": 0.0}}]
    >>> offered_counter({}, {"reading": [{"id": "a", "fields": {"counter_m": 16.5}}], "observation": made})
    {'counter_m': 16.5, 'whence': 'reading', 'last_m': 0.0}
    """
    parts = counter_parts(records["reading"])
    drive = _current_drive(_placed(records, parts))
    if not drive:
        if len(parts) > 1:
            return {"counter_m": parts[-1].from_m, "whence": "reset", "last_m": None}
        zero_m = run.get("counter_zero_m")
        return None if zero_m is None else {"counter_m": zero_m, "whence": "zero", "last_m": None}
    far = drive[0]
    for one in drive:
        far = one if one[2] >= far[2] - SAME_PLACE_M else far
    last_m = drive[-1][2]
    other = abs(last_m - far[2]) > SAME_PLACE_M
    return {"counter_m": far[2], "whence": far[1], "last_m": last_m if other else None}


def _placed(records: RecordsByKind, parts: Sequence[CounterPart]) -> list[tuple[str, str, float]]:
    """Id, kind and counter of what was recorded since the counter was reset last, in the order of making."""
    found = []
    for kind, name in PLACES.items():
        stated = "from_part" if kind == "stretch" else "counter_part"
        for one in cast(Mapping[str, Sequence[Item]], records).get(kind, []):
            fields = one["fields"]
            counter_m = fields.get(name)
            if counter_m is None or (kind == "photo" and fields.get("belongs_to")):
                continue  # a photo stands where its owner stands
            if part_of(parts, one["id"], fields.get(stated)) == len(parts) - 1:
                found.append((one["id"], kind, counter_m))
    return sorted(found, key=lambda one: one[0])


def _current_drive(placed: Sequence[tuple[str, str, float]]) -> Sequence[tuple[str, str, float]]:
    begins, before = 0, None
    for at, (_, kind, counter_m) in enumerate(placed):
        if kind == "reading":
            if before is not None and counter_m < before - SAME_PLACE_M:
                begins = at
            before = counter_m
    return placed[begins:]
