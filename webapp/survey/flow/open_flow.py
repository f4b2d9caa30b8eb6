"""Uniform flow in a bore: at a depth, full, at its greatest, the depth for a flow, critical depth."""

from typing import TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..numbers.root_finding import find_root
from ..section.bore import Bore
from ..section.shape import FlowSection, areas_and_widths, flow_section, perimeter_growth
from .resistance import Resistance, flow_findings, mean_velocity, velocity_growth

STEPS = 64
MIN_FLOW_M3_S, MAX_FLOW_M3_S = 1e-9, 1e5  # m3/s


class UniformFlow(FlowSection):
    """A uniform flow at a depth above the invert of the clean bore, with its section."""

    depth_m: float
    velocity_m_s: float
    discharge_m3_s: float
    findings: list[str]


class NormalDepth(TypedDict):
    """The depth for a flow: ``flow`` is None where it exceeds ``greatest_m3_s``, with a free surface."""

    full_m3_s: float
    greatest_m3_s: float
    findings: list[str]
    flow: UniformFlow | None


def flow_at_depth(
    bore: Bore, depth_m: float, gradient: float, resistance: Resistance, under_roof: bool = True
) -> UniformFlow:
    """Return the uniform flow at a depth.

    Parameters
    ----------
    depth_m : float
        Water level above the invert of the clean bore [m]; the full height means full bore.
    gradient : float
        Fall per length along the pipe [m/m], above 0 up to 1.

    Returns
    -------
    dict
        As ``shape.flow_section``, with ``depth_m`` [m], ``velocity_m_s`` [m/s], ``discharge_m3_s`` [m3/s]
        and ``findings`` (list of codes, see ``resistance.flow_findings``).

    Raises
    ------
    SurveyError
        ``depth_out_of_range`` unless above the deposit and at most the height; ``gradient_not_falling`` for
        a gradient of zero or against the flow; otherwise as ``shape.flow_section`` and
        ``resistance.mean_velocity``.

    References
    ----------
    Continuity and the law chosen; part full with D = 4 R.

    Examples
    --------
    >>> rough = Resistance("manning", manning_n=0.012)
    >>> round(flow_at_depth(Bore("circular", 0.9), 0.9, 0.03, rough)["discharge_m3_s"], 3)
    3.397
    """
    _falling(gradient)
    section = flow_section(bore, depth_m, under_roof)
    if section["area_m2"] <= 0:
        raise SurveyError("depth_out_of_range", "depth_m")
    radius = section["hydraulic_radius_m"]
    velocity = mean_velocity(resistance, radius, gradient)
    return {
        "depth_m": depth_m,
        **section,
        "velocity_m_s": velocity,
        "discharge_m3_s": velocity * section["area_m2"],
        "findings": flow_findings(resistance, radius, velocity),
    }


def full_flow(bore: Bore, gradient: float, resistance: Resistance) -> UniformFlow:
    """Return the uniform flow with the bore just full.

    Parameters
    ----------
    gradient : float
        Fall per length along the pipe [m/m].

    Returns
    -------
    dict
        As ``flow_at_depth`` [m, m2, m/s, m3/s].

    Examples
    --------
    >>> rough = Resistance("colebrook_white", roughness_m=0.0006, viscosity_m2_s=1.01e-6)
    >>> round(full_flow(Bore("circular", 0.9), 1 / 150, rough)["discharge_m3_s"], 3)
    1.626
    """
    return flow_at_depth(bore, bore.height_m, gradient, resistance)


def greatest_flow(bore: Bore, gradient: float, resistance: Resistance) -> UniformFlow:
    """Return the greatest uniform flow with a free surface and the depth at which it runs.

    Parameters
    ----------
    gradient : float
        Fall per length along the pipe [m/m].

    Returns
    -------
    dict
        As ``flow_at_depth`` [m, m2, m/s, m3/s]. Under a round crown the depth lies below the height (0.938
        of a circle by Manning); under a flat roof it is the height with the roof just dry.

    Examples
    --------
    >>> rough = Resistance("manning", manning_n=0.013)
    >>> round(greatest_flow(Bore("circular", 1.0), 0.01, rough)["depth_m"], 4)
    0.9382
    """
    _falling(gradient)
    flow_section(bore, bore.height_m)  # refuses a bore that cannot be before the search
    bottom, height = bore.deposit_m, bore.height_m
    levels = [bottom + (height - bottom) * i / STEPS for i in range(STEPS)] + [height]

    def falling(depth: float) -> float:
        return -_discharge_growth(bore, depth, gradient, resistance)

    flat = flow_section(bore, height, False)["top_width_m"] > 1e-6 * height
    if flat and falling(height) < 0:
        return flow_at_depth(bore, height, gradient, resistance, False)
    for i in range(STEPS - 1, 0, -1):
        if falling(levels[i]) < 0:
            depth = find_root(falling, levels[i], levels[i + 1])
            return flow_at_depth(bore, depth, gradient, resistance, False)
    return full_flow(bore, gradient, resistance)


