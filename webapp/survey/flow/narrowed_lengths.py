"""What narrows a length of pipe: every observation that takes part of the section, with what it leaves."""

from collections.abc import Sequence
from typing import NotRequired, TypedDict

from ..coding.continuous import ContinuousItem
from ..coding.disputes import variants
from ..records import Disputed, ObservationFields, ObservationRecord
from ..section.bore import BoreSizes
from ..table_types.pipe import Narrowing as NarrowingRow
from ..table_types.pipe import Narrowings
from .narrowing import capacity_left
from .types import Narrowing

BLOCKS, UNSIZED = "blocks", "unsized"  # no capacity to speak of; a size says nothing of what is left


class CleanPipe(TypedDict):
    """The clean pipe that a narrowing takes from; ``gradient`` along the pipe [m/m]."""

    bore: BoreSizes | None
    gradient: NotRequired[float | None]
    roughness_mm: NotRequired[float | None]


class _Left(TypedDict):
    least_pct: float
    most_pct: float
    left_pct: float | None


class _Judged(_Left):
    form: str
    sure: bool


def narrowings(
    observations: Sequence[ObservationRecord], items: Sequence[ContinuousItem], ends: tuple[float, float],
    end_counter_m: float | None, pipe: CleanPipe, table: Narrowings,
) -> list[Narrowing]:  # fmt: skip
    """Return what narrows a length, the worst first.

    Parameters
    ----------
    observations : sequence of mapping
        Observations of the run, each with ``id`` and ``fields``; ``conflicts`` where values are in dispute.
    ends : tuple of float
        From where to where, by the counter [m].
    end_counter_m : float or None
        Where the run ended, by the counter [m]: closes what is open.
    pipe : mapping
        ``bore`` (``kind``, ``height_m``, ``width_m`` [m]), ``gradient`` [m/m] or None, ``roughness_mm`` [mm].

    Returns
    -------
    list of dict
        ``record_id``, ``code``, ``form``, ``size`` (as shown; None where not recorded), ``sure`` (False
        where its kind is not settled), ``least_pct``, ``most_pct`` [%] of the clean capacity left at the ends
        of what its size may be, ``left_pct`` [%] at the size shown (None where that says nothing).

    References
    ----------
    As ``capacity_left``; how well a size is estimated: the table.

    Examples
    --------
    >>> table = {"rows": [{"code": "BAC", "characterisation_1": ["C"], "characterisation_2": [],
    ...                    "form": "blocks"}], "estimate_pct": 5, "estimate_mm": 10}
    >>> seen = [{"id": "a", "fields": {"code": "BAC", "characterisation_1": "C", "counter_m": 3.0}}]
    >>> narrowings(seen, [], (0.0, 9.0), 9.0, {"bore": None}, table)[0]["most_pct"]
    0.0
    """
    by_id = {one["id"]: one for one in observations}
    found: list[Narrowing] = []
    for record_id in _inside(observations, items, ends, end_counter_m):
        one = by_id[record_id]
        mays = variants(one["fields"], one.get("conflicts"))
        judged = [made for fields in mays for made in _judged(fields, pipe, table)]
        if not judged:
            continue
        shown = judged[0]
        size = None if shown["form"] == UNSIZED else one["fields"].get("quantification_1")
        sure = all(_judged(fields, pipe, table) for fields in mays) and all(j["sure"] for j in judged)
        found.append(
            {
                "record_id": record_id, "code": one["fields"].get("code") or "", "form": shown["form"],
                "size": size, "sure": sure,
                "least_pct": min(j["least_pct"] for j in judged),
                "most_pct": max(j["most_pct"] for j in judged) if sure else 100.0,
                "left_pct": shown["left_pct"] if len(mays) == 1 and sure else None,
            }
        )  # fmt: skip
    return sorted(found, key=lambda n: (n["least_pct"], n["most_pct"]))


def may_narrow(
    fields: ObservationFields,
    conflicts: Disputed | None,
    table: Narrowings,
) -> bool:
    """Say whether an observation takes, or may take, part of the section.

    >>> row = {"code": "BAC", "characterisation_1": ["C"], "characterisation_2": [], "form": "blocks"}
    >>> may_narrow({"code": "BAC"}, None, {"rows": [row]})
    True
    """
    mays = variants(fields, conflicts)
    return any(_fits(row, may) is not None for may in mays for row in table["rows"])


def _inside(
    observations: Sequence[ObservationRecord], items: Sequence[ContinuousItem], ends: tuple[float, float],
    end_counter_m: float | None,
) -> list[str]:  # fmt: skip
    """The records whose quantities hold somewhere in the length, in order of making."""
    paired: set[str] = set()
    here: set[str] = set()
    for item in items:
        paired |= {item["start_id"], item["finish_id"] or "", *item["change_ids"]}
        for part in item["parts"]:
            to_m = part["to_counter_m"]
            if to_m is None:
                to_m = part["from_counter_m"] if end_counter_m is None or not item["open"] else end_counter_m
            if part["from_counter_m"] <= ends[1] and to_m >= ends[0]:
                here.add(part["record_id"])
    for one in observations:
        at_m = one["fields"].get("counter_m")
        if one["id"] not in paired and at_m is not None and ends[0] <= at_m <= ends[1]:
            here.add(one["id"])
    return [one["id"] for one in observations if one["id"] in here]


def _judged(fields: ObservationFields, pipe: CleanPipe, table: Narrowings) -> list[_Judged]:
    for row in table["rows"]:
        sure = _fits(row, fields)
        if sure is not None:
            return [{**_left(row["form"], fields, pipe, table), "form": row["form"], "sure": sure}]
    return []


def _fits(row: NarrowingRow, fields: ObservationFields) -> bool | None:
    """True where a row fits, False where it may, None where it does not."""
    if row["code"] != fields.get("code"):
        return None
    sure = True
    for name in ("characterisation_1", "characterisation_2"):
        value = fields.get(name)
        if row[name] and value and value not in row[name]:
            return None
        sure = sure and bool(value or not row[name])
    return sure


def _left(form: str, fields: ObservationFields, pipe: CleanPipe, table: Narrowings) -> _Left:
    if form == BLOCKS:
        return {"least_pct": 0.0, "most_pct": 0.0, "left_pct": 0.0}
    size = None if form == UNSIZED else fields.get("quantification_1")
    if size is None:
        return {"least_pct": 0.0, "most_pct": 100.0, "left_pct": None}
    if size <= 0:
        return {"least_pct": 100.0, "most_pct": 100.0, "left_pct": 100.0}
    by = table["estimate_mm"] if form == "step" else table["estimate_pct"]
    shares = [_share(form, one, pipe) for one in (size + by, max(0.0, size - by), size)]
    (least, _), (_, most), (low, high) = shares
    return {"least_pct": least, "most_pct": most, "left_pct": low if low == high else None}


def _share(form: str, size: float, pipe: CleanPipe) -> tuple[float, float]:
    bore = pipe["bore"]
    kind, roughness_mm = bore["kind"] if bore else None, pipe.get("roughness_mm") or 1.5
    left = capacity_left(form, size, bore, kind, pipe.get("gradient"), roughness_mm)
    if left["low_pct"] is None or left["high_pct"] is None:
        return 0.0, 100.0
    return left["low_pct"], left["high_pct"]
