"""Reference topics of levels and gradients: profile, levelling, falls and slopes."""

import math

from ..survey.instruments import gradient
from ..survey.levels import levels
from ..survey.levels.input import LevelReading, LevelSetup, LevelTie
from ..survey.records import Inclination
from . import levelling, slopes
from .level_covariance import level_covariance
from .watched import Values

CHECKED = 1e-9


def uncertain_profile(inputs: Values) -> Values:
    """Evaluate a level profile with ties and readings beyond the range."""
    places, angles = inputs["chainage_m"], inputs["theta_deg"]
    over, sd = inputs.get("over") or [0] * len(angles), inputs["sigma_deg"]
    sds = sd if isinstance(sd, list) else [sd] * len(angles)
    readings = [LevelReading(*row) for row in zip(places, angles, over, sds, strict=False)]
    setup = LevelSetup(
        inputs["mode"], places[0], inputs["z0_m"], inputs["sigma_z0_m"], 0.0, inputs["sigma_bias_deg"],
        inputs["sigma_scale"], 0.0, inputs.get("limit_deg", 10.0), places[-1],
    )  # fmt: skip
    ties = [LevelTie(places[t["station"]], t["level_m"], t["sigma_m"]) for t in inputs["ties"]]
    found = levels.level_profile(readings, ties, setup)
    stations, count = found.stations, range(len(found.stations))
    cov = [[level_covariance(found.solution, j, k) for k in count] for j in count]
    return {
        "prior_level_m": [s.prior_level_m for s in stations],
        "prior_sd_m": [s.prior_sd_m for s in stations],
        "level_m": [s.level_m for s in stations],
        "sd_m": [s.sd_m for s in stations],
        "cov_m2": None if any(value is None for row in cov for value in row) else cov,
        "determined": [s.level_m is not None for s in stations],
        "lower_m": [s.low_m for s in stations],
        "upper_m": [s.high_m for s in stations],
        "zero_error_deg": found.zero_deg,
        "sd_zero_error_deg": found.zero_sd_deg,
        "counter_scale": found.scale,
        "sd_counter_scale": found.scale_sd,
        "rise_total_m": found.rise_m,
        "sd_rise_total_m": found.rise_sd_m,
        "unknown": [_unknown(gap) for gap in found.gaps],
    }


def _unknown(gap: levels.SolvedGap) -> Values:
    head = {
        "reading": gap.reading,
        "acting_length_m": gap.length_m,
        "status": gap.status,
        "consistent": gap.consistent,
    }
    if gap.status == "solved":
        solved = {"rise_m": gap.rise_m, "sd_rise_m": gap.sd_m, "sine": gap.sine}
        return {**head, **solved, "theta_deg": gap.deg, "sd_theta_deg": gap.sd_deg}
    return {
        **head,
        "rise_lower_m": gap.low_m,
        "rise_upper_m": gap.high_m,
        "theta_lower_deg": gap.low_deg,
        "theta_upper_deg": gap.high_deg,
    }


def gradient_conversion(inputs: Values) -> Values:
    """Evaluate one way of writing a gradient in every other."""
    if "degrees" in inputs:
        deg = inputs["degrees"]
    else:
        unit = next(u for u in ("one_in", "percent", "permille") if u in inputs)
        written: Inclination = {
            "size": inputs[unit],
            "unit": "pct" if unit == "percent" else unit,
            "sense": "rising",
        }
        deg = gradient.inclination_deg(written)
    found = gradient.gradient_of(deg)
    return {
        "degrees": found["deg"],
        "percent": found["pct"],
        "permille": found["permille"],
        "one_in": found["one_in"],
    }


def inclination_to_gradient(inputs: Values) -> Values:
    """Evaluate an inclination as gradients, and the fall per metre along the pipe."""
    fall = slopes.rise_along_m(1.0, inputs["degrees"])
    return {**gradient_conversion(inputs), "fall_per_metre_along_pipe_m": fall}


def fall_over_length(inputs: Values) -> Values:
    """Evaluate the fall over a length on plan."""
    return {"fall_m": slopes.fall_on_plan_m(inputs["length_m"], inputs["gradient_one_in"])}


def slope_distance(inputs: Values) -> Values:
    """Evaluate the distance along a slope."""
    along, deg = slopes.slope_of(inputs["rise_m"], inputs["plan_distance_m"])
    return {"slope_distance_m": along, "degrees": deg}


