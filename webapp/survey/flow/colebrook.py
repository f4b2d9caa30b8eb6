"""Colebrook-White: velocity, friction factor and head loss.

Part full, the diameter is replaced by four times the hydraulic radius. The constant is 2.51. Valid for
turbulent flow; the logarithm fails where the roughness is no longer small against the section.
"""

import math

from ..errors import SurveyError
from ..numbers.checks import number_between

TURBULENT_FROM = 4000.0  # Reynolds number
LN10 = math.log(10)


def velocity(
    hydraulic_radius_m: float, gradient: float, roughness_m: float, viscosity_m2_s: float, gravity_m_s2: float
) -> float:
    """Return the mean velocity of uniform flow.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m], above 0 up to 1.
    roughness_m : float
        Roughness k_s [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s]; water: 1.31e-6 at 10 degrees C, 1.14e-6 at 15.
    gravity_m_s2 : float
        Gravity [m/s2].

    Returns
    -------
    float
        Velocity [m/s].

    Raises
    ------
    SurveyError
        ``radius_out_of_range``, ``gradient_out_of_range``, ``roughness_out_of_range``,
        ``viscosity_out_of_range``, ``gravity_out_of_range``; ``roughness_beyond_formula`` where the formula
        gives no velocity above zero.

    References
    ----------
    v = -2 sqrt(2 g D S) log10(k / (3.7 D) + 2.51 nu / (D sqrt(2 g D S))), D = 4 R: Colebrook, J. Inst.
    Civil Eng. 11 (1939) 133; part full as EN 12056-3 tabulates it.

    Examples
    --------
    >>> round(velocity(0.9 / 4, 1 / 150, 0.0006, 1.01e-6, 9.80665), 2)
    2.56
    """
    _arguments(hydraulic_radius_m, gradient, roughness_m, viscosity_m2_s, gravity_m_s2)
    pull = math.sqrt(8 * gravity_m_s2 * hydraulic_radius_m * gradient)
    inside = roughness_m / (14.8 * hydraulic_radius_m)
    inside += 2.51 * viscosity_m2_s / (4 * hydraulic_radius_m * pull)
    if inside >= 1:
        raise SurveyError("roughness_beyond_formula", "roughness_m")
    return -2 * pull * math.log(inside) / LN10


def velocity_growth(
    hydraulic_radius_m: float, gradient: float, roughness_m: float, viscosity_m2_s: float, gravity_m_s2: float
) -> float:
    """Return how much velocity a larger hydraulic radius adds.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m].
    roughness_m : float
        Roughness k_s [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].
    gravity_m_s2 : float
        Gravity [m/s2].

    Returns
    -------
    float
        Derivative of ``velocity`` by the radius [1/s].

    Raises
    ------
    SurveyError
        ``roughness_beyond_formula``; otherwise as ``velocity``.

    References
    ----------
    Derivative of the formula in ``velocity``.

    Examples
    --------
    >>> velocity_growth(0.075, 0.01, 0.0015, 1.31e-6, 9.80665) > 0
    True
    """
    _arguments(hydraulic_radius_m, gradient, roughness_m, viscosity_m2_s, gravity_m_s2)
    pull = math.sqrt(8 * gravity_m_s2 * hydraulic_radius_m * gradient)
    rough = roughness_m / (14.8 * hydraulic_radius_m)
    smooth = 2.51 * viscosity_m2_s / (4 * hydraulic_radius_m * pull)
    inside = rough + smooth
    if inside >= 1:
        raise SurveyError("roughness_beyond_formula", "roughness_m")
    fall = (rough + 1.5 * smooth) / inside
    return -pull / hydraulic_radius_m * (math.log(inside) - 2 * fall) / LN10


def friction_factor(reynolds_number: float, relative_roughness: float) -> float:
    """Return the Darcy friction factor of turbulent flow.

    Raises
    ------
    SurveyError
        ``flow_not_turbulent`` below a Reynolds number of 4,000; ``roughness_out_of_range``.

    References
    ----------
    1 / sqrt(f) = -2 log10(e / 3.7 + 2.51 / (Re sqrt(f))): Colebrook 1939; by Newton's rule, which climbs to
    the root from below because the function is concave.

    Examples
    --------
    >>> round(friction_factor(248624.7, 0.0003), 6)
    0.017297
    """
    number_between(reynolds_number, TURBULENT_FROM, 1e12, "reynolds_number", "flow_not_turbulent")
    number_between(relative_roughness, 0.0, 1.0, "relative_roughness", "roughness_out_of_range")
    rough, smooth = relative_roughness / 3.7, 2.51 / reynolds_number
    x = 1.0
    for _ in range(60):
        inside = rough + smooth * x
        value = x + 2 * math.log(inside) / LN10
        step = value / (1 + 2 * smooth / (inside * LN10))
        x -= step
        if abs(step) <= 1e-15 * x:
            break
    return 1 / (x * x)


def friction_slope(
    hydraulic_radius_m: float,
    velocity_m_s: float,
    roughness_m: float,
    viscosity_m2_s: float,
    gravity_m_s2: float,
) -> float:
    """Return the fall of the energy line that a velocity needs.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    velocity_m_s : float
        Mean velocity [m/s].
    roughness_m : float
        Roughness k_s [m].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].
    gravity_m_s2 : float
        Gravity [m/s2].

    Returns
    -------
    float
        Head lost per length [m/m].

    Raises
    ------
    SurveyError
        ``radius_out_of_range``, ``velocity_out_of_range``, ``roughness_out_of_range``,
        ``viscosity_out_of_range``, ``gravity_out_of_range``; ``flow_not_turbulent``.

    References
    ----------
    S = f v^2 / (8 g R): Darcy-Weisbach with the factor of Colebrook 1939.

    Examples
    --------
    >>> round(1 / friction_slope(0.9 / 4, 2.5556944922, 0.0006, 1.01e-6, 9.80665), 1)
    150.0
    """
    _arguments(hydraulic_radius_m, 1.0, roughness_m, viscosity_m2_s, gravity_m_s2)
    number_between(velocity_m_s, 1e-9, 1e4, "velocity_m_s", "velocity_out_of_range")
    across = 4 * hydraulic_radius_m
    factor = friction_factor(velocity_m_s * across / viscosity_m2_s, roughness_m / across)
    return factor * velocity_m_s * velocity_m_s / (2 * gravity_m_s2 * across)


def _arguments(radius: float, gradient: float, roughness: float, viscosity: float, gravity: float) -> None:
    number_between(radius, 1e-9, 100.0, "hydraulic_radius_m", "radius_out_of_range")
    number_between(gradient, 1e-12, 1.0, "gradient", "gradient_out_of_range")
    number_between(roughness, 0.0, 1.0, "roughness_m", "roughness_out_of_range")
    number_between(viscosity, 1e-9, 1e-2, "viscosity_m2_s", "viscosity_out_of_range")
    number_between(gravity, 1.0, 30.0, "gravity_m_s2", "gravity_out_of_range")
