"""What the survey functions make of a run, as the pack prints it."""

import math
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..figures.run_figures import RunFigures
from ..pack.texts import any_of
from ..records.fold import Record
from ..report_model.figures import (
    Blunder,
    Bottleneck,
    Capacity,
    FarCheck,
    FarEnd,
    FarTie,
    Figures,
    Gap,
    Level,
    Narrowing,
    Placed,
    Rise,
    Surcharge,
    Tie,
    Trace,
    TraceBend,
    TraceConvergence,
    TraceDeclination,
    TraceJoints,
    TraceLoose,
    TracePoint,
    TracePosition,
    WaterSeen,
    WholeRun,
)
from ..schemas import pipe
from ..survey.coding.codes import find_code
from ..survey.errors import SurveyError
from ..survey.flow.types import Narrowing as FlowNarrowing
from ..survey.flow.types import RunBottleneck, RunCarries, SpannedRow
from ..survey.instruments.counter_resets import shown_m
from ..survey.instruments.instruments import ASSUMED
from ..survey.levels.at import level_at
from ..survey.levels.band import band_95
from ..survey.levels.falls import what_would_a_tie_settle
from ..survey.levels.levels import TIED, LevelProfile, LevelStation
from ..survey.levels.ponding import Backfall, Sag
from ..survey.levels.run_water import RunWater
from ..survey.plan.run_trace import Ground, PlainTrace
from ..survey.records import LevelTieFields
from ..survey.section.bore import BoreSizes
from ..survey.wording.messages import Words, message
from ..survey.wording.quantities import fixed_text
from ..tables import choices, load


def figures_of(
    words: Words, found: RunFigures, ties: Sequence[Record[LevelTieFields]], nodes: Mapping[str, str]
) -> Figures:
    """Return the figures of a run; ``nodes`` are the names of nodes by their ids."""
    profile, water = found.profile, found.water
    capacity, far_tie = found.capacity, _far_tie(found)
    return Figures(
        instruments=found.instruments,
        absolute=bool(found.model.ties),
        levels=tuple(levels_of(found)),
        rise=_rise(found),
        lengths=tuple(found.lengths),
        ties=tuple(_ties(words, found, ties, nodes)),
        blunders=tuple(
            Blunder(b.kind, b.from_m, b.to_m, b.size_m, b.standardised)
            for b in (profile.blunders if profile else ())
        ),
        zero_deg=profile.zero_deg if profile else None,
        zero_sd_deg=profile.zero_sd_deg if profile else None,
        gaps=tuple(_gaps(found)),
        flow=capacity["flow"] if capacity else "unknown",
        flow_known=capacity["flow_known"] if capacity else "unknown",
        sags=tuple(Sag(**s) for s in water["sags"]) if water else (),
        backfalls=tuple(Backfall(**b) for b in water["backfalls"]) if water else (),
        water=tuple(_water_seen(water)) if water else (),
        capacities=tuple(_capacity(words, row) for row in capacity["rows"]) if capacity else (),
        bottleneck=_bottleneck(capacity["bottleneck"] if capacity else None),
        whole_run=_whole_run(words, capacity["whole"] if capacity else None, nodes),
        limits=tuple(capacity["limits"]) if capacity else (),
        trace=_trace(found),
        far_tie=far_tie if not isinstance(far_tie, str) else None,
        far_check=FarCheck(**check) if (check := found.extent["far_check"]) else None,
        trouble=tuple(_trouble(found, far_tie)),
    )


def _water_seen(water: RunWater) -> Iterator[WaterSeen]:
    for one in water["checks"]:
        yield WaterSeen(
            record_id=one["id"], flow_depth_m=one["flow_depth_m"], chainage_m=one["chainage_m"],
            computed_m=one["computed_m"], observed_m=one["observed_m"], difference_m=one["difference_m"],
            sd_m=one["sd_m"], verdict=one["verdict"],
        )  # fmt: skip


def level_of(station: LevelStation, sense: str, tied_m: Sequence[float] = ()) -> Level:
    """Return a station as the pack prints it; ``tied_m``: the levels measured there."""
    band = band_95(station)
    low, high = band if band else (None, None)
    sd = station.sd_m
    return Level(
        station.chainage_m,
        station.level_m,
        sd,
        station.low_m,
        station.high_m,
        low,
        high,
        station.known,
        sense,
        tuple(tied_m),
    )


