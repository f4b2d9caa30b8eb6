"""What a run carries as it is, by its grade line and all that narrows it; no number where none can be had."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..coding.continuous import ContinuousItem
from ..coding.visibility import Visibility, unseen_m
from ..errors import SurveyError
from ..levels.levels import LevelProfile
from ..levels.reaches import reaches
from ..records import NodeRecord, ObservationRecord, RunFields, StretchFields, StretchRecord
from ..section.bore import Bore, BoreSizes
from ..table_types.pipe import Narrowings, Roughness
from .bottleneck import bottleneck, with_reasons
from .capacity_band import LEVEL, Carried, capacity_band
from .invert_line import InvertLine, invert_line
from .narrowed_lengths import BLOCKS, CleanPipe, narrowings
from .run_backwater import CoverAtInvert, run_carries, stretch_carries, upper_cover
from .types import (
    Capacity,
    CapacityRow,
    Carries,
    LimitedCapacity,
    LimitedRow,
    PlainCapacity,
    RunCarries,
)
from .wall_roughness import WallRoughness, wall_roughness

MIN_M = 0.005


@dataclass(frozen=True)
class CapacityFacts:
    """What of a run bears on its capacity: records with their ends, what was seen, levels, counter.

    ``nodes``: those of the job, for the level of a cover. ``tied``: the levels are above the job's datum.
    """

    run: RunFields
    stretches: Sequence[StretchRecord]
    observations: Sequence[ObservationRecord]
    items: Sequence[ContinuousItem]
    visibility: Visibility
    end_counter_m: float | None
    profile: LevelProfile | None
    scale: float
    nodes: Sequence[NodeRecord] = ()
    tied: bool = False


def limited_capacity(
    found: PlainCapacity, facts: CapacityFacts, roughness_rows: Sequence[Roughness],
    table: Narrowings,
) -> LimitedCapacity:  # fmt: skip
    """Return the capacities of a run as it is, stretch by stretch, and its bottleneck.

    Returns
    -------
    dict
        As ``run_capacity``; each row with ``roughness_low_mm``, ``roughness_high_mm`` [mm], ``narrowings`` as
        ``narrowings``, ``laid``: the bore as laid, ``carries``: gradient and roughness over the whole
        stretch, by which shares are judged here and in the classes alike, ``backfall`` as ``reaches``,
        ``spread`` as ``capacity_band``, ``even_m3_s`` and ``first_full_m`` as ``stretch_carries``,
        ``capacity`` None and ``left_out`` its reason where no number can be had: ``bore_collapsed``,
        ``bore_blocked``, ``length_not_seen``, ``narrowing_without_size``, ``fall_only_bounded``,
        ``sag_fills_bore``. ``gradient`` and its ends: of the flattest reach.
        ``bottleneck``: the row that carries least, why, and which have no number and may carry less;
        ``whole`` as ``run_carries``.

    Examples
    --------
    >>> facts = CapacityFacts({}, [], [], [], {"looked": True, "from_counter_m": 0.0, "to_counter_m": None,
    ...                       "parts": []}, None, None, 1.0)
    >>> found = {"flow": "with_flow", "flow_known": "assumed", "rows": [], "bottleneck": None}
    >>> limited_capacity(found, facts, [], {"rows": []})["bottleneck"] is None
    True
    """
    by_id: dict[str, StretchFields] = {one["id"]: one["fields"] for one in facts.stretches}
    flow = found["flow"]
    lines = [_line(row, facts, flow) for row in found["rows"]]
    rows = [
        _row(row, by_id.get(row["id"], {}), (flow, line), facts, roughness_rows, table)
        for row, line in zip(found["rows"], lines, strict=True)
    ]
    whole = _whole(rows, lines, flow, facts)
    least = with_reasons(bottleneck(rows), rows) if rows else None
    return {**found, "rows": rows, "bottleneck": least, "whole": whole}


def _line(row: CapacityRow, facts: CapacityFacts, flow: str) -> InvertLine | None:
    if row["from_m"] is None or row["to_m"] is None:
        return None
    return invert_line(facts.profile, row["from_m"], row["to_m"], flow)


def _whole(
    rows: Sequence[LimitedRow], lines: Sequence[InvertLine | None], flow: str, facts: CapacityFacts
) -> RunCarries | None:
    """What all stretches carry together; with the cover at the upper end where its level is known."""
    above = upper_cover(facts.run, facts.nodes, flow) if facts.tied else None
    cover: CoverAtInvert | None = None
    if above is not None and facts.profile is not None:
        station = facts.profile.stations[0 if flow == "with_flow" else -1]
        cover = None if station.level_m is None else {**above, "invert_m": station.level_m}
    try:
        return run_carries(rows, lines, flow, cover)
    except SurveyError:
        return None


def _row(
    plain: CapacityRow, fields: StretchFields, along: tuple[str, InvertLine | None], facts: CapacityFacts,
    roughness_rows: Sequence[Roughness], table: Narrowings,
) -> LimitedRow:  # fmt: skip
    carries: Carries = {"gradient": plain["gradient"], "roughness_mm": plain["roughness_mm"]}
    row: LimitedRow = {
        **plain,
        "carries": carries,
        "laid": None,
        "roughness_low_mm": None,
        "roughness_high_mm": None,
        "narrowings": [],
        "backfall": None,
        "spread": None,
        "even_m3_s": None,
        "first_full_m": None,
    }
    if row["from_m"] is None or row["to_m"] is None:
        return row
    ends = float(fields["from_counter_m"] or 0.0), float(fields["to_counter_m"] or 0.0)
    inside = [o for o in facts.observations if _within(o, ends)]
    wall = wall_roughness(fields, inside, facts.run.get("water_carried"), roughness_rows)
    assumed = row["gradient_known"] == "assumed"
    falls = reaches(facts.profile, row["from_m"], row["to_m"], along[0])
    row |= {
        "roughness_low_mm": wall["low_mm"], "roughness_mm": wall["mm"], "roughness_high_mm": wall["high_mm"],
        "roughness_value": wall["value"], "backfall": falls["backfall"],
        "gradient_low": falls["gradient_low"], "gradient": falls["gradient"],
        "gradient_high": falls["gradient_high"],
        "gradient_known": "assumed" if assumed and falls["known"] == "computed" else falls["known"],
    }  # fmt: skip
    if row["left_out"] not in (None, "bore_blocked"):
        return {**row, "capacity": None}
    laid = row["laid"] = _laid(fields)
    pipe: CleanPipe = {"bore": laid, **carries}
    row["narrowings"] = narrowings(facts.observations, facts.items, ends, facts.end_counter_m, pipe, table)
    row["left_out"] = _withheld(row, facts, ends) or ""
    row["capacity"] = None
    if row["left_out"]:
        return row
    row["left_out"] = None
    bore = Bore(laid["kind"], laid["height_m"], laid["width_m"])
    row = _with_number(row, bore, along[1], wall)
    if row["capacity"] and not facts.visibility["looked"]:
        row["capacity"]["findings"] = [*row["capacity"]["findings"], "bore_not_looked_at"]
    return row


def _within(observation: ObservationRecord, ends: tuple[float, float]) -> bool:
    counter_m = observation["fields"].get("counter_m")
    return counter_m is not None and ends[0] <= counter_m <= ends[1]


def _laid(fields: StretchFields) -> BoreSizes:
    width_mm = fields.get("width_mm")
    return {
        "kind": fields.get("shape") or "", "height_m": (fields["height_mm"] or 0.0) / 1000,
        "width_m": None if width_mm is None else width_mm / 1000,
    }  # fmt: skip


def _withheld(row: LimitedRow, facts: CapacityFacts, ends: tuple[float, float]) -> str | None:
    """Why no number can be had, the gravest reason first."""
    taken = row["narrowings"]
    if any(one["form"] == BLOCKS for one in taken):
        return "bore_collapsed"
    if any(one["most_pct"] <= 0 for one in taken) or row["left_out"] == "bore_blocked":
        return "bore_blocked"
    unseen = unseen_m({**facts.visibility, "looked": True}, ends[0], ends[1], facts.scale)
    if unseen is not None and unseen > MIN_M:
        return "length_not_seen"
    if any(one["size"] is None for one in taken):
        return "narrowing_without_size"
    if row["gradient_known"] == "bounded":
        return "fall_only_bounded"
    return None


def _with_number(row: LimitedRow, bore: Bore, line: InvertLine | None, wall: WallRoughness) -> LimitedRow:
    average = row["carries"]["gradient"]
    if average is None or average < LEVEL:
        level = average is not None and average > -LEVEL
        code = "gradient_unknown" if average is None else "gradient_level" if level else "gradient_adverse"
        return {**row, "capacity": _no_number(code)}
    if line is None:
        return {**row, "left_out": "fall_only_bounded"}
    least, likely, most = _shares(row)
    left = None if likely is None else (min(least, likely), likely, max(most, likely))
    try:
        clean = stretch_carries(line, bore, wall["mm"])
        flows = (clean["gradient"], clean["mean_m3_s"], clean["low_m3_s"], clean["high_m3_s"])
        band = capacity_band(bore, row["size_known"], Carried(*flows, left), wall)
    except SurveyError as error:
        return {**row, "left_out": error.code}
    if clean["mean_m3_s"] <= 0:
        return {**row, "left_out": "sag_fills_bore", "first_full_m": clean["at_m"]}
    low, high = (1.0, 1.0) if left else (least, most)
    carried: Capacity = {
        "low_m3_s": band["low_m3_s"] * low, "mean_m3_s": band["mean_m3_s"] if left else None,
        "high_m3_s": band["high_m3_s"] * high, "known": _known(row, likely),
        "findings": [*band["findings"], *_findings(row, clean["low_m3_s"])],
    }  # fmt: skip
    return {
        **row,
        "capacity": carried,
        "spread": band["spread"],
        "even_m3_s": clean["even_m3_s"],
        "first_full_m": clean["at_m"],
    }


def _no_number(code: str) -> Capacity:
    return {"low_m3_s": None, "mean_m3_s": None, "high_m3_s": None, "known": "unknown", "findings": [code]}


def _shares(row: LimitedRow) -> tuple[float, float | None, float]:
    """The least, the likely (None where not known) and the greatest share that the narrowings leave."""
    taken = row["narrowings"]
    shares = [one["left_pct"] for one in taken if one["left_pct"] is not None]
    least = min((one["least_pct"] for one in taken), default=100.0) / 100
    most = min((one["most_pct"] for one in taken), default=100.0) / 100
    return least, None if len(shares) < len(taken) else min(shares, default=100.0) / 100, most


def _known(row: LimitedRow, likely: float | None) -> str:
    if likely is None:
        return "bounded"
    return "assumed" if row["gradient_known"] == "assumed" else "computed"


def _findings(row: LimitedRow, low_m3_s: float | None) -> list[str]:
    found = [] if low_m3_s is not None else ["gradient_may_be_adverse"]
    if row["backfall"] is not None:
        found.append("backfall_in_it")
    if any(one["form"] == "deposit_depth" for one in row["narrowings"]):
        found.append("bed_taken_as_rough_as_wall")
    return found