def level_misclosure_by_setups(inputs: Values) -> Values:
    """Evaluate a misclosure shared out by set-ups."""
    corrections = levelling.share_misclosure(inputs["misclosure_m"], [1.0] * inputs["setups"])
    values = {"correction_per_setup_m": corrections[0], "corrections_m": corrections}
    if len(corrections) > 3:
        values["correction_at_fourth_point_m"] = corrections[3]
    return values


def level_misclosure_by_distance(inputs: Values) -> Values:
    """Evaluate a misclosure shared out by distance.

    Legs by their lengths (``leg_length_m``, ``length_m``) or points by their distance from the start
    (``distance_m``, the last is the whole); ``total_length_m`` where the legs are not all.
    """
    misclosure = inputs["misclosure_m"]
    legs = inputs.get("leg_length_m", inputs.get("length_m"))
    if legs is None:
        places = inputs["distance_m"]
        legs = [b - a for a, b in zip([0.0, *places[:-1]], places, strict=True)]
    rest = inputs.get("total_length_m", math.fsum(legs)) - math.fsum(legs)
    at_points = levelling.share_misclosure(misclosure, [*legs, max(rest, 0.0)])[: len(legs)]
    per_leg = [b - a for a, b in zip([0.0, *at_points[:-1]], at_points, strict=True)]
    values: Values = {"correction_m": at_points, "leg_correction_m": per_leg}
    if "observed_level_m" in inputs:
        observed = inputs["observed_level_m"]
        values["adjusted_level_m"] = [a + b for a, b in zip(observed, at_points, strict=True)]
    if "observed_rise_m" in inputs:
        observed = inputs["observed_rise_m"]
        values["adjusted_rise_m"] = [a + b for a, b in zip(observed, per_leg, strict=True)]
    return values


def level_closure_check(inputs: Values) -> Values:
    """Evaluate a levelling run between two known levels."""
    found = levelling.close_levels(
        inputs["start_level_m"],
        inputs["sum_backsights_m"],
        inputs["sum_foresights_m"],
        inputs["closing_level_m"],
        inputs["instrument_positions"],
    )
    return {
        "observed_closing_level_m": found.observed_m,
        "misclosure_m": found.misclosure_m,
        "allowable_misclosure_m": found.allowed_m,
    }


def level_net_least_squares(inputs: Values) -> Values:
    """Evaluate a net of levels; spreads are a priori for variances, else from the residuals."""
    weights = inputs.get("weights")
    if weights is None:
        variances = inputs.get("variance_m2") or [s * s for s in inputs["sigma_m"]]
        weights = [1 / v for v in variances]
    rows = zip(inputs["observed_rise_m"], weights, strict=True)
    net = levelling.adjust_net(
        dict(inputs["fixed_level_m"]), [levelling.Rise(a, b, rise, w) for (a, b, rise), w in rows]
    )
    values: Values = {f"level_{p.lower()}_m": z for p, z in zip(net.points, net.level_m, strict=True)}
    relative = "weights" in inputs and net.sigma0 is not None
    sds = [math.sqrt(c) * (net.sigma0 if relative and net.sigma0 else 1.0) for c in net.cofactor]
    rises = inputs["observed_rise_m"]
    tested = _normalised(net, weights)
    number = max(range(len(tested)), key=lambda i: tested[i])
    return {
        **values, "sd_level_m": sds, "sd_m": sds, "sigma0_ratio": net.sigma0, "sigma0_m": net.sigma0,
        "adjusted_rise_m": [rise + v for (_, _, rise), v in zip(rises, net.residual_m, strict=True)],
        "largest_normalised_residual": tested[number], "largest_normalised_number": number + 1,
    }  # fmt: skip


def _normalised(net: levelling.LevelNet, weights: list[float]) -> list[float]:
    """Residuals over their standard deviations, without their signs; 0 where nothing checks a rise."""
    return [
        abs(v) * math.sqrt(w / r) if r > CHECKED else 0.0
        for v, w, r in zip(net.residual_m, weights, net.redundancy, strict=True)
    ]


TOPICS = {
    "uncertain_profile": uncertain_profile,
    "gradient_conversion": gradient_conversion,
    "inclination_to_gradient": inclination_to_gradient,
    "fall_over_length": fall_over_length,
    "slope_distance": slope_distance,
    "level_misclosure_by_setups": level_misclosure_by_setups,
    "level_misclosure_by_distance": level_misclosure_by_distance,
    "level_closure_check": level_closure_check,
    "level_net_least_squares": level_net_least_squares,
}