def depth_for_flow(bore: Bore, discharge_m3_s: float, gradient: float, resistance: Resistance) -> NormalDepth:
    """Return the normal depth of a flow, the lower one where two depths carry it.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].
    gradient : float
        Fall per length along the pipe [m/m].

    Returns
    -------
    dict
        ``full_m3_s`` and ``greatest_m3_s`` [m3/s], ``findings`` and ``flow``: as ``flow_at_depth``, or None
        with the finding ``flow_exceeds_capacity`` when even the greatest free flow is less. The finding
        ``may_run_full`` says that the flow is above the full-bore flow, so that the pipe can fill by
        itself.

    Raises
    ------
    SurveyError
        ``flow_out_of_range`` unless above 0 and up to 100,000 m3/s; otherwise as ``flow_at_depth``.

    Examples
    --------
    >>> rough = Resistance("manning", manning_n=0.013)
    >>> found = depth_for_flow(Bore("circular", 0.2), 0.01, 0.001, rough)
    >>> round(found["flow"]["depth_m"], 2), found["findings"]
    (0.16, [])
    """
    wanted = number_between(
        discharge_m3_s, MIN_FLOW_M3_S, MAX_FLOW_M3_S, "discharge_m3_s", "flow_out_of_range"
    )
    full = full_flow(bore, gradient, resistance)
    greatest = greatest_flow(bore, gradient, resistance)
    result: NormalDepth = {
        "full_m3_s": full["discharge_m3_s"],
        "greatest_m3_s": greatest["discharge_m3_s"],
        "findings": [],
        "flow": None,
    }
    if wanted > greatest["discharge_m3_s"]:
        result["findings"] = ["flow_exceeds_capacity"]
        return result

    def above(depth: float) -> float:
        return _discharge(bore, depth, gradient, resistance) - wanted

    depth = find_root(above, bore.deposit_m, greatest["depth_m"])
    flow = result["flow"] = flow_at_depth(bore, depth, gradient, resistance, False)
    result["findings"] = list(flow["findings"])
    if wanted > full["discharge_m3_s"]:
        result["findings"].append("may_run_full")
    return result


class CriticalFlow(TypedDict):
    """Critical depth [m], velocity [m/s] and specific energy [m]."""

    depth_m: float
    velocity_m_s: float
    head_m: float
    findings: list[str]


def critical_flow(bore: Bore, discharge_m3_s: float, gravity_m_s2: float) -> CriticalFlow:
    """Return the critical depth of a flow and the head above the invert that it needs.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].
    gravity_m_s2 : float
        Gravity [m/s2].

    Returns
    -------
    dict
        ``depth_m`` above the invert of the clean bore [m], ``velocity_m_s`` [m/s], ``head_m``: depth and
        velocity head [m], ``findings``: ``critical_above_roof`` where a flat roof is reached first (the
        depth is then the height).

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; ``gravity_out_of_range``; otherwise as ``shape.flow_section``.

    References
    ----------
    Q^2 T = g A^3: Chow, Open-channel Hydraulics, 1959, ch. 4.

    Examples
    --------
    >>> round(critical_flow(Bore("rectangular", 2.0, 1.0), 1.0, 9.80665)["depth_m"], 4)
    0.4672
    """
    flow = number_between(discharge_m3_s, MIN_FLOW_M3_S, MAX_FLOW_M3_S, "discharge_m3_s", "flow_out_of_range")
    gravity = number_between(gravity_m_s2, 1.0, 30.0, "gravity_m_s2", "gravity_out_of_range")
    area_and_width = areas_and_widths(bore)

    def above(depth: float) -> float:
        area, top = area_and_width(depth)
        return gravity * area * area * area - flow * flow * top

    findings = []
    if above(bore.height_m) < 0:
        depth, findings = bore.height_m, ["critical_above_roof"]
    else:
        depth = find_root(above, bore.deposit_m, bore.height_m)
    velocity = flow / area_and_width(depth)[0]
    head = depth + velocity * velocity / (2 * gravity)
    return {"depth_m": depth, "velocity_m_s": velocity, "head_m": head, "findings": findings}


def _falling(gradient: float) -> None:
    number_between(gradient, 1e-12, 1.0, "gradient", "gradient_not_falling")


def _discharge(bore: Bore, depth: float, gradient: float, resistance: Resistance) -> float:
    """Discharge for the search; below zero where the section is too rough or too small for the law."""
    section = flow_section(bore, depth, False)
    try:
        return section["area_m2"] * mean_velocity(resistance, section["hydraulic_radius_m"], gradient)
    except SurveyError as error:
        if error.code in ("roughness_beyond_formula", "radius_out_of_range"):
            return -1.0
        raise


def _discharge_growth(bore: Bore, depth: float, gradient: float, resistance: Resistance) -> float:
    """Derivative of the discharge by the depth; above zero where the law gives none yet."""
    section = flow_section(bore, depth, False)
    radius, top = section["hydraulic_radius_m"], section["top_width_m"]
    try:
        velocity = mean_velocity(resistance, radius, gradient)
        growth = velocity_growth(resistance, radius, gradient)
    except SurveyError as error:
        if error.code in ("roughness_beyond_formula", "radius_out_of_range"):
            return 1.0
        raise
    spread = perimeter_growth(bore, depth)
    return (
        top * velocity + growth * (top - radius * spread) * section["area_m2"] / section["wetted_perimeter_m"]
    )
