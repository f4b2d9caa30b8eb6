"""Part-full flow as shares of the full one, by Manning with the same n at every depth."""

import math

from ..survey.errors import SurveyError
from ..survey.numbers.checks import number_between
from ..survey.numbers.root_finding import find_root
from ..survey.section.bore import Bore
from ..survey.section.shape import flow_section, full_section, perimeter_growth

STEPS = 64


def proportions(bore: Bore, depth_ratio: float) -> dict[str, float]:
    """Return a part-full flow as shares of the full one, by Manning.

    Returns
    -------
    dict
        ``area_ratio``, ``hydraulic_radius_ratio``, ``velocity_ratio``, ``discharge_ratio``: bare ratios to
        the full bore, n taken as the same at every depth.

    Raises
    ------
    SurveyError
        ``depth_out_of_range``; otherwise as ``shape.flow_section``.

    References
    ----------
    Velocity as R^(2/3): any sewer hydraulics text, e.g. Metcalf and Eddy 1981.

    Examples
    --------
    >>> round(proportions(Bore("circular", 1.0), 0.5)["discharge_ratio"], 9)
    0.5
    """
    ratio = number_between(depth_ratio, 1e-6, 1.0, "depth_ratio", "depth_out_of_range")
    full = full_section(bore)  # refuses a bore that cannot be before its height is used
    part = flow_section(bore, bore.height_m * ratio)
    area = part["area_m2"] / full["area_m2"]
    if area <= 0:
        raise SurveyError("depth_out_of_range", "depth_ratio")
    radius = part["hydraulic_radius_m"] / full["hydraulic_radius_m"]
    velocity = math.pow(radius, 2 / 3)
    return {
        "area_ratio": area,
        "hydraulic_radius_ratio": radius,
        "velocity_ratio": velocity,
        "discharge_ratio": area * velocity,
    }


def fastest(bore: Bore) -> dict[str, float]:
    """Return the depth at which uniform flow is fastest, by Manning.

    Returns
    -------
    dict
        ``depth_ratio`` (depth over height) and ``velocity_ratio`` (to the full bore), bare ratios. Under a
        flat roof the depth is the height with the roof just dry.

    Examples
    --------
    >>> round(fastest(Bore("circular", 1.0))["depth_ratio"], 4)
    0.8128
    """
    full = full_section(bore)
    bottom, height = bore.deposit_m, bore.height_m

    def shrinking(depth: float) -> float:
        section = flow_section(bore, depth, False)
        return section["hydraulic_radius_m"] * perimeter_growth(bore, depth) - section["top_width_m"]

    depth = height
    if not (flow_section(bore, height, False)["top_width_m"] > 1e-6 * height and shrinking(height) < 0):
        levels = [bottom + (height - bottom) * i / STEPS for i in range(STEPS)] + [height]
        for i in range(STEPS - 1, 0, -1):
            if shrinking(levels[i]) < 0:
                depth = find_root(shrinking, levels[i], levels[i + 1])
                break
    radius = flow_section(bore, depth, False)["hydraulic_radius_m"] / full["hydraulic_radius_m"]
    return {"depth_ratio": depth / height, "velocity_ratio": math.pow(radius, 2 / 3)}
