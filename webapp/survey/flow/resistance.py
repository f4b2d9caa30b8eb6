"""Which law of resistance holds, with its roughness: one door to Colebrook-White and Manning."""

from dataclasses import dataclass

from ..errors import SurveyError
from . import colebrook, manning

LAWS = ("colebrook_white", "manning")
ROUGHEST = 0.05  # k_s over 4 R: beyond it the formula is stretched (end of the Moody diagram)


@dataclass(frozen=True)
class Resistance:
    """``law`` with ``roughness_m`` [m] (Colebrook-White) or ``manning_n`` [s/m^(1/3)] (Manning).

    ``viscosity_m2_s`` [m2/s]: water at 10 degrees C unless stated; ``gravity_m_s2`` [m/s2]: standard.
    """

    law: str
    roughness_m: float | None = None
    manning_n: float | None = None
    viscosity_m2_s: float = 1.31e-6
    gravity_m_s2: float = 9.80665


def mean_velocity(resistance: Resistance, hydraulic_radius_m: float, gradient: float) -> float:
    """Return the mean velocity of uniform flow by the law chosen.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m].

    Returns
    -------
    float
        Velocity [m/s].

    Raises
    ------
    SurveyError
        ``law_unknown``; otherwise as ``colebrook.velocity`` or ``manning.velocity``.

    Examples
    --------
    >>> round(mean_velocity(Resistance("manning", manning_n=0.012), 0.225, 0.03), 2)
    5.34
    """
    r = resistance
    if _is_manning(r):
        return manning.velocity(hydraulic_radius_m, gradient, r.manning_n or 0.0)
    k = _roughness(r)
    return colebrook.velocity(hydraulic_radius_m, gradient, k, r.viscosity_m2_s, r.gravity_m_s2)


def velocity_growth(resistance: Resistance, hydraulic_radius_m: float, gradient: float) -> float:
    """Return how much velocity a larger hydraulic radius adds.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    gradient : float
        Fall per length along the pipe [m/m].

    Returns
    -------
    float
        Derivative of ``mean_velocity`` by the radius [1/s].

    Examples
    --------
    >>> round(velocity_growth(Resistance("manning", manning_n=1.0), 1.0, 1.0), 6)
    0.666667
    """
    r = resistance
    if _is_manning(r):
        return manning.velocity_growth(hydraulic_radius_m, gradient, r.manning_n or 0.0)
    k = _roughness(r)
    return colebrook.velocity_growth(hydraulic_radius_m, gradient, k, r.viscosity_m2_s, r.gravity_m_s2)


def friction_slope(resistance: Resistance, hydraulic_radius_m: float, velocity_m_s: float) -> float:
    """Return the fall of the energy line that a velocity needs.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    velocity_m_s : float
        Mean velocity [m/s].

    Returns
    -------
    float
        Head lost per length [m/m].

    Raises
    ------
    SurveyError
        ``law_unknown``; otherwise as ``colebrook.friction_slope`` or ``manning.friction_slope``.

    Examples
    --------
    >>> round(friction_slope(Resistance("manning", manning_n=0.012), 0.225, 5.3395), 4)
    0.03
    """
    r = resistance
    if _is_manning(r):
        return manning.friction_slope(hydraulic_radius_m, velocity_m_s, r.manning_n or 0.0)
    k = _roughness(r)
    return colebrook.friction_slope(hydraulic_radius_m, velocity_m_s, k, r.viscosity_m2_s, r.gravity_m_s2)


def flow_findings(resistance: Resistance, hydraulic_radius_m: float, velocity_m_s: float) -> list[str]:
    """Return what makes a computed velocity less sure.

    Parameters
    ----------
    hydraulic_radius_m : float
        Area over wetted perimeter [m].
    velocity_m_s : float
        Mean velocity [m/s].

    Returns
    -------
    list of str
        ``flow_not_turbulent``: Reynolds number below 4,000; ``roughness_large``: k_s over 4 R above
        0.05. Both speak of Colebrook-White and are absent under Manning.

    Raises
    ------
    SurveyError
        ``law_unknown``; ``roughness_out_of_range``.

    References
    ----------
    Limits of the Moody diagram: Moody, Trans. ASME 66 (1944) 671.

    Examples
    --------
    >>> flow_findings(Resistance("colebrook_white", roughness_m=0.003), 0.01, 0.1)
    ['flow_not_turbulent', 'roughness_large']
    """
    if _is_manning(resistance):
        return []
    across = 4 * hydraulic_radius_m
    found = []
    if velocity_m_s * across / resistance.viscosity_m2_s < colebrook.TURBULENT_FROM:
        found.append("flow_not_turbulent")
    if _roughness(resistance) / across > ROUGHEST:
        found.append("roughness_large")
    return found


def _is_manning(resistance: Resistance) -> bool:
    if resistance.law not in LAWS:
        raise SurveyError("law_unknown", "law")
    return resistance.law == "manning"


def _roughness(resistance: Resistance) -> float:
    if resistance.roughness_m is None:
        raise SurveyError("roughness_out_of_range", "roughness_m")
    return resistance.roughness_m
