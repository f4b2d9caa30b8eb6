"""Where things lie along a trace: the far end, observations, the outline of an ellipse."""

import math
from collections.abc import Sequence
from typing import TypedDict

from ..instruments.counter import chainage_m
from ..levels.gap_inclinations import settled_at
from ..levels.run_model import placed_readings
from ..numbers.finite import finite
from ..records import NodeRecord, ObservationRecord, Position
from .ellipse import Ellipse, search_radius_m
from .geodesy import geodetic_of_local
from .plan_length import plan_lengths
from .plan_reading import Reading
from .run_trace import PlainTrace, RunTrace, TraceFacts
from .trace import Point, Trace, place_along

CORNERS = 48


class FarEnd(TypedDict):
    """The far end of a run as seen from its start [m, degrees]."""

    distance_m: float
    bearing_deg: float
    north: str
    radius_m: float
    lat_deg: float | None
    lon_deg: float | None


def far_end(found: RunTrace) -> FarEnd | None:
    """Return where the far end of a run lies, seen from its start.

    Returns
    -------
    dict or None
        ``distance_m`` [m] and ``bearing_deg`` [deg, from ``north``: true, magnetic or grid] from the start;
        ``radius_m`` [m]: look within it, 95 times in 100 it holds the end; ``lat_deg``, ``lon_deg`` [deg]
        or None. None without a trace.

    Examples
    --------
    >>> far_end({"trace": None}) is None
    True
    """
    if found["trace"] is None:
        return None
    start, end = found["trace"]["points"][0], found["trace"]["points"][-1]
    e, n = end["e_m"] - start["e_m"], end["n_m"] - start["n_m"]
    turn = math.degrees(math.atan2(e, n))
    place = found["places"][-1] if found["places"] else None
    return {
        "distance_m": math.sqrt(e * e + n * n),
        "bearing_deg": turn + 360 if turn < 0 else turn,
        "north": found["north"] or "",
        "radius_m": search_radius_m(end["ellipse"]["semi_major_m"], 0.0),
        "lat_deg": place["lat_deg"] if place else None,
        "lon_deg": place["lon_deg"] if place else None,
    }


class PlacedItem(TypedDict):
    """A record along the trace [m, degrees]."""

    id: str
    chainage_m: float
    plan_m: float
    e_m: float
    n_m: float
    lat_deg: float | None
    lon_deg: float | None


def places_along(items: Sequence[ObservationRecord], found: RunTrace, facts: TraceFacts) -> list[PlacedItem]:
    """Return where records of a run lie in plan.

    Parameters
    ----------
    found : dict
        From ``run_trace`` with the same ``facts`` [m].

    Returns
    -------
    list of dict
        ``id``, ``chainage_m``, ``plan_m``, ``e_m``, ``n_m`` [m], ``lat_deg`` and ``lon_deg`` [deg] (None
        without a place on the ground), in the order given; what has no counter or lies before the start or
        beyond the end is left out.

    Examples
    --------
    >>> from ..instruments.instruments import instruments_of
    >>> places_along([], {"trace": None}, TraceFacts({}, [], [], [], [], instruments_of([], "r"), None, None))
    []
    """
    if found["trace"] is None:
        return []
    instruments, zero_m = facts.instruments, facts.run.get("counter_zero_m") or 0.0
    read = placed_readings(facts.readings, zero_m, instruments.scale)[0]
    known = [Reading(r.chainage_m, r.deg, r.over) for r, _ in read]
    there = settled_at([identity for _, identity in read], facts.settled)
    trace = _trace_of(found["trace"])
    start = _start(facts.nodes, facts.run.get("start_node_id")) if found["places"] else None
    placed: list[PlacedItem] = []
    for one in items:
        counter_m = one["fields"].get("counter_m")
        where = -1.0 if counter_m is None else chainage_m(counter_m, zero_m, instruments.scale)
        if not 0 <= where <= found["length_m"]:
            continue
        plan = plan_lengths([where], known, instruments.limit_deg, there)[0]
        middle, last = (plan.low_m + plan.high_m) / 2, trace.points[-1].chainage_m
        e, n = place_along(trace, middle if middle < last else last)
        row: PlacedItem = {"id": one["id"], "chainage_m": where, "plan_m": middle, "e_m": e, "n_m": n,
               "lat_deg": None, "lon_deg": None}  # fmt: skip
        if start is not None:
            ground = geodetic_of_local(start["lat_deg"], start["lon_deg"], e, n)
            row["lat_deg"], row["lon_deg"] = ground.lat_deg, ground.lon_deg
        placed.append(row)
    return placed


def ellipse_outline(
    semi_major_m: float, semi_minor_m: float, azimuth_deg: float
) -> list[tuple[float, float]]:
    """Return the outline of an ellipse as corners of a polygon.

    Parameters
    ----------
    semi_major_m, semi_minor_m : float
        Semi-axes [m].
    azimuth_deg : float
        Azimuth of the longer one [deg], clockwise from north.

    Returns
    -------
    list of tuple, length 49
        East and north of the centre [m], anticlockwise, the last the same as the first.

    References
    ----------
    Equation of the ellipse; anticlockwise outer rings: RFC 7946, section 3.1.6.

    Examples
    --------
    >>> [round(x, 6) + 0.0 for x in ellipse_outline(2.0, 1.0, 90.0)[0]]
    [2.0, 0.0]
    """
    major, minor = finite(semi_major_m, "semi_major_m"), finite(semi_minor_m, "semi_minor_m")
    theta = math.radians(finite(azimuth_deg, "azimuth_deg"))
    sin, cos = math.sin(theta), math.cos(theta)
    outline = []
    for k in range(CORNERS):
        turn = 2 * math.pi * k / CORNERS
        along, across = major * math.cos(turn), minor * math.sin(turn)
        outline.append((along * sin - across * cos, along * cos + across * sin))
    return [*outline, outline[0]]


def _trace_of(plain: PlainTrace) -> Trace:
    points = [
        Point(p["chainage_m"], p["e_m"], p["n_m"], p["cov_m2"], Ellipse(**p["ellipse"]))
        for p in plain["points"]
    ]
    return Trace(points, list(plain["leg_bearings_deg"]))


def _start(nodes: Sequence[NodeRecord], node_id: str | None) -> Position | None:
    found = None
    for node in nodes:
        if node["id"] == node_id and node["fields"].get("position"):
            found = node["fields"]["position"]
    return found
