"""Hazards to people that the observations of a run show, the gravest first."""

from collections.abc import Mapping, Sequence
from typing import TypedDict

from ..coding.continuous import ContinuousItem
from ..coding.disputes import variants
from ..records import ObservationFields, ObservationRecord
from ..table_types.condition import HazardRow


class Hazard(TypedDict):
    """A hazard to people, by its row of the table [m, counter]."""

    row: int
    hazard: str
    record_id: str
    from_counter_m: float | None
    to_counter_m: float | None
    sure: bool


def hazards(
    observations: Sequence[ObservationRecord], items: Sequence[ContinuousItem],
    end_counter_m: float | None, rows: Sequence[HazardRow],
) -> list[Hazard]:  # fmt: skip
    """Return the hazards to people that a run's observations show.

    Parameters
    ----------
    end_counter_m : float or None
        Counter reading to which the run was surveyed [m]; closes what is open.

    Returns
    -------
    list of dict
        ``row`` (index), ``hazard``, ``record_id``, ``from_counter_m``, ``to_counter_m`` [m] (equal at a
        point, None where not recorded), ``sure``: False where the kind was not recorded, or is in dispute,
        and only may be this. In order of the rows, then of place.

    References
    ----------
    Which records are hazards, and their order: common practice, no source.

    Examples
    --------
    >>> rows = [{"hazard": "void", "code": "BAP", "characterisation_1": []}]
    >>> hazards([{"id": "a", "fields": {"code": "BAP", "counter_m": 3.0}}], [], None, rows)[0]["sure"]
    True
    """
    spans = {item["start_id"]: item for item in items}
    parts = {i for item in items for i in (*item["change_ids"], item["finish_id"])}
    found: list[Hazard] = []
    for one in observations:
        if one["id"] in parts:
            continue
        fields = one["fields"]
        from_m = to_m = fields.get("counter_m")
        if one["id"] in spans:
            item = spans[one["id"]]
            to_m = item["to_counter_m"]
            to_m = end_counter_m if to_m is None and item["open"] else to_m
        for row, sure in _over_variants(one, _changed_kinds(one, spans, observations), rows):
            found.append(
                {
                    "row": row, "hazard": rows[row]["hazard"], "record_id": one["id"],
                    "from_counter_m": from_m, "to_counter_m": to_m, "sure": sure,
                }
            )  # fmt: skip
    return sorted(found, key=lambda h: (h["row"], h["from_counter_m"] is None, h["from_counter_m"] or 0.0))


def _changed_kinds(
    one: ObservationRecord, spans: Mapping[str, ContinuousItem], observations: Sequence[ObservationRecord]
) -> list[str]:
    """The kinds that its changes along the pipe give it."""
    ids = set(spans[one["id"]]["change_ids"]) if one["id"] in spans else set()
    return (
        [o["fields"].get("characterisation_1") or "" for o in observations if o["id"] in ids] if ids else []
    )


def _over_variants(
    one: ObservationRecord, kinds: Sequence[str], rows: Sequence[HazardRow]
) -> list[tuple[int, bool]]:
    """The rows that fit under any value in dispute; sure only what fits under each."""
    mays = variants(one["fields"], one.get("conflicts"))
    each = [dict(_matches([m.get("characterisation_1") or "", *kinds], m, rows)) for m in mays]
    fitting = sorted({row for found in each for row in found})
    return [(row, all(found.get(row, False) for found in each)) for row in fitting]


def _matches(
    kinds: Sequence[str], fields: ObservationFields, rows: Sequence[HazardRow]
) -> list[tuple[int, bool]]:
    found = []
    for index, row in enumerate(rows):
        if row["code"] != fields.get("code"):
            continue
        wanted = row["characterisation_1"]
        if not wanted or any(kind in wanted for kind in kinds):
            found.append((index, True))
        elif "" in kinds:
            found.append((index, False))
    return found