def levels_of(found: RunFigures) -> list[Level]:
    """Return all stations."""
    if found.profile is None or not found.senses:
        return []
    tied = _tied(found)
    return [
        level_of(s, sense, tied.get(s.chainage_m, ()))
        for s, sense in zip(found.profile.stations, found.senses, strict=True)
    ]


def level_there(found: RunFigures, chainage_m: float | None) -> Level | None:
    """Return the level at a place; None where there is none."""
    if found.profile is None or not found.senses or chainage_m is None:
        return None
    station = level_at(found.profile, chainage_m)
    if station is None:
        return None
    tied_m = _tied(found).get(station.chainage_m, ()) if station.known == "adjusted" else ()
    return level_of(station, _sense_there(found, found.profile, station), tied_m)


def _tied(found: RunFigures) -> dict[float, list[float]]:
    """The levels measured at each station that has a tie, by its chainage."""
    levels: dict[float, list[float]] = {}
    if found.profile is not None:
        for check in found.profile.ties:
            place = found.profile.stations[check.station].chainage_m
            levels.setdefault(place, []).append(found.model.ties[check.tie].level_m)
    return levels


def _sense_there(found: RunFigures, profile: LevelProfile, station: LevelStation) -> str:
    if station.level_m is not None:
        return ""
    ahead = bisect_left(profile.stations, station.chainage_m - 1e-9, key=lambda s: s.chainage_m)
    return found.senses[ahead] or found.senses[ahead - 1] or "between"


def _rise(found: RunFigures) -> Rise | None:
    value, provenance = found.rise, found.rise_known
    if value is None:
        return None
    if not value.settled:
        return Rise(None, None, value.low_m, value.high_m, provenance)
    return Rise(value.value_m, value.sd_m, value.value_m, value.value_m, provenance)


def _ties(
    words: Words, found: RunFigures, raw: Sequence[Record[LevelTieFields]], nodes: Mapping[str, str]
) -> list[Tie]:
    model, profile = found.model, found.profile
    records = {r.id: r.fields for r in raw}
    checks = {c.tie: c for c in profile.ties} if profile else {}
    suspects = {b.index for b in profile.blunders if b.kind == "tie"} if profile else set()
    rows = []
    for place, (tie, identity) in enumerate(zip(model.ties, model.tie_ids, strict=True)):
        f, check = records.get(identity, {}), checks.get(place)
        method = _method(words, f)
        if identity not in records:
            node = nodes.get(identity) or message(words, "pack.tie.node", {})
            method = message(words, "pack.tie.cover_less_dip", {"node": node})
        # with an unknown start the first tie is carried by itself: nothing is before it
        before = check.before_m if check and place != _first(model.ties) else None
        there = profile.stations[check.station] if profile and check else None
        rows.append(
            Tie(
                identity, shown_m(f, "counter_m"), tie.chainage_m, tie.level_m, tie.sd_m,
                model.tie_known[place], method, f.get("remark") or "", before,
                check.after_m if check else None, check.rest_m if check else None,
                check.rest_sd_m if check else None, check.standardised if check else None,
                place in suspects, "", there.level_m if there else None, there.sd_m if there else None,
            )
        )  # fmt: skip
    rows.sort(key=lambda t: t.chainage_m or 0.0)
    left_out = {one["id"]: one["code"] for one in model.left_out if one["id"] in records}
    for identity, code in left_out.items():
        f = records[identity]
        method = _method(words, f)
        rows.append(
            Tie(
                identity, shown_m(f, "counter_m"), None, f.get("invert_level_m"), f.get("sd_m"), "measured",
                method, f.get("remark") or "", None, None, None, None, None, False, code, None, None,
            )
        )  # fmt: skip
    return rows


def _method(words: Words, f: Mapping[str, Any]) -> str:
    return pipe.TIE_METHODS.get(f.get("method") or "") or message(words, "pack.not_recorded_label", {})


def _first(ties: Sequence[Any]) -> int:
    return min(range(len(ties)), key=lambda k: ties[k].chainage_m)


def _gaps(found: RunFigures) -> list[Gap]:
    if found.profile is None:
        return []
    rows = []
    for gap in found.profile.gaps:
        reading = found.model.readings[gap.reading]
        rows.append(
            Gap(
                found.model.reading_ids[gap.reading], reading.chainage_m, *_extent(found, gap.reading),
                reading.over, gap.length_m,
                gap.status, gap.consistent, gap.low_m, gap.high_m, gap.low_deg, gap.high_deg, gap.rise_m,
                gap.sd_m, gap.deg, gap.sd_deg,
            )
        )  # fmt: skip
    return rows


