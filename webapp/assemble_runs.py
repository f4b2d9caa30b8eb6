"""One run: its records, in order of chainage, and what the survey arithmetic makes of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from . import tables
from .assemble_levels import Frame, levels_along, over_of, placed_readings, start_level, ties_of
from .assemble_observations import observations_of
from .pack.contents import Level, Node, Observation, Photo, Reading, Remark, Run, Stretch
from .schemas import pipe
from .survey import counter, findings, gradient, profile
from .survey.errors import SurveyError
from .sync.fold import Record

LIMIT_UNKNOWN_DEG = 1e-6  # with no limit and no reading, "beyond the range" says the sense only


@dataclass(frozen=True)
class Instruments:
    """What the checks say of the counter and the inclinometer, for one run."""

    scale: float
    scale_known: str
    limit_deg: float | None
    cable_length_m: float | None


def assemble_run(
    run: Record, nodes: dict[str, Node], of_run: Callable[[str, str], list[Record]],
    tools: Instruments, photos: Sequence[Photo],
) -> Run:  # fmt: skip
    """Return one run with everything computed."""
    f = run.fields
    raw = of_run("reading", run.id)
    zero_m = f.get("counter_zero_m")
    frame = Frame(zero_m or 0.0, tools.scale)
    placed = placed_readings(raw, frame)
    limit_deg, limit_known = _limit(tools, placed)
    end_m = frame.place(f.get("end_counter_m"))

    def levels_from(start_m: float) -> list[Level]:
        return levels_along(placed, start_m, limit_deg, end_m)

    ties = of_run("level_tie", run.id)
    start = nodes.get(f.get("start_node_id") or "")
    begin_m, start_known, start_tie = start_level(ties, start, frame, levels_from(0.0))
    levels = levels_from(begin_m or 0.0)
    readings = _readings(raw, frame, levels, f.get("direction"))
    observations = observations_of(of_run("observation", run.id), frame, levels, photos)
    shown = {p.record_id for o in observations for p in o.photos}
    surveyed_m, surveyed_known = _surveyed(end_m, placed, observations)
    expected_m = f.get("expected_length_m")
    rise = _rise(levels)
    found = findings.run_findings(
        f, _plain(raw), _plain(of_run("observation", run.id)), tables.load("observation_codes")["rows"],
        tools.cable_length_m, limit_deg,
    )  # fmt: skip
    return Run(
        record_id=run.id,
        ref=f.get("run_ref") or "(no reference)",
        start=start,
        finish=nodes.get(f.get("finish_node_id") or ""),
        direction=f.get("direction") or "unknown",
        direction_label=pipe.DIRECTIONS[f.get("direction") or "unknown"],
        datum_label=pipe.DATUMS.get(f.get("chainage_datum") or "", "Not recorded"),
        counter_zero_m=frame.zero_m,
        zero_known="assumed" if zero_m is None else "measured",
        scale=tools.scale,
        scale_known=tools.scale_known,
        limit_deg=limit_deg,
        limit_known=limit_known,
        start_bearing=f.get("start_bearing"),
        end_reason=f.get("end_reason") or "",
        end_reason_label=pipe.END_REASONS.get(f.get("end_reason") or "", "Not recorded"),
        end_counter_m=f.get("end_counter_m"),
        surveyed_m=surveyed_m,
        surveyed_known=surveyed_known,
        expected_m=expected_m,
        remaining_m=_remaining(expected_m, surveyed_m, f.get("end_reason")),
        start_level_m=begin_m,
        start_level_known=start_known,
        rise_low_m=rise[0],
        rise_high_m=rise[1],
        rise_sense=levels[-1].sense if levels else "",
        rise_known=levels[-1].known if levels else "",
        levels=tuple(levels),
        readings=tuple(readings),
        stretches=tuple(_stretches(of_run("stretch", run.id), frame)),
        observations=tuple(observations),
        ties=tuple(ties_of(ties, frame, levels, start_tie, begin_m is not None)),
        remarks=tuple(
            Remark(r.id, frame.place(r.fields.get("counter_m")), r.fields.get("counter_m"), r.fields["text"])
            for r in of_run("remark", run.id)
            if r.fields.get("text")
        ),
        photos=tuple(p for p in photos if p.run_id == run.id and p.record_id not in shown),
        backfalls=_spans(readings, lambda r: r.against_flow),
        over_range=_spans(readings, lambda r: r.over != 0),
        findings=tuple(_sentences(found)),
        remark=f.get("remark") or "",
    )


def _plain(records: Sequence[Record]) -> list[dict[str, Any]]:
    return [{"id": r.id, "fields": r.fields} for r in records]


def _sentences(found: list[dict[str, Any]]) -> list[tuple[str, str]]:
    rows = tables.load("findings")["rows"]
    severity = {row["code"]: row["severity"] for row in rows}
    return [(severity[one["code"]], findings.sentence(rows, one)) for one in found]


def _limit(tools: Instruments, placed: Sequence[profile.Reading]) -> tuple[float, str]:
    if tools.limit_deg is not None:
        return tools.limit_deg, "measured"
    largest = max((abs(r.deg) for r in placed if r.deg is not None), default=0.0)
    return (largest if largest > 0 else LIMIT_UNKNOWN_DEG), "assumed"


def _readings(
    raw: Sequence[Record], frame: Frame, levels: Sequence[Level], direction: str | None
) -> list[Reading]:
    def order(record: Record) -> tuple[bool, float]:
        where = frame.place(record.fields.get("counter_m"))
        return (where is None or not record.fields.get("inclination"), where or 0.0)

    stations = list(levels)
    lead = stations.pop(0) if stations and _has_lead(raw, frame, stations) else None
    found: list[Reading] = []
    before = lead
    for record in sorted(raw, key=order):
        where, inclination = frame.place(record.fields.get("counter_m")), record.fields.get("inclination")
        level = None
        if where is not None and inclination and where >= 0 and stations:
            level = stations.pop(0)
        found.append(_reading(record, where, inclination, before, level, direction))
        before = level or before
    return found


def _has_lead(raw: Sequence[Record], frame: Frame, levels: Sequence[Level]) -> bool:
    """Say whether the first station is the start itself and not a reading."""
    places = [frame.place(r.fields.get("counter_m")) for r in raw if r.fields.get("inclination")]
    return levels[0].chainage_m not in [p for p in places if p is not None]


def _reading(
    record: Record, where: float | None, inclination: dict[str, Any] | None, before: Level | None,
    level: Level | None, direction: str | None,
) -> Reading:  # fmt: skip
    over = over_of(inclination) if inclination else 0
    deg = gradient.inclination_deg(inclination) if inclination else None
    ways = gradient.gradient_of(deg) if deg is not None else {}
    sign = over or (0 if not deg else 1 if deg > 0 else -1)
    step: tuple[float | None, ...] = (None, None, None)
    sense = ""
    if before and level:
        low_m, high_m = level.low_m - before.low_m, level.high_m - before.high_m
        step = (level.chainage_m - before.chainage_m, low_m, high_m)
        if high_m - low_m > 1e-9:
            sense = "at_least" if low_m > 0 else "at_most" if high_m < 0 else "between"
    return Reading(
        record_id=record.id,
        counter_m=record.fields.get("counter_m"),
        chainage_m=where,
        inclination=inclination,
        deg=deg,
        pct=ways.get("pct"),
        one_in=ways.get("one_in"),
        over=over,
        against_flow=(direction, sign) in (("with_flow", 1), ("against_flow", -1)),
        length_m=step[0],
        rise_low_m=step[1],
        rise_high_m=step[2],
        step_sense=sense,
        level=level,
        remark=record.fields.get("remark") or "",
        disputed=bool(record.conflicts),
    )


def _stretches(raw: Sequence[Record], frame: Frame) -> list[Stretch]:
    found = []
    for record in raw:
        f = record.fields
        start, end = frame.place(f.get("from_counter_m")), frame.place(f.get("to_counter_m"))
        found.append(
            Stretch(
                record.id, f.get("from_counter_m"), f.get("to_counter_m"), start, end,
                tables.choices("shapes").get(f.get("shape") or "", ""), f.get("height_mm"), f.get("width_mm"),
                pipe.HOW_KNOWN.get(f.get("size_known") or "", "Not recorded"),
                tables.choices("materials").get(f.get("material") or "", ""),
                tables.choices("linings").get(f.get("lining") or "", ""), f.get("pipe_unit_length_m"),
                f.get("remark") or "",
            )
        )  # fmt: skip
    return sorted(found, key=lambda s: s.from_m or 0.0)


def _surveyed(
    end_m: float | None, placed: Sequence[profile.Reading], observations: Sequence[Observation]
) -> tuple[float | None, str]:
    if end_m is not None:
        return end_m, "measured: where the run is recorded to have ended"
    places = [r.chainage_m for r in placed] + [o.chainage_m for o in observations if o.chainage_m is not None]
    return (max(places), "assumed: the last recorded place") if places else (None, "not known")


def _remaining(expected_m: float | None, surveyed_m: float | None, end_reason: str | None) -> float | None:
    if expected_m is None or surveyed_m is None or end_reason == "node_reached":
        return None
    return expected_m - surveyed_m if expected_m > surveyed_m else None


def _rise(levels: Sequence[Level]) -> tuple[float | None, float | None]:
    if not levels:
        return None, None
    return levels[-1].low_m - levels[0].low_m, levels[-1].high_m - levels[0].high_m


def _spans(readings: Sequence[Reading], counts: Callable[[Reading], bool]) -> tuple[tuple[float, float], ...]:
    """Return from which to which chainage neighbouring readings all count."""
    spans: list[tuple[float, float]] = []
    open_span = False
    for reading in readings:
        if reading.level is None:
            continue
        if counts(reading):
            start = spans.pop()[0] if open_span else reading.level.chainage_m
            spans.append((start, reading.level.chainage_m))
        open_span = counts(reading)
    return tuple(spans)


def scale_of(check: dict[str, Any]) -> float | None:
    """Return the counter's scale from a tape check, None if it cannot be had from it."""
    names = ("counter_from_m", "counter_to_m", "taped_length_m")
    if any(check.get(name) is None for name in names):
        return None
    try:
        return counter.scale_from_tape(*(check[name] for name in names))
    except SurveyError:
        return None
