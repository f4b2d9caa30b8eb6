"""The diameter and the fall that a flow needs."""

from ..survey.errors import SurveyError
from ..survey.flow.open_flow import MAX_FLOW_M3_S, MIN_FLOW_M3_S, full_flow
from ..survey.flow.resistance import Resistance, friction_slope
from ..survey.numbers.checks import number_between
from ..survey.numbers.root_finding import find_root
from ..survey.section.bore import MAX_M, MIN_M, Bore
from ..survey.section.shape import full_section


def diameter_for_flow(discharge_m3_s: float, gradient: float, resistance: Resistance) -> dict[str, float]:
    """Return the diameter of a round pipe that just carries a flow full.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].
    gradient : float
        Fall per length along the pipe [m/m].
    resistance : Resistance
        Law and roughness [m or s/m^(1/3)].

    Returns
    -------
    dict
        ``diameter_m`` [m] and ``velocity_m_s`` [m/s]. Not rounded.

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; ``flow_beyond_sizes`` if no diameter from 1 mm to 100 m is that one;
        otherwise as ``open_flow.flow_at_depth``.

    References
    ----------
    Inverse of ``open_flow.full_flow`` by bisection.

    Examples
    --------
    >>> round(diameter_for_flow(2.0, 0.0025, Resistance("manning", manning_n=0.013))["diameter_m"], 2)
    1.21
    """
    wanted = number_between(
        discharge_m3_s, MIN_FLOW_M3_S, MAX_FLOW_M3_S, "discharge_m3_s", "flow_out_of_range"
    )
    if full_flow(Bore("circular", MAX_M), gradient, resistance)["discharge_m3_s"] < wanted:
        raise SurveyError("flow_beyond_sizes", "discharge_m3_s")

    def above(size: float) -> float:
        return _full_or_less(Bore("circular", size), gradient, resistance) - wanted

    if above(MIN_M) >= 0:
        raise SurveyError("flow_beyond_sizes", "discharge_m3_s")
    size = find_root(above, MIN_M, MAX_M)
    return {"diameter_m": size, "velocity_m_s": wanted / full_section(Bore("circular", size))["area_m2"]}


def gradient_for_flow(bore: Bore, discharge_m3_s: float, resistance: Resistance) -> dict[str, object]:
    """Return the fall that a flow needs in a bore running full.

    Parameters
    ----------
    bore : Bore
        Kind and inside sizes [m], with its deposit.
    discharge_m3_s : float
        Flow [m3/s].
    resistance : Resistance
        Law and roughness [m or s/m^(1/3)].

    Returns
    -------
    dict
        ``gradient`` [m/m along the pipe], ``velocity_m_s`` [m/s] and ``findings``:
        ``steeper_than_upright`` when no pipe falls that much (the gradient is then of pressure
        flow only). Not rounded.

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; ``flow_not_turbulent``, since Colebrook-White says nothing below;
        otherwise as ``shape.flow_section`` and ``resistance.friction_slope``.

    References
    ----------
    Inverse of ``open_flow.full_flow``, direct.

    Examples
    --------
    >>> found = gradient_for_flow(Bore("circular", 2.0), 2.0, Resistance("manning", manning_n=0.015))
    >>> round(found["gradient"], 5)
    0.00023
    """
    wanted = number_between(
        discharge_m3_s, MIN_FLOW_M3_S, MAX_FLOW_M3_S, "discharge_m3_s", "flow_out_of_range"
    )
    section = full_section(bore)
    velocity = wanted / section["area_m2"]
    slope = friction_slope(resistance, section["hydraulic_radius_m"], velocity)
    findings = ["steeper_than_upright"] if slope > 1 else []
    return {"gradient": slope, "velocity_m_s": velocity, "findings": findings}


def _full_or_less(bore: Bore, gradient: float, resistance: Resistance) -> float:
    """Full flow for the search; below zero where the pipe is too small for the law."""
    try:
        return float(full_flow(bore, gradient, resistance)["discharge_m3_s"])
    except SurveyError as error:
        if error.code == "roughness_beyond_formula":
            return -1.0
        raise