def _extent(found: RunFigures, k: int) -> tuple[float, float]:
    """From where the reading before ends to where the next one stands, or to the end of the levels."""
    readings, begin_m = found.model.readings, 0.0
    if k:
        before = readings[k - 1]
        begin_m = before.chainage_m if before.to_m is None else before.to_m
    if k + 1 < len(readings) or found.profile is None:
        return begin_m, readings[min(k + 1, len(readings) - 1)].chainage_m
    return begin_m, found.profile.stations[-1].chainage_m


def _capacity(words: Words, row: SpannedRow) -> Capacity:
    labels = {one["value"]: one["label"] for one in load("roughness")["rows"]}
    carried, label = row["capacity"], labels.get(row["roughness_value"])
    return Capacity(
        record_id=row["id"],
        from_m=row["from_m"],
        to_m=row["to_m"],
        bore=_bores(words, row) if row["disputed"] else _bore(row["bore"]),
        size_known=pipe.HOW_KNOWN.get(row["size_known"]) or message(words, "pack.not_known", {}),
        roughness_mm=row["roughness_mm"],
        roughness_label=message(words, "pack.roughness_in_use", {"clean": label}) if label else "",
        roughness_known=row["roughness_known"],
        deposit_pct=row["deposit_pct"],
        deformation_pct=row["deformation_pct"],
        gradient_low=row["gradient_low"],
        gradient=row["gradient"],
        gradient_high=row["gradient_high"],
        gradient_known=row["gradient_known"],
        low_m3_s=carried["low_m3_s"] if carried else None,
        mean_m3_s=carried["mean_m3_s"] if carried else None,
        high_m3_s=carried["high_m3_s"] if carried else None,
        known=carried["known"] if carried else "unknown",
        findings=tuple(carried["findings"]) if carried else (),
        left_out=row["left_out"] or "",
        roughness_low_mm=row["roughness_low_mm"],
        roughness_high_mm=row["roughness_high_mm"],
        narrowed_by=tuple(Narrowing(**one, words=_narrowing_words(words, one)) for one in row["narrowings"]),
        backfall=(back["from_m"], back["to_m"], back["rise_m"]) if (back := row["backfall"]) else None,
        unsure=_most_unsure(row["spread"]),
        whole_gradient=row["carries"]["gradient"],
        first_full_m=row["first_full_m"],
    )


def _narrowing_words(words: Words, one: FlowNarrowing) -> str:
    row = find_code(load("observation_codes")["rows"], one["code"])
    what = {"what": row["title"] if row else one["code"]}
    if one["left_pct"] is not None:
        return message(words, "pack.narrowing", {**what, "left": fixed_text(words, one["left_pct"], 0)})
    ends = {"low": fixed_text(words, one["least_pct"], 0), "high": fixed_text(words, one["most_pct"], 0)}
    return message(words, "pack.narrowing_estimated", {**what, **ends})


def _most_unsure(spread: Mapping[str, float | None] | None) -> str:
    """The cause that alone would make the widest band."""
    if not spread:
        return ""
    return max(spread, key=lambda name: math.inf if spread[name] is None else float(spread[name] or 0.0))


def _bores(words: Words, row: SpannedRow) -> str:
    """What the bore may be, where two people recorded it differently."""
    bores = any_of(words, dict.fromkeys(_bore(one) for one in row["bores"]))
    return message(words, "pack.not_settled", {"what": bores})


def _bore(bore: BoreSizes | None) -> str:
    if bore is None:
        return ""
    label = choices("shapes").get(bore["kind"], bore["kind"].capitalize())
    wide = f" × {1000 * bore['width_m']:.0f}" if bore["width_m"] is not None else ""
    return f"{label} {1000 * bore['height_m']:.0f}{wide} mm"


def _bottleneck(bottleneck: RunBottleneck | None) -> Bottleneck | None:
    if bottleneck is None:
        return None
    reasons = tuple((r["code"], r["without_m3_s"]) for r in bottleneck["reasons"])
    return Bottleneck(
        bottleneck["index"], reasons, tuple(bottleneck["rivals"]), tuple(bottleneck["no_number"])
    )


