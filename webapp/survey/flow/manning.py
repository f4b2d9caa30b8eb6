"""Manning's formula in SI units: velocity, head loss and roughness."""

import math

from ..numbers.checks import number_between


def velocity(hydraulic_radius_m: float, gradient: float, manning_n: float) -> float:
    """Return the mean velocity of uniform flow.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m], above 0 up to 1.
    manning_n : float
        Roughness n [s/m^(1/3)], 0.001 to 1.

    Returns
    -------
    float
        Velocity [m/s].

    Raises
    ------
    SurveyError
        ``radius_out_of_range``, ``gradient_out_of_range``, ``roughness_out_of_range``.

    References
    ----------
    v = R^(2/3) S^(1/2) / n: Manning 1891, any open-channel text (e.g. Chow 1959, ch. 5).

    Examples
    --------
    >>> round(velocity(0.225, 0.03, 0.012), 2)
    5.34
    """
    _arguments(hydraulic_radius_m, gradient, manning_n)
    return math.pow(hydraulic_radius_m, 2 / 3) * math.sqrt(gradient) / manning_n


def velocity_growth(hydraulic_radius_m: float, gradient: float, manning_n: float) -> float:
    """Return how much velocity a larger hydraulic radius adds.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m].
    manning_n : float
        Roughness n [s/m^(1/3)].

    Returns
    -------
    float
        Derivative of ``velocity`` by the radius [1/s].

    Examples
    --------
    >>> round(velocity_growth(1.0, 1.0, 1.0), 6)
    0.666667
    """
    return 2 / 3 * velocity(hydraulic_radius_m, gradient, manning_n) / hydraulic_radius_m


def friction_slope(hydraulic_radius_m: float, velocity_m_s: float, manning_n: float) -> float:
    """Return the fall of the energy line that a velocity needs.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    velocity_m_s : float
        Mean velocity [m/s].
    manning_n : float
        Roughness n [s/m^(1/3)].

    Returns
    -------
    float
        Head lost per length [m/m].

    Raises
    ------
    SurveyError
        ``radius_out_of_range``, ``velocity_out_of_range``, ``roughness_out_of_range``.

    Examples
    --------
    >>> round(friction_slope(0.225, 5.3395, 0.012), 4)
    0.03
    """
    _arguments(hydraulic_radius_m, 1.0, manning_n)
    number_between(velocity_m_s, 1e-9, 1e4, "velocity_m_s", "velocity_out_of_range")
    root = velocity_m_s * manning_n / math.pow(hydraulic_radius_m, 2 / 3)
    return root * root


def _arguments(radius: float, gradient: float, roughness: float) -> None:
    number_between(radius, 1e-9, 100.0, "hydraulic_radius_m", "radius_out_of_range")
    number_between(gradient, 1e-12, 1.0, "gradient", "gradient_out_of_range")
    number_between(roughness, 0.001, 1.0, "manning_n", "roughness_out_of_range")
