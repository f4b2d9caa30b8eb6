"""Sizes and falls for a flow, boundary shear, self-cleansing."""

from typing import Any

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..numbers.root_finding import find_root
from ..section.bore import GREATEST_M, LEAST_M, Bore
from ..section.shape import full_section
from .open_flow import GREATEST_FLOW, LEAST_FLOW, depth_for_flow, full_flow
from .resistance import Resistance, friction_slope


def diameter_for_flow(discharge_m3_s: float, gradient: float, resistance: Resistance) -> dict[str, float]:
    """Return the diameter of a round pipe that just carries a flow full.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].
    gradient : float
        Fall per length along the pipe [m/m].

    Returns
    -------
    dict
        ``diameter_m`` [m] and ``velocity_m_s`` [m/s].

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; ``flow_beyond_sizes`` if no diameter from 1 mm to 100 m is that one;
        otherwise as ``open_flow.flow_at_depth``.

    Examples
    --------
    >>> round(diameter_for_flow(2.0, 0.0025, Resistance("manning", manning_n=0.013))["diameter_m"], 2)
    1.21
    """
    wanted = number_between(discharge_m3_s, LEAST_FLOW, GREATEST_FLOW, "discharge_m3_s", "flow_out_of_range")
    if full_flow(Bore("circular", GREATEST_M), gradient, resistance)["discharge_m3_s"] < wanted:
        raise SurveyError("flow_beyond_sizes", "discharge_m3_s")

    def above(size: float) -> float:
        return _full_or_less(Bore("circular", size), gradient, resistance) - wanted

    if above(LEAST_M) >= 0:
        raise SurveyError("flow_beyond_sizes", "discharge_m3_s")
    size = find_root(above, LEAST_M, GREATEST_M)
    return {"diameter_m": size, "velocity_m_s": wanted / full_section(Bore("circular", size))["area_m2"]}


def gradient_for_flow(bore: Bore, discharge_m3_s: float, resistance: Resistance) -> dict[str, Any]:
    """Return the fall that a flow needs in a bore running full.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].

    Returns
    -------
    dict
        ``gradient`` [m/m along the pipe], ``velocity_m_s`` [m/s] and ``findings``: ``steeper_than_upright``
        when no pipe falls that much (the gradient is then of pressure flow only).

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; ``flow_not_turbulent``, since Colebrook-White says nothing below; otherwise
        as ``shape.flow_section`` and ``resistance.friction_slope``.

    Examples
    --------
    >>> found = gradient_for_flow(Bore("circular", 2.0), 2.0, Resistance("manning", manning_n=0.015))
    >>> round(found["gradient"], 5)
    0.00023
    """
    wanted = number_between(discharge_m3_s, LEAST_FLOW, GREATEST_FLOW, "discharge_m3_s", "flow_out_of_range")
    section = full_section(bore)
    velocity = wanted / section["area_m2"]
    slope = friction_slope(resistance, section["hydraulic_radius_m"], velocity)
    findings = ["steeper_than_upright"] if slope > 1 else []
    return {"gradient": slope, "velocity_m_s": velocity, "findings": findings}


def boundary_shear(
    hydraulic_radius_m: float, gradient: float, density_kg_m3: float, gravity_m_s2: float
) -> float:
    """Return the mean shear stress on the wetted wall.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m], above 0 up to 1.
    density_kg_m3 : float
        Density of the water [kg/m3].
    gravity_m_s2 : float
        Gravity [m/s2].

    Returns
    -------
    float
        Shear stress [Pa].

    Raises
    ------
    SurveyError
        ``radius_out_of_range``, ``gradient_not_falling``, ``density_out_of_range``,
        ``gravity_out_of_range``.

    References
    ----------
    tau = rho g R S: Chow, Open-channel Hydraulics, 1959, ch. 7.

    Examples
    --------
    >>> round(boundary_shear(0.075, 1 / 300, 1000.0, 9.81), 4)
    2.4525
    """
    radius = number_between(hydraulic_radius_m, 1e-9, 100.0, "hydraulic_radius_m", "radius_out_of_range")
    slope = number_between(gradient, 1e-12, 1.0, "gradient", "gradient_not_falling")
    density = number_between(density_kg_m3, 500.0, 2000.0, "density_kg_m3", "density_out_of_range")
    gravity = number_between(gravity_m_s2, 1.0, 30.0, "gravity_m_s2", "gravity_out_of_range")
    return density * gravity * radius * slope


def self_cleansing(
    bore: Bore,
    discharge_m3_s: float,
    gradient: float,
    resistance: Resistance,
    least_velocity_m_s: float,
    least_shear_pa: float,
    density_kg_m3: float = 1000.0,
) -> dict[str, Any]:
    """Return whether a flow reaches the velocity and the shear stress that keep a pipe clean.

    Parameters
    ----------
    discharge_m3_s : float
        Flow that comes daily [m3/s].
    gradient : float
        Fall per length along the pipe [m/m].
    least_velocity_m_s : float
        Velocity asked for [m/s], 0 to 100.
    least_shear_pa : float
        Shear stress asked for [Pa], 0 to 10,000.
    density_kg_m3 : float, optional
        Density of the water [kg/m3].

    Returns
    -------
    dict
        ``depth_m`` [m], ``velocity_m_s`` [m/s], ``shear_pa`` [Pa], ``by_velocity`` and ``by_shear`` (true,
        false), ``findings``. A flow beyond the capacity is taken as full bore and says
        ``flow_exceeds_capacity``.

    Raises
    ------
    SurveyError
        ``limit_out_of_range`` for the limits; otherwise as ``open_flow.depth_for_flow`` and
        ``boundary_shear``.

    References
    ----------
    Velocity: 0.7 m/s daily below DN 300, EN 16933-2 (secondary source). Shear: 1 to 2 Pa for foul drains is
    usual, from memory; the limit is the job's.

    Examples
    --------
    >>> rough = Resistance("colebrook_white", roughness_m=0.0015)
    >>> self_cleansing(Bore("circular", 0.15), 0.006, 1 / 80, rough, 0.7, 1.0)["by_velocity"]
    True
    """
    number_between(least_velocity_m_s, 0.0, 100.0, "least_velocity_m_s", "limit_out_of_range")
    number_between(least_shear_pa, 0.0, 10_000.0, "least_shear_pa", "limit_out_of_range")
    found = depth_for_flow(bore, discharge_m3_s, gradient, resistance)
    flow = found["flow"] or full_flow(bore, gradient, resistance)
    shear = boundary_shear(flow["hydraulic_radius_m"], gradient, density_kg_m3, resistance.gravity_m_s2)
    return {
        "depth_m": flow["depth_m"],
        "velocity_m_s": flow["velocity_m_s"],
        "shear_pa": shear,
        "by_velocity": flow["velocity_m_s"] >= least_velocity_m_s,
        "by_shear": shear >= least_shear_pa,
        "findings": found["findings"],
    }


def _full_or_less(bore: Bore, gradient: float, resistance: Resistance) -> float:
    """Full flow for the search; below zero where the pipe is too small for the law."""
    try:
        return float(full_flow(bore, gradient, resistance)["discharge_m3_s"])
    except SurveyError as error:
        if error.code == "roughness_beyond_formula":
            return -1.0
        raise