def _whole_run(words: Words, whole: RunCarries | None, nodes: Mapping[str, str]) -> WholeRun | None:
    if whole is None:
        return None
    over = whole["surcharge"]
    surcharge = None
    if over:
        name = nodes.get(over["node_id"]) or message(words, "pack.upper_node", {})
        flows = (over["discharge_m3_s"], over["low_m3_s"], over["high_m3_s"])
        surcharge = Surcharge(over["node_id"], name, over["level_m"], *flows)
    return WholeRun(
        whole["low_m3_s"], whole["mean_m3_s"], whole["high_m3_s"], whole["known"], whole["at_m"], surcharge
    )


def _trace(found: RunFigures) -> Trace | None:
    plain = found.trace
    if plain is None:
        return None
    trace = plain["trace"]
    misclosure = trace["misclosure_m"] if trace else None
    return Trace(
        tuple(plain["missing"]), plain["north"] or "", plain["bearing_deg"], plain["bearing_sd_deg"],
        plain["bearing_known"] or "", plain["start_radius_m"], plain["start_known"], plain["length_m"],
        plain["plan_low_m"], plain["plan_high_m"], plain["plan_known"] or "", plain["tied"],
        bool(trace and trace["suspect"]), tuple(_points(trace, plain["places"])) if trace else (),
        tuple(
            TraceBend(
                b["id"], b["chainage_m"], b["deflection_deg"], b["sd_deg"], b["known"], b["joint"]
            )
            for b in plain["bends"]
        ),
        tuple((one["id"], one["code"]) for one in plain["left_out"]),
        tuple(
            Placed(p["id"], p["chainage_m"], p["e_m"], p["n_m"], p["lat_deg"], p["lon_deg"])
            for p in found.placed
        ),
        FarEnd(**found.end) if found.end else None,
        plain["bearing_read_sd_deg"],
        TraceDeclination(**plain["declination"]) if plain["declination"] else None,
        TracePosition(**plain["start"]) if plain["start"] else None,
        TracePosition(**plain["tie"]) if plain["tie"] else None,
        math.hypot(*misclosure) if misclosure else None,
        trace["misclosure_size"] if trace else None,
        tuple(TraceJoints(**one) for one in plain["joints"] if one["count"]),
        tuple(TraceLoose(one["id"], one["chainage_m"], one["sd_deg"]) for one in plain["loose"]),
        TraceConvergence(**plain["convergence"]) if plain["convergence"] else None,
    )  # fmt: skip


def _points(trace: PlainTrace, places: Sequence[Ground] | None) -> Iterator[TracePoint]:
    for k, p in enumerate(trace["points"]):
        ground = (places[k]["lat_deg"], places[k]["lon_deg"]) if places else (None, None)
        yield TracePoint(
            p["chainage_m"], p["e_m"], p["n_m"], p["ellipse"]["semi_major_m"], p["ellipse"]["semi_minor_m"],
            p["ellipse"]["azimuth_deg"], *ground,
        )  # fmt: skip


# what the pack calls a figure that was refused, in the order in which it tells of them
REFUSED = {
    "profile": "levels", "rise": "levels", "lengths": "falls", "last_length": "falls", "far_tie": "far_tie",
    "capacity": "capacity", "water": "water", "trace": "trace", "placed": "trace", "grading": "condition",
    "suggested": "condition",
}  # fmt: skip


def _trouble(found: RunFigures, far_tie: FarTie | str | None) -> list[tuple[str, str]]:
    """Which figures were refused, with the codes: every one is asked for."""
    for name in REFUSED:
        getattr(found, name)
    refused = dict(found.refused)
    if isinstance(far_tie, str):
        refused["far_tie"] = far_tie
    return list(dict.fromkeys((REFUSED[name], refused[name]) for name in REFUSED if name in refused))


def _far_tie(found: RunFigures) -> FarTie | str | None:
    """What a level at the far end would settle; the code where that was refused."""
    profile, model, settled = found.measured, found.model, found.far_tie
    if profile is None or settled is None or profile.stations[-1].known in TIED:
        return None
    far_m, sd_m = profile.stations[-1].chainage_m, ASSUMED["tie_sd_m"]
    try:
        tie = what_would_a_tie_settle(model.readings, model.ties, model.setup, far_m, sd_m)
    except SurveyError as error:
        return error.code
    now = sum(1 for s in profile.stations if s.known == "bounded")
    then = sum(1 for provenance in tie.known if provenance == "bounded")
    both = settled["both_ends"]
    now_sd_m = settled["now_sd_m"] if both else tie.far_now_sd_m
    then_sd_m = settled["sd_m"] if both else tie.far_sd_m
    return FarTie(far_m, sd_m, now_sd_m, then_sd_m, now, then, both)
