"""A run in plan, as the pack prints it."""

import math
from collections.abc import Iterator, Sequence

from ..figures.run_figures import RunFigures
from ..report_model.plan import (
    FarEnd,
    Placed,
    Trace,
    TraceBend,
    TraceConvergence,
    TraceDeclination,
    TraceJoints,
    TraceLoose,
    TracePoint,
    TracePosition,
)
from ..survey.plan.run_trace import Ground, PlainTrace


def trace_of(found: RunFigures) -> Trace | None:
    """Return a run in plan; None where that was refused."""
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
