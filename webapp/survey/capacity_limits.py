"""What a run carries as it is: its flattest reach, all that narrows it, no number where none can be had."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .bore import Bore
from .capacity_band import LEVEL, capacity_band
from .errors import SurveyError
from .levels import LevelProfile
from .narrowed_lengths import BLOCKS, narrowings
from .reaches import reaches
from .visibility import unseen_m
from .wall_roughness import wall_roughness

Item = Mapping[str, Any]
Row = dict[str, Any]
LEAST_M = 0.005


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
        ``narrowings``, ``backfall`` as ``reaches``, ``spread`` as ``capacity_band``, ``capacity`` None and
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
    return {**found, "rows": rows, "choke": _bottleneck(rows, found["choke"]) if rows else None}


def _row(
    row: Row, fields: Mapping[str, Any], flow: str, facts: CapacityFacts,
    roughness_rows: Sequence[Mapping[str, Any]], table: Mapping[str, Any],
) -> Row:  # fmt: skip
    row |= {
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
    if row["bore"] is None and row["left_out"] != "bore_blocked":
        return row | {"capacity": None}
    laid = _laid(fields)
    pipe = {"bore": laid, "gradient": falls["gradient"], "roughness_mm": wall["mm"]}
    row["narrowings"] = narrowings(facts.observations, facts.items, ends, facts.end_counter_m, pipe, table)
    row["left_out"] = _withheld(row, facts, ends) or ""
    row["capacity"] = None
    if row["left_out"]:
        return row
    row["left_out"] = None
    return _with_number(row, Bore(laid["kind"], laid["height_m"], laid["width_m"]), falls, wall)


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
    unseen = unseen_m(facts.visibility, ends[0], ends[1], facts.scale)
    if unseen is None or unseen > LEAST_M:
        return "length_not_seen"
    if any(one["size"] is None for one in taken):
        return "narrowing_without_size"
    if row["gradient_known"] == "bounded":
        return "fall_only_bounded"
    return "backfall_in_it" if row["backfall"] is not None else None


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


def _bottleneck(rows: Sequence[Row], choke: Mapping[str, Any] | None) -> dict[str, Any]:
    """The row that carries least; those without a number may carry less."""
    weights = [_weight(row) for row in rows]
    no_number = [k for k, weight in enumerate(weights) if weight is None]
    counted = [(weight, k) for k, weight in enumerate(weights) if weight is not None]
    if not counted:
        return {"index": None, "reasons": [], "rivals": [], "no_number": no_number}
    _, index = min(counted)
    top = rows[index]["capacity"]["high_m3_s"]
    rivals = [k for _, k in counted if k != index and rows[k]["capacity"]["low_m3_s"] <= top]
    same = choke is not None and choke["index"] == index
    reasons = [one for one in choke["reasons"] if one["code"] in ("fall", "bore")] if choke and same else []
    taken = rows[index]["narrowings"]
    if taken and taken[0]["left_pct"]:
        mean = rows[index]["capacity"]["mean_m3_s"]
        without = [one["left_pct"] for one in taken[1:] if one["left_pct"] is not None]
        clean = None if mean is None else mean / (taken[0]["left_pct"] / 100) * min([100.0, *without]) / 100
        names = {"deposit_depth": "deposit", "deformation": "deformation"}
        if clean is not None and clean > 1.02 * mean:
            reasons.insert(0, {"code": names.get(taken[0]["form"], "narrowing"), "without_m3_s": clean})
    return {"index": index, "reasons": reasons, "rivals": rivals, "no_number": no_number}


def _weight(row: Row) -> float | None:
    one = row["capacity"]
    if one is None:
        return None
    value: float | None = one["mean_m3_s"] if one["mean_m3_s"] is not None else one["low_m3_s"]
    return value
