"""Boundary shear and self-cleansing."""

from typing import TypedDict

from ..numbers.checks import number_between
from ..section.bore import Bore
from .open_flow import depth_for_flow, full_flow
from .resistance import Resistance


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


class SelfCleansing(TypedDict):
    """A flow beside the limits: ``by_velocity`` and ``by_shear`` say whether it reaches each of them."""

    depth_m: float
    velocity_m_s: float
    shear_pa: float
    by_velocity: bool
    by_shear: bool
    findings: list[str]


def self_cleansing(
    bore: Bore,
    discharge_m3_s: float,
    gradient: float,
    resistance: Resistance,
    least_velocity_m_s: float,
    least_shear_pa: float,
    *,
    density_kg_m3: float = 1000.0,
) -> SelfCleansing:
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
