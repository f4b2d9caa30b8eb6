"""Where the wall is not known: view lost, water, deposits that go on, and what was erased since."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import Literal, TypedDict

from ..records import ObservationFields, ObservationRecord, StretchRecord
from ..table_types.condition import VisibilityTable
from .continuous import ContinuousItem

ERASED = "erased:"  # before the id of a record that was erased
SightKnown = Literal["measured", "assumed"]
Sight = Literal["clear", "part", "hidden"]


class Span(TypedDict):
    """A length that something hides [m, counter]."""

    sight: Sight
    from_m: float
    to_m: float
    record_id: str
    known: SightKnown
    depth_pct: float | None


def hidden_spans(
    ordered: Sequence[ObservationRecord], items: Sequence[ContinuousItem], start_m: float, end_m: float,
    table: VisibilityTable,
) -> list[Span]:  # fmt: skip
    """Return what hides the wall along a run, in part or wholly; the lengths may overlap.

    Parameters
    ----------
    ordered : sequence of mapping
        Observations that have a place, by counter reading.
    start_m, end_m : float
        Counter readings at the start and at the end of what was surveyed [m].

    Returns
    -------
    list of dict
        As ``Span`` [m].

    Examples
    --------
    >>> table = {"view_lost_codes": ["BDG"], "water_code": "BDD", "deposit_code": "BBC", "node_codes": []}
    >>> lost = {"id": "a", "fields": {"code": "BDG", "counter_m": 4.0}}
    >>> hidden_spans([lost], [], 0.0, 10.0, table)[0]["to_m"]
    10.0
    """
    return [
        *_view_lost(ordered, items, start_m, end_m, table),
        *_water(ordered, items, end_m, table),
        *_deposits(items, end_m, table),
    ]


def erased_spans(
    places: Sequence[StretchRecord], ordered: Sequence[ObservationRecord], start_m: float, end_m: float,
    table: VisibilityTable,
) -> list[Span]:  # fmt: skip
    """Return where it is not known what was seen, for what was recorded there was erased.

    Parameters
    ----------
    places : sequence of mapping
        Of each erased record its id, ``from_counter_m`` and ``to_counter_m`` [m, counter]; None: from the
        start, or to the end.
    ordered : sequence of mapping
        Observations that have a place and stand, by counter reading.
    start_m, end_m : float
        Counter readings at the start and at the end of what was surveyed [m].

    Returns
    -------
    list of dict
        As ``Span`` [m], each from the last look at the wall before it to the first beyond it. ``record_id``
        begins with ``erased:``.

    Examples
    --------
    >>> table = {"view_lost_codes": [], "node_codes": [], "water_code": "BDD"}
    >>> seen = [{"id": "a", "fields": {"code": "BAB", "counter_m": 2.0}}]
    >>> gone = {"id": "b", "fields": {"from_counter_m": 4.0, "to_counter_m": 4.0}}
    >>> [(one["from_m"], one["to_m"]) for one in erased_spans([gone], seen, 0.0, 9.0, table)]
    [(2.0, 9.0)]
    """
    sights = [one["fields"].get("counter_m") or 0.0 for one in ordered if looks_at_wall(one, table)]
    spans: list[Span] = []
    for place in places:
        from_m, to_m = place["fields"].get("from_counter_m"), place["fields"].get("to_counter_m")
        low, high = start_m, end_m
        if from_m is not None and (before := bisect_left(sights, from_m)):
            low = max(start_m, sights[before - 1])
        if to_m is not None and (beyond := bisect_right(sights, to_m)) < len(sights):
            high = min(end_m, sights[beyond])
        spans.append(hidden_span("hidden", low, high, ERASED + place["id"], "assumed"))
    return spans


def looks_at_wall(one: ObservationRecord, table: VisibilityTable) -> bool:
    """Return whether an observation shows that the wall was looked at.

    >>> table = {"view_lost_codes": ["BDG"], "node_codes": ["BCD"], "water_code": "BDD"}
    >>> looks_at_wall({"fields": {"code": "BAB"}}, table), looks_at_wall({"fields": {"code": "BDG"}}, table)
    (True, False)
    """
    code = one["fields"].get("code")
    blind = (*table["view_lost_codes"], *table["node_codes"], table["water_code"])
    return bool(code) and code not in blind


def _view_lost(
    ordered: Sequence[ObservationRecord], items: Sequence[ContinuousItem], start_m: float, end_m: float,
    table: VisibilityTable,
) -> list[Span]:  # fmt: skip
    spans: list[Span] = []
    paired: set[str | None] = set()
    places: dict[str | None, float] = {one["id"]: one["fields"]["counter_m"] or 0.0 for one in ordered}
    sights = [places[one["id"]] for one in ordered if looks_at_wall(one, table)]
    for item in items:
        paired |= {item["start_id"], item["finish_id"], *item["change_ids"]}
        if item["code"] not in table["view_lost_codes"]:
            continue
        to_m = item["to_counter_m"]
        if to_m is None:  # open, or finished before it began: then both places bound it
            to_m = end_m if item["open"] else places.get(item["finish_id"], end_m)
        ends = sorted((item["from_counter_m"], to_m))
        spans.append(
            hidden_span(
                "hidden", ends[0], ends[1], item["start_id"], "assumed" if item["open"] else "measured"
            )
        )
    for one in ordered:
        fields = one["fields"]
        if fields.get("code") not in table["view_lost_codes"] or one["id"] in paired:
            continue
        at_m, marked = places[one["id"]], fields.get("continuous")
        role = marked.get("role") if marked else None
        before, beyond = bisect_left(sights, at_m), bisect_right(sights, at_m)
        if role in ("finish", "change"):
            from_m = sights[before - 1] if before else start_m
            spans.append(hidden_span("hidden", from_m, at_m, one["id"], "assumed"))
        if role != "finish":
            to_m = sights[beyond] if beyond < len(sights) else max(end_m, at_m)
            spans.append(hidden_span("hidden", at_m, to_m, one["id"], "assumed"))
    return spans


def _water(
    ordered: Sequence[ObservationRecord],
    items: Sequence[ContinuousItem],
    end_m: float,
    table: VisibilityTable,
) -> list[Span]:
    """Each water level holds until the next; one that is continuous holds over its length and no further."""
    levels = [one for one in ordered if one["fields"].get("code") == table["water_code"]]
    paired = {i for item in items for i in (item["start_id"], item["finish_id"], *item["change_ids"])}
    spans: list[Span] = []
    for k, one in enumerate(levels):
        if one["id"] in paired:
            continue
        from_m = one["fields"]["counter_m"] or 0.0
        to_m = levels[k + 1]["fields"]["counter_m"] or 0.0 if k + 1 < len(levels) else end_m
        spans += _at_depth(one["fields"], from_m, to_m, one["id"], "assumed", table)
    for item in items:
        if item["code"] == table["water_code"]:
            spans += _of_item(item, end_m, table)
    return spans


def _deposits(items: Sequence[ContinuousItem], end_m: float, table: VisibilityTable) -> list[Span]:
    mine = [item for item in items if item["code"] == table["deposit_code"]]
    return [{**span, "sight": "part"} for item in mine for span in _of_item(item, end_m, table)]


def _of_item(item: ContinuousItem, end_m: float, table: VisibilityTable) -> list[Span]:
    spans: list[Span] = []
    for part in item["parts"]:
        end = part["to_counter_m"]
        provenance: SightKnown = "measured" if end is not None else "assumed"
        to_m = end_m if end is None else end
        spans += _at_depth(part["fields"], part["from_counter_m"], to_m, part["record_id"], provenance, table)
    return spans


def _at_depth(
    fields: ObservationFields, from_m: float, to_m: float, record_id: str, provenance: SightKnown,
    table: VisibilityTable,
) -> list[Span]:  # fmt: skip
    depth_pct = fields.get("quantification_1")
    if depth_pct is not None and depth_pct < table["part_from_pct"]:
        return []
    sight: Sight = "hidden" if depth_pct is not None and depth_pct >= table["hidden_from_pct"] else "part"
    return [hidden_span(sight, from_m, to_m, record_id, provenance, depth_pct)]


def hidden_span(
    sight: Sight,
    from_m: float,
    to_m: float,
    record_id: str,
    provenance: SightKnown,
    depth_pct: float | None = None,
) -> Span:
    """Return a length that is hidden, or seen in part.

    Parameters
    ----------
    from_m, to_m : float
        Counter readings [m].
    depth_pct : float or None
        Of water or deposit [% of the height].

    Returns
    -------
    dict
        As ``Span`` [m].

    Examples
    --------
    >>> hidden_span("part", 2.0, 5.0, "a", "measured", 30)["to_m"]
    5.0
    """
    return {
        "sight": sight, "from_m": from_m, "to_m": to_m, "record_id": record_id, "known": provenance,
        "depth_pct": depth_pct,
    }  # fmt: skip
