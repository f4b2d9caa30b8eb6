"""What a run carries as it is: its flattest reach, all that narrows it, no number where none can be had."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .bore import Bore
from .capacity_band import LEVEL, capacity_band
from .errors import SurveyError
from .levels import LevelProfile
from .narrowed_lengths import BLOCKS, narrowings
from .open_flow import full_flow
from .reaches import reaches
from .resistance import Resistance
from .visibility import unseen_m
from .wall_roughness import wall_roughness

Item = Mapping[str, Any]
Row = dict[str, Any]
LEAST_M = 0.005
MATTERS = 1.02  # a cause is named when without it the stretch would carry at least 2 % more
CAUSES = {"deposit_depth": "deposit", "deformation": "deformation"}


@dataclass(frozen=True)
class CapacityFacts:
    """What of a run bears on its capacity: records with their ends, what was seen, levels, counter."""

    run: Mapping[str, Any]
    stretches: Sequence[Item]
    observations: Sequence[Item]
    items: Sequence[Mapping[str, Any]]
    visibility: Mapping[str, Any]
    end_counter_m: float | None
    profile: LevelProfile | None
    scale: float


def limited_capacity(
    found: Mapping[str, Any], facts: CapacityFacts, roughness_rows: Sequence[Mapping[str, Any]],
    table: Mapping[str, Any],
) -> dict[str, Any]:  # fmt: skip
    """Return the capacities of a run as it is, stretch by stretch, and its bottleneck.

    Parameters
    ----------
    found : mapping
        From ``run_capacity``: of bores as laid, with deposits and deformation only.
    facts : CapacityFacts
        The run [m, by the counter].
    roughness_rows : sequence of mapping
        Rows of ``tables/roughness.json``.
    table : mapping
        ``tables/narrowings.json``.

    Returns
    -------
    dict
        As ``run_capacity``; each row with ``roughness_low_mm``, ``roughness_high_mm`` [mm], ``narrowings`` as
        ``narrowings``, ``laid``: the bore as laid, ``carries``: gradient and roughness over the whole
        stretch, ``backfall`` as ``reaches``, ``spread`` as ``capacity_band``, ``capacity`` None and
        ``left_out`` its reason where no number can be had: ``bore_collapsed``, ``bore_blocked``,
        ``length_not_seen``, ``narrowing_without_size``, ``fall_only_bounded``, ``backfall_in_it``.
        ``choke``: the row that carries least, why, and which have no number and may carry less.

    Raises
    ------
    SurveyError
        As ``reaches``.

    References
    ----------
    The least over all narrowings and all reaches: a pipe carries no more than its narrowest and its flattest
    part. Own rule; what each narrowing leaves: ``capacity_left``.

    Examples
    --------
    >>> facts = CapacityFacts({}, [], [], [], {"looked": True, "from_counter_m": 0.0, "to_counter_m": None,
    ...                       "parts": []}, None, None, 1.0)
    >>> limited_capacity({"flow": "with_flow", "flow_known": "assumed", "rows": [], "choke": None}, facts, [],
    ...                  {"rows": []})["choke"] is None
    True
    """
    by_id = {one["id"]: one["fields"] for one in facts.stretches}
    rows = [
        _row(dict(row), by_id.get(row["id"], {}), found["flow"], facts, roughness_rows, table)
        for row in found["rows"]
    ]
    return {**found, "rows": rows, "choke": _bottleneck(rows) if rows else None}


def _row(
    row: Row, fields: Mapping[str, Any], flow: str, facts: CapacityFacts,
    roughness_rows: Sequence[Mapping[str, Any]], table: Mapping[str, Any],
) -> Row:  # fmt: skip
    carries = {"gradient": row["gradient"], "roughness_mm": row["roughness_mm"]}
    row |= {
        "carries": carries,
        "laid": None,
        "roughness_low_mm": None,
        "roughness_high_mm": None,
        "narrowings": [],
        "backfall": None,
        "spread": None,
    }
    if row["from_m"] is None or row["to_m"] is None:
        return row
    ends = float(fields["from_counter_m"]), float(fields["to_counter_m"])
    inside = [o for o in facts.observations if _within(o, ends)]
    wall = wall_roughness(fields, inside, facts.run.get("water_carried"), roughness_rows)
    assumed = row["gradient_known"] == "assumed"
    falls = reaches(facts.profile, row["from_m"], row["to_m"], flow)
    row |= {
        "roughness_low_mm": wall["low_mm"], "roughness_mm": wall["mm"], "roughness_high_mm": wall["high_mm"],
        "roughness_value": wall["value"], "backfall": falls["backfall"],
        **{name: falls[name] for name in ("gradient_low", "gradient", "gradient_high")},
        "gradient_known": "assumed" if assumed and falls["known"] == "computed" else falls["known"],
    }  # fmt: skip
    if row["left_out"] not in (None, "bore_blocked"):
        return row | {"capacity": None}
    laid = row["laid"] = _laid(fields)
    pipe = {"bore": laid, "gradient": falls["gradient"], "roughness_mm": wall["mm"]}
    row["narrowings"] = narrowings(facts.observations, facts.items, ends, facts.end_counter_m, pipe, table)
    row["left_out"] = _withheld(row, facts, ends) or ""
    row["capacity"] = None
    if row["left_out"]:
        return row
    row["left_out"] = None
    row = _with_number(row, _bore(laid), falls, wall)
    if row["capacity"] and not facts.visibility["looked"]:
        row["capacity"]["findings"] = [*row["capacity"]["findings"], "bore_not_looked_at"]
    return row


def _bore(laid: Mapping[str, Any]) -> Bore:
    return Bore(laid["kind"], laid["height_m"], laid["width_m"])


def _within(observation: Item, ends: tuple[float, float]) -> bool:
    counter_m = observation["fields"].get("counter_m")
    return counter_m is not None and ends[0] <= counter_m <= ends[1]


def _laid(fields: Mapping[str, Any]) -> dict[str, Any]:
    width_mm = fields.get("width_mm")
    return {
        "kind": fields.get("shape"), "height_m": fields["height_mm"] / 1000,
        "width_m": None if width_mm is None else width_mm / 1000,
    }  # fmt: skip


def _withheld(row: Row, facts: CapacityFacts, ends: tuple[float, float]) -> str | None:
    """Why no number can be had, the gravest reason first."""
    taken = row["narrowings"]
    if any(one["form"] == BLOCKS for one in taken):
        return "bore_collapsed"
    if any(one["most_pct"] <= 0 for one in taken) or row["left_out"] == "bore_blocked":
        return "bore_blocked"
    unseen = unseen_m({**facts.visibility, "looked": True}, ends[0], ends[1], facts.scale)
    if unseen is not None and unseen > LEAST_M:
        return "length_not_seen"
    if any(one["size"] is None for one in taken):
        return "narrowing_without_size"
    if row["gradient_known"] == "bounded":
        return "fall_only_bounded"
    adverse = row["gradient"] is not None and row["gradient"] < LEVEL and not _some_fall(facts, row)
    return "backfall_in_it" if row["backfall"] is not None and not adverse else None


def _some_fall(facts: CapacityFacts, row: Row) -> bool:
    """Whether it falls with the flow from end to end, so that only part of it is adverse."""
    average = row["carries"]["gradient"]
    return average is not None and average >= LEVEL


def _with_number(row: Row, bore: Bore, falls: Mapping[str, Any], wall: Mapping[str, Any]) -> Row:
    none: dict[str, Any] = {"low_m3_s": None, "mean_m3_s": None, "high_m3_s": None, "known": "unknown"}
    gradient = falls["gradient"]
    if gradient is None or gradient < LEVEL:
        level = gradient is not None and gradient > -LEVEL
        code = "gradient_unknown" if gradient is None else "gradient_level" if level else "gradient_adverse"
        return row | {"capacity": none | {"findings": [code]}}
    try:
        band = capacity_band(bore, row["size_known"], falls, wall)
    except SurveyError as error:
        return row | {"left_out": error.code}
    least = min((one["least_pct"] for one in row["narrowings"]), default=100.0) / 100
    most = min((one["most_pct"] for one in row["narrowings"]), default=100.0) / 100
    shares = [one["left_pct"] for one in row["narrowings"]]
    mean = None if None in shares else band["mean_m3_s"] * min(shares, default=100.0) / 100
    findings = [*band["findings"], *(["gradient_may_be_adverse"] if band["low_m3_s"] == 0 else [])]
    if any(one["form"] == "deposit_depth" for one in row["narrowings"]):
        findings.append("bed_taken_as_rough_as_wall")
    known = "assumed" if row["gradient_known"] == "assumed" else "computed"
    carried = {
        "low_m3_s": band["low_m3_s"] * least, "mean_m3_s": mean, "high_m3_s": band["high_m3_s"] * most,
        "known": "bounded" if mean is None else known, "findings": findings,
    }  # fmt: skip
    return row | {"capacity": carried, "spread": band["spread"]}


def _bottleneck(rows: Sequence[Row]) -> dict[str, Any]:
    """The row that carries least; those without a number may carry less."""
    weights = [_weight(row) for row in rows]
    no_number = [k for k, weight in enumerate(weights) if weight is None]
    counted = [(weight, k) for k, weight in enumerate(weights) if weight is not None]
    if not counted:
        return {"index": None, "reasons": [], "rivals": [], "no_number": no_number}
    _, index = min(counted)
    top = rows[index]["capacity"]["high_m3_s"]
    rivals = [k for _, k in counted if k != index and rows[k]["capacity"]["low_m3_s"] <= top]
    return {"index": index, "reasons": _reasons(rows, index), "rivals": rivals, "no_number": no_number}


def _reasons(rows: Sequence[Row], index: int) -> list[dict[str, Any]]:
    """What the bottleneck would carry without its worst narrowing, with the best fall, the largest bore."""
    here = rows[index]
    mean = here["capacity"]["mean_m3_s"]
    if mean is None:
        return []
    trials: list[tuple[str, float | None]] = []
    taken, share = here["narrowings"], 1.0
    if taken:
        share = min(100.0, *(one["left_pct"] for one in taken)) / 100
        without = min([100.0, *(one["left_pct"] for one in taken[1:])]) / 100
        cause = CAUSES.get(taken[0]["form"], "narrowing")
        trials.append((cause, None if share <= 0 else mean / share * without))
    best = max(row["gradient"] for row in rows if row["gradient"] is not None)
    trials.append(("fall", _carries(here["laid"], best, here["roughness_mm"], share)))
    bores = [_carries(r["laid"], here["gradient"], here["roughness_mm"], share) for r in rows if r["laid"]]
    trials.append(("bore", max((one for one in bores if one is not None), default=None)))
    named = [{"code": c, "without_m3_s": q} for c, q in trials if q is not None and q > mean * MATTERS]
    return sorted(named, key=_most_first)


def _most_first(one: Mapping[str, Any]) -> float:
    return -float(one["without_m3_s"])


def _carries(laid: Mapping[str, Any], gradient: float, roughness_mm: float, share: float) -> float | None:
    """Full-bore flow of a what-if; None where the law or the shape has none."""
    try:
        wall = Resistance("colebrook_white", roughness_mm / 1000)
        return float(full_flow(_bore(laid), gradient, wall)["discharge_m3_s"]) * share
    except SurveyError:
        return None


def _weight(row: Row) -> float | None:
    one = row["capacity"]
    if one is None:
        return None
    value: float | None = one["mean_m3_s"] if one["mean_m3_s"] is not None else one["low_m3_s"]
    return value
