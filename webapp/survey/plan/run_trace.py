"""Where a run goes in plan, from its records: what is known, what is assumed, what is missing."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import TypedDict, cast

from ..instruments.counter import chainage_m
from ..instruments.instruments import Instruments
from ..levels.gap_inclinations import settled_at
from ..levels.run_model import placed_readings
from ..records import Bearing, NodeRecord, ObservationRecord, Position, ReadingRecord, RunFields
from ..table_types.codes import ObservationCode
from .bends import Bends, LeftOutBend, LooseTurn, PlanBend, bends_of
from .deflection import SlopeReadings
from .geodesy import geodetic_of_local, local_of_geodetic
from .joints import Joint, PipeLengths, joints_along
from .north import bearing_sd_deg, turn_bearing
from .plan_length import plan_lengths
from .plan_reading import Reading
from .trace import Bend, EndTie, Start, Trace, TraceLength, trace_plan
from .trace_basis import (
    ASSUMED,
    ConvergenceUsed,
    DeclinationUsed,
    PositionUsed,
    TraceBasis,
    convergence_used,
    declination_used,
    position_used,
)

RADIUS_TO_SD = math.sqrt(-2 * math.log(0.05))  # 95 % radius over the standard deviation of an axis
NO_BASIS = TraceBasis()


@dataclass(frozen=True)
class TraceFacts:
    """What a trace is made from: the records of a run in the order of their making, and of its job.

    ``declination_deg``: from true to magnetic north, east positive; ``convergence_deg``: from true to grid
    north, clockwise positive. ``settled``: what the level ties tell of readings beyond the range [deg], by
    their ids, as ``settled_inclinations``. ``basis``: as ``basis_of``.
    """

    run: RunFields
    nodes: Sequence[NodeRecord]
    readings: Sequence[ReadingRecord]
    observations: Sequence[ObservationRecord]
    code_rows: Sequence[ObservationCode]
    instruments: Instruments
    declination_deg: float | None
    convergence_deg: float | None
    settled: Mapping[str, tuple[float, float, bool]] = field(default_factory=dict)
    basis: TraceBasis = NO_BASIS


class TracedBend(PlanBend):
    """A bend of a trace with its distance on plan."""

    plan_m: float


class PlainEllipse(TypedDict):
    """The fields of ``Ellipse``, as JSON holds them."""

    semi_major_m: float
    semi_minor_m: float
    azimuth_deg: float


class PlainPoint(TypedDict):
    """The fields of ``Point``, as JSON holds them."""

    chainage_m: float
    e_m: float
    n_m: float
    cov_m2: tuple[float, float, float]
    ellipse: PlainEllipse


class PlainTrace(TypedDict):
    """The fields of ``Trace``, as JSON holds them."""

    points: list[PlainPoint]
    leg_bearings_deg: list[float]
    misclosure_m: tuple[float, float] | None
    misclosure_size: float | None  # in standard deviations
    suspect: bool
    start_correction_m: tuple[float, float] | None
    bearing_correction_deg: float | None
    bend_corrections_deg: list[float]
    scale_correction: float | None  # a ratio


class Ground(TypedDict):
    """A place on the ground, WGS 84."""

    lat_deg: float
    lon_deg: float


class RunTrace(TypedDict):
    """Where a run goes in plan; ``missing``: codes of what is not there. See ``run_trace``."""

    missing: list[str]
    north: str | None
    bearing_deg: float | None
    bearing_sd_deg: float | None
    bearing_known: str | None
    bearing_read_sd_deg: float | None
    declination: DeclinationUsed | None
    convergence: ConvergenceUsed | None
    start_radius_m: float
    start_known: str
    start: PositionUsed | None
    length_m: float
    plan_low_m: float | None
    plan_high_m: float | None
    plan_known: str | None
    bends: list[TracedBend]
    left_out: list[LeftOutBend]
    loose: list[LooseTurn]
    joints: list[PipeLengths]
    tied: bool
    tie: PositionUsed | None
    trace: PlainTrace | None
    places: list[Ground] | None


def run_trace(facts: TraceFacts) -> RunTrace:
    """Return the trace of a run in plan, or what is missing for it.

    Returns
    -------
    dict
        ``missing``: codes of what is not there (``start_bearing``, ``length``: no trace;
        ``start_position``, ``declination``, ``convergence``: no place on the ground). ``north`` of the
        frame. ``trace``: points [m], ellipses, or None; ``places``: ``lat_deg``, ``lon_deg`` [deg] of the
        points, or None. ``length_m``, ``plan_low_m``, ``plan_high_m`` [m], ``plan_known``. ``bends`` with
        the ids of their observations, ``left_out``, ``loose`` (what may turn the line and nobody knows
        which way) and ``joints``: the lengths of pipes whose joints nobody observed. ``bearing_sd_deg``
        [deg] with ``bearing_known``: as read and turned to ``north``; ``bearing_read_sd_deg`` [deg] as
        read; ``declination`` and ``convergence``, where they turned it. ``start_radius_m`` [m] with
        ``start_known``, ``start``: how its position is known. ``tied`` where the far end was found, ``tie``:
        how that position is known.

    Raises
    ------
    SurveyError
        As ``convergence_used``, ``bends_of``, ``plan_lengths`` and ``trace_plan``.

    References
    ----------
    Assumed spreads: common practice, no source.

    Examples
    --------
    >>> from webapp.survey.instruments.instruments import instruments_of
    >>> run_trace(TraceFacts({}, [], [], [], [], instruments_of([], "r"), None, None))["missing"]
    ['start_bearing', 'length', 'start_position']
    """
    run, instruments, basis = facts.run, facts.instruments, facts.basis
    zero_m = run.get("counter_zero_m") or 0.0
    length_m = _length(facts, zero_m)
    bearing = run.get("start_bearing")
    start = _position(facts.nodes, run.get("start_node_id"))
    found = _frame(bearing, start, length_m, (facts.declination_deg, facts.convergence_deg), basis)
    if bearing is None or length_m <= 0:
        return found
    placed = placed_readings(facts.readings, zero_m, instruments.scale)[0]
    known = [Reading(r.chainage_m, r.deg, r.over) for r, _ in placed]
    there = settled_at([identity for _, identity in placed], facts.settled)
    bends = bends_of(
        facts.code_rows, facts.observations, zero_m, instruments.scale, ASSUMED["bend_sd_deg"],
        SlopeReadings(known, instruments.sd_deg),
    )  # fmt: skip
    inside = _inside(found, bends)
    seen_m = [*(b["chainage_m"] for b in inside), *(b["chainage_m"] for b in found["loose"])]
    span = {"zero_m": zero_m, "scale": instruments.scale, "length_m": length_m}
    unread = joints_along(basis.stretches, span, basis.joint_rows, seen_m)
    found["joints"] = unread["lengths"]
    plans = plan_lengths([*(b["chainage_m"] for b in inside), length_m], known, instruments.limit_deg, there)
    middles = [(p.low_m + p.high_m) / 2 for p in plans]
    whole = plans[-1]
    found["plan_low_m"], found["plan_high_m"], found["plan_known"] = whole.low_m, whole.high_m, whole.known
    found["bends"] = [{**b, "plan_m": m} for b, m in zip(inside, middles, strict=False)]
    marks = [(0.0, 0.0), *zip((*(b["chainage_m"] for b in inside), length_m), middles, strict=True)]
    loose = [Joint(b["chainage_m"], b["sd_deg"]) for b in found["loose"]]
    trace = trace_plan(
        Start(
            0.0, 0.0, found["start_radius_m"] / RADIUS_TO_SD, found["bearing_deg"] or 0.0,
            found["bearing_sd_deg"] or 0.0,
        ),
        [Bend(b["plan_m"], b["deflection_deg"], b["sd_deg"]) for b in found["bends"]],
        TraceLength(middles[-1], instruments.scale_sd, (whole.high_m - whole.low_m) / math.sqrt(12)),
        _end_tie(run, facts.nodes, start, found),
        _on_plan([*unread["joints"], *loose], marks),
    )  # fmt: skip
    found["trace"] = _plain(trace)
    if start is not None and found["north"] == "true":
        ends = [geodetic_of_local(start["lat_deg"], start["lon_deg"], p.e_m, p.n_m) for p in trace.points]
        found["places"] = [{"lat_deg": p.lat_deg, "lon_deg": p.lon_deg} for p in ends]
    return found


def _inside(found: RunTrace, bends: Bends) -> list[PlanBend]:
    """The bends that lie on the run; what cannot be used and what may turn it goes into ``found``."""
    length_m = found["length_m"]
    inside = [b for b in bends["bends"] if 0 <= b["chainage_m"] <= length_m]
    beyond: list[LeftOutBend] = [
        {"id": b["id"], "code": "bend_outside_run"} for b in bends["bends"] if b not in inside
    ]
    found["left_out"] = bends["left_out"] + beyond
    found["loose"] = [b for b in bends["loose"] if 0 <= b["chainage_m"] <= length_m]
    return inside


def _on_plan(joints: Sequence[Joint], marks: Sequence[tuple[float, float]]) -> list[Joint]:
    """Joints at their plan distance, evenly between the marks (along the pipe, on plan), ascending."""
    placed, leg = [], 1
    for joint in sorted(joints, key=lambda one: one.chainage_m):
        while leg < len(marks) - 1 and joint.chainage_m > marks[leg][0]:
            leg += 1
        (c0, p0), (c1, p1) = marks[leg - 1], marks[leg]
        share = (joint.chainage_m - c0) / (c1 - c0) if c1 > c0 else 0.0
        placed.append(Joint(min(p1, p0 + max(0.0, share) * (p1 - p0)), joint.sd_deg))
    return placed


def _plain(trace: Trace) -> PlainTrace:
    plain = cast(PlainTrace, asdict(trace))
    for point, own in zip(plain["points"], trace.points, strict=True):
        point["ellipse"] = cast(PlainEllipse, own.ellipse._asdict())
    return plain


def _length(facts: TraceFacts, zero_m: float) -> float:
    end_m = facts.run.get("end_counter_m")
    seen = [r["fields"].get("counter_m") for r in facts.readings]
    seen += [r["fields"].get("counter_m") for r in facts.observations]
    counters = [end_m] if end_m is not None else seen
    return max([0.0, *(chainage_m(c, zero_m, facts.instruments.scale) for c in counters if c is not None)])


def _position(nodes: Sequence[NodeRecord], node_id: str | None) -> Position | None:
    found = None
    for node in nodes:
        if node["id"] == node_id and node["fields"].get("position"):
            found = node["fields"]["position"]
    return found


def _frame(
    bearing: Bearing | None, start: Position | None, length_m: float,
    turns: tuple[float | None, float | None], basis: TraceBasis,
) -> RunTrace:  # fmt: skip
    """Which north the trace refers to, how well its start is known, and what is missing."""
    missing: list[str] = []
    found: RunTrace = {
        "missing": missing, "north": None, "bearing_deg": None, "bearing_sd_deg": None, "bearing_known": None,
        "bearing_read_sd_deg": None, "declination": None, "convergence": None, "start_radius_m": 0.0,
        "start_known": "unknown", "start": None, "length_m": length_m, "plan_low_m": None,
        "plan_high_m": None, "plan_known": None,
        "bends": [], "left_out": [], "loose": [], "joints": [], "tied": False, "tie": None, "trace": None,
        "places": None,
    }  # fmt: skip
    if bearing is None:
        missing.append("start_bearing")
    if length_m <= 0:
        missing.append("length")
    if start is None:
        missing.append("start_position")
    else:
        used = found["start"] = position_used(start)
        found["start_radius_m"], found["start_known"] = used["radius_m"], used["known"]
    if bearing is None:
        return found
    north, turned = bearing["north"], bearing["bearing_deg"]
    if north == "grid":
        found["convergence"] = grid = convergence_used(turns[1], start, basis)
        turns = turns[0], grid["deg"] if grid else None
    offset = {"magnetic": turns[0], "grid": turns[1]}.get(north, 0.0)
    sd = bearing.get("sd_deg")
    read_sd = whole_sd = ASSUMED["bearing_sd_deg"] if sd is None else sd
    if offset is None:
        missing.append("declination" if north == "magnetic" else "convergence")
    else:
        turned = turn_bearing(turned, north, "true", *turns)
        if north == "magnetic":
            turn = found["declination"] = declination_used(offset, basis)
            whole_sd = bearing_sd_deg(read_sd, turn["sd_deg"])
        north = "true"
    found["north"], found["bearing_deg"], found["bearing_sd_deg"] = north, turned, whole_sd
    found["bearing_read_sd_deg"], found["bearing_known"] = read_sd, "assumed" if sd is None else "measured"
    return found


def _end_tie(
    run: RunFields, nodes: Sequence[NodeRecord], start: Position | None, found: RunTrace
) -> EndTie | None:
    far = _position(nodes, run.get("finish_node_id"))
    if far is None or start is None or run.get("end_reason") != "node_reached" or found["north"] != "true":
        return None
    local = local_of_geodetic(start["lat_deg"], start["lon_deg"], far["lat_deg"], far["lon_deg"])
    used = found["tie"] = position_used(far)
    found["tied"] = True
    return EndTie(local.e_m, local.n_m, used["radius_m"] / RADIUS_TO_SD)
