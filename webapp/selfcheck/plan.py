"""Reference topics of the plan: trace, traverse, geodesic, convergence."""

from ..survey.plan import geodesy, north, trace
from . import traverse
from .watched import Values


def plan_trace(inputs: Values) -> Values:
    """Evaluate a trace, with or without a tie at the far end."""
    start = trace.Start(
        inputs["start_e_m"],
        inputs["start_n_m"],
        inputs["sigma_start_m"],
        inputs["heading_deg"],
        inputs["sigma_heading_deg"],
    )
    bends = [trace.Bend(b["chainage_m"], b["angle_deg"], b["sigma_deg"]) for b in inputs["bends"]]
    tie = inputs.get("end_tie")
    end_tie = trace.EndTie(tie["e_m"], tie["n_m"], tie["sigma_m"]) if tie else None
    length = trace.TraceLength(inputs["length_m"], inputs["sigma_scale"], inputs["sigma_leg_m"])
    found = trace.trace_plan(start, bends, length, end_tie)
    end = found.points[-1]
    ee, en, nn = end.cov_m2
    values = {
        "end_e_m": end.e_m,
        "end_n_m": end.n_m,
        "points_en_m": [[p.e_m, p.n_m] for p in found.points],
        "cov_en_m2": [[ee, en], [en, nn]],
        "ellipse95_semi_major_m": end.ellipse.semi_major_m,
        "ellipse95_semi_minor_m": end.ellipse.semi_minor_m,
        "ellipse95_azimuth_deg": end.ellipse.azimuth_deg,
        "leg_headings_deg": found.leg_bearings_deg,
        "bend_ellipses95": [p.ellipse._asdict() for p in found.points[1:]],
    }
    if found.misclosure_m is not None:
        values["misclosure_en_m"] = list(found.misclosure_m)
        values["heading_correction_deg"] = found.bearing_correction_deg
        values["bend_corrections_deg"] = found.bend_corrections_deg
        values["scale_correction"] = found.scale_correction
    return values


def geodesic_direct(inputs: Values) -> Values:
    """Evaluate the end of a line on WGS 84."""
    end = geodesy.direct(
        inputs["latitude_deg"], inputs["longitude_deg"], inputs["azimuth_deg"], inputs["distance_m"]
    )
    return {"latitude_deg": end.lat_deg, "longitude_deg": end.lon_deg, "azimuth_deg": end.azimuth_deg}


def grid_convergence(inputs: Values) -> Values:
    """Evaluate the convergence of a transverse Mercator grid."""
    where = (inputs["latitude_deg"], inputs["longitude_deg"], inputs["central_meridian_deg"])
    return {"convergence_deg": north.grid_convergence(*where)}


def traverse_bowditch(inputs: Values) -> Values:
    """Evaluate a traverse by the compass rule: closed, or a link to a known end."""
    start = inputs.get("start_northing_m", 10000.0), inputs.get("start_easting_m", 10000.0)
    end = None
    if "end_northing_m" in inputs or "end_easting_m" in inputs:
        end = inputs["end_northing_m"], inputs["end_easting_m"]
    found = traverse.traverse_bowditch(inputs["azimuth_deg"], inputs["length_m"], *start, end)
    return found._asdict()


def dead_reckoning_leg(inputs: Values) -> Values:
    """Evaluate one leg."""
    leg = traverse.dead_reckoning_leg(inputs["course_deg"], inputs["distance_m"])
    return {"difference_of_latitude_m": leg.latitude_m, "departure_m": leg.departure_m}


def error_propagation_leg(inputs: Values) -> Values:
    """Evaluate the uncertainty of one leg, as a trace of one leg from a place without error."""
    start = trace.Start(0.0, 0.0, 0.0, inputs["azimuth_deg"], inputs["sigma_azimuth_deg"])
    length = trace.TraceLength(inputs["length_m"], 0.0, inputs["sigma_length_m"])
    end = trace.trace_plan(start, [], length).points[-1]
    ee, en, nn = end.cov_m2
    return {
        "latitude_m": end.n_m,
        "departure_m": end.e_m,
        "sd_latitude_m": nn**0.5,
        "sd_departure_m": ee**0.5,
        "covariance_m2": en,
    }


TOPICS = {
    "plan_trace": plan_trace,
    "geodesic_direct": geodesic_direct,
    "grid_convergence": grid_convergence,
    "traverse_bowditch": traverse_bowditch,
    "dead_reckoning_leg": dead_reckoning_leg,
    "error_propagation_leg": error_propagation_leg,
}
