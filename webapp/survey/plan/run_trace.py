"""Where a run goes in plan, from its records: what is known, what is assumed, what is missing."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from ..instruments.counter import chainage_m
from ..instruments.instruments import Instruments
from ..levels.gap_inclinations import settled_at
from ..levels.run_model import placed_readings
from ..records import Bearing, NodeRecord, ObservationRecord, Position, ReadingRecord, RunFields
from .bends import bends_of
from .geodesy import geodetic_of_local, local_of_geodetic
from .joints import Joint, joints_along
from .north import bearing_sd_deg, turn_bearing
from .plan_length import plan_lengths
from .plan_reading import Reading
from .trace import Bend, EndTie, Start, Trace, trace_plan
from .trace_basis import ASSUMED, TraceBasis, convergence_used, declination_used, position_used

Item = Mapping[str, Any]
NOTHING: Mapping[str, tuple[float, float, bool]] = {}
RADIUS_TO_SD = math.sqrt(-2 * math.log(0.05))  # 95 % radius over the standard deviation of an axis
NO_BASIS = TraceBasis()


def run_trace(
    run: RunFields,
    nodes: Sequence[NodeRecord],
    readings: Sequence[ReadingRecord],
    observations: Sequence[ObservationRecord],
    code_rows: Sequence[Mapping[str, Any]],
    instruments: Instruments,
    declination_deg: float | None,
    convergence_deg: float | None,
    settled: Mapping[str, tuple[float, float, bool]] = NOTHING,
    basis: TraceBasis = NO_BASIS,
) -> dict[str, Any]:
    """Return the trace of a run in plan, or what is missing for it.

    Parameters
    ----------
    readings, observations : sequence of mapping
        Records of the run, in the order of their making.
    declination_deg : float or None
        From true to magnetic north [deg], east positive.
    convergence_deg : float or None
        From true to grid north [deg], clockwise positive.
    settled : mapping
        What the level ties tell of readings beyond the range [deg], by their ids: ``settled_inclinations``.
    basis : TraceBasis
        How well the declination is known, the stretches, the table of joints: ``basis_of``.

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
    >>> run_trace({}, [], [], [], [], instruments_of([], "r"), None, None)["missing"]
    ['start_bearing', 'length', 'start_position']
    """
    zero_m = run.get("counter_zero_m") or 0.0
    length_m = _length(run, readings, observations, zero_m, instruments.scale)
    bearing = run.get("start_bearing")
    start = _position(nodes, run.get("start_node_id"))
    found = _frame(bearing, start, length_m, (declination_deg, convergence_deg), basis)
    if bearing is None or length_m <= 0:
        return found
    placed = placed_readings(readings, zero_m, instruments.scale)[0]
    known = [Reading(r.chainage_m, r.deg, r.over) for r, _ in placed]
    there = settled_at([identity for _, identity in placed], settled)
    bends = bends_of(
        code_rows, observations, zero_m, instruments.scale, ASSUMED["bend_sd_deg"], known, instruments.sd_deg
    )
    inside = [b for b in bends["bends"] if 0 <= b["chainage_m"] <= length_m]
    found["left_out"] = bends["left_out"] + [
        {"id": b["id"], "code": "bend_outside_run"} for b in bends["bends"] if b not in inside
    ]
    loose = found["loose"] = [b for b in bends["loose"] if 0 <= b["chainage_m"] <= length_m]
    seen_m = [b["chainage_m"] for b in (*inside, *loose)]
    span = {"zero_m": zero_m, "scale": instruments.scale, "length_m": length_m}
    unread = joints_along(basis.stretches, span, basis.joint_rows, seen_m)
    found["joints"] = unread["lengths"]
    plans = plan_lengths([*(b["chainage_m"] for b in inside), length_m], known, instruments.limit_deg, there)
    middles = [(p.low_m + p.high_m) / 2 for p in plans]
    whole = plans[-1]
    found.update(plan_low_m=whole.low_m, plan_high_m=whole.high_m, plan_known=whole.known)
    found["bends"] = [{**b, "plan_m": m} for b, m in zip(inside, middles, strict=False)]
    tie = _end_tie(run, nodes, start, found)
    marks = [(0.0, 0.0), *zip((*(b["chainage_m"] for b in inside), length_m), middles, strict=True)]
    trace = trace_plan(
        Start(
            0.0, 0.0, found["start_radius_m"] / RADIUS_TO_SD, found["bearing_deg"], found["bearing_sd_deg"]
        ),
        [Bend(m, b["deflection_deg"], b["sd_deg"]) for b, m in zip(inside, middles, strict=False)],
        middles[-1],
        instruments.scale_sd,
        (whole.high_m - whole.low_m) / math.sqrt(12),
        tie,
        _on_plan([*unread["joints"], *(Joint(b["chainage_m"], b["sd_deg"]) for b in loose)], marks),
    )
    found["trace"] = _plain(trace)
    if start is not None and found["north"] == "true":
        ends = [geodetic_of_local(start["lat_deg"], start["lon_deg"], p.e_m, p.n_m) for p in trace.points]
        found["places"] = [{"lat_deg": p.lat_deg, "lon_deg": p.lon_deg} for p in ends]
    return found


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


def _plain(trace: Trace) -> dict[str, Any]:
    plain = asdict(trace)
    for point, own in zip(plain["points"], trace.points, strict=True):
        point["ellipse"] = own.ellipse._asdict()
    return plain


def _length(
    run: RunFields,
    readings: Sequence[ReadingRecord],
    observations: Sequence[ObservationRecord],
    zero_m: float,
    scale: float,
) -> float:
    end_m = run.get("end_counter_m")
    counters = (
        [end_m] if end_m is not None else [r["fields"].get("counter_m") for r in (*readings, *observations)]
    )
    return max([0.0, *(chainage_m(c, zero_m, scale) for c in counters if c is not None)])


def _position(nodes: Sequence[NodeRecord], node_id: Any) -> Position | None:
    found = None
    for node in nodes:
        if node["id"] == node_id and node["fields"].get("position"):
            found = node["fields"]["position"]
    return found


def _frame(
    bearing: Bearing | None, start: Position | None, length_m: float,
    turns: tuple[float | None, float | None], basis: TraceBasis,
) -> dict[str, Any]:  # fmt: skip
    """Which north the trace refers to, how well its start is known, and what is missing."""
    missing: list[str] = []
    found: dict[str, Any] = {
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
    found.update(
        north=north, bearing_deg=turned, bearing_sd_deg=whole_sd, bearing_read_sd_deg=read_sd,
        bearing_known="assumed" if sd is None else "measured",
    )  # fmt: skip
    return found


def _end_tie(
    run: RunFields, nodes: Sequence[NodeRecord], start: Position | None, found: dict[str, Any]
) -> EndTie | None:
    far = _position(nodes, run.get("finish_node_id"))
    if far is None or start is None or run.get("end_reason") != "node_reached" or found["north"] != "true":
        return None
    local = local_of_geodetic(start["lat_deg"], start["lon_deg"], far["lat_deg"], far["lon_deg"])
    used = found["tie"] = position_used(far)
    found["tied"] = True
    return EndTie(local.e_m, local.n_m, used["radius_m"] / RADIUS_TO_SD)
