"""The roughness of a wall from a measured head loss, by Colebrook-White."""

import math

from ..survey.errors import SurveyError
from ..survey.flow.colebrook import velocity
from ..survey.numbers.checks import number_between


def roughness_from_slope(
    hydraulic_radius_m: float,
    gradient: float,
    velocity_m_s: float,
    viscosity_m2_s: float,
    gravity_m_s2: float,
) -> float:
    """Return the roughness that explains a measured velocity and head loss.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Head lost per length [m/m].
    velocity_m_s : float
        Mean velocity [m/s].
    viscosity_m2_s : float
        Kinematic viscosity [m2/s].
    gravity_m_s2 : float
        Gravity [m/s2].

    Returns
    -------
    float
        Roughness k_s [m]. Not rounded.

    Raises
    ------
    SurveyError
        ``smoother_than_smooth`` if even a smooth wall loses more; otherwise as ``velocity`` and
        ``friction_slope``.

    References
    ----------
    The formula of ``velocity`` solved for k.

    Examples
    --------
    >>> round(1000 * roughness_from_slope(0.225, 1 / 150, 2.5556944922, 1.01e-6, 9.80665), 3)
    0.6
    """
    velocity(hydraulic_radius_m, gradient, 0.0, viscosity_m2_s, gravity_m_s2)  # refuses what is out of range
    number_between(velocity_m_s, 1e-9, 1e4, "velocity_m_s", "velocity_out_of_range")
    pull = math.sqrt(8 * gravity_m_s2 * hydraulic_radius_m * gradient)
    rough = math.exp(-min(700.0, velocity_m_s / (2 * pull) * math.log(10)))
    rough -= 2.51 * viscosity_m2_s / (4 * hydraulic_radius_m * pull)
    if rough < 0:
        raise SurveyError("smoother_than_smooth", "velocity_m_s")
    return 14.8 * hydraulic_radius_m * rough
