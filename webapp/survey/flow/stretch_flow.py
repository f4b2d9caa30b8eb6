"""A flow in each stretch of a run, and its gradient beside the rules that are quoted for one."""

import math
from collections.abc import Sequence
from typing import TypedDict

from ..errors import SurveyError
from ..section.bore import Bore
from ..table_types.pipe import MinimumGradients
from .gradient_rules import least_gradient, one_in_diameter
from .resistance import Resistance
from .sizing import self_cleansing
from .types import CapacityRow


class StretchFlow(TypedDict):
    """One flow in a stretch: ``at`` which of its gradients, what it reaches, or why there is none."""

    id: str
    at: str | None
    depth_m: float | None
    velocity_m_s: float | None
    shear_pa: float | None
    by_velocity: bool | None
    by_shear: bool | None
    findings: list[str]
    left_out: str | None


class StretchRule(TypedDict):
    """A quoted least gradient, as 1 in N, beside the gradient found."""

    rule: str
    row: int | None
    one_in: float | None
    verdict: str
    findings: list[str]


def stretch_flows(
    rows: Sequence[CapacityRow],
    discharge_m3_s: float,
    least_velocity_m_s: float,
    least_shear_pa: float,
) -> list[StretchFlow]:
    """Return depth, velocity and shear of one flow in each stretch.

    Parameters
    ----------
    discharge_m3_s : float
        The flow [m3/s].
    least_velocity_m_s : float
        Self-cleansing limit [m/s].
    least_shear_pa : float
        Self-cleansing limit [Pa].

    Returns
    -------
    list of dict
        One per row: ``id``; ``at``: ``middle`` where the gradient is known, ``least`` where only its least
        is, None without either; ``depth_m`` [m], ``velocity_m_s`` [m/s], ``shear_pa`` [Pa], ``by_velocity``,
        ``by_shear``, ``findings`` as ``self_cleansing``; ``left_out``: None or a code.

    Examples
    --------
    >>> stretch_flows([{"id": "a", "left_out": "size_not_known"}], 0.005, 0.7, 1.0)[0]["left_out"]
    'size_not_known'
    """
    return [_flow_in(row, discharge_m3_s, least_velocity_m_s, least_shear_pa) for row in rows]


def _flow_in(row: CapacityRow, discharge: float, velocity: float, shear: float) -> StretchFlow:
    found: StretchFlow = {
        "id": row["id"], "at": None, "depth_m": None, "velocity_m_s": None, "shear_pa": None,
        "by_velocity": None, "by_shear": None, "findings": [], "left_out": row["left_out"],
    }  # fmt: skip
    if found["left_out"] is not None or row["bore"] is None or row["roughness_mm"] is None:
        return found
    bore, roughness_mm = row["bore"], row["roughness_mm"]
    middle = row["gradient"] is not None
    gradient = row["gradient"] if middle else row["gradient_low"]
    if gradient is None:
        return {**found, "left_out": "gradient_unknown"}
    if gradient < 1e-6:
        return {**found, "left_out": "gradient_adverse"}
    resistance = Resistance("colebrook_white", roughness_mm / 1000)
    try:
        flow = self_cleansing(Bore(**bore), discharge, gradient, resistance, velocity, shear)
    except SurveyError as error:
        return {**found, "left_out": error.code}
    return {**found, "at": "middle" if middle else "least", **flow}


def stretch_rules(
    row: CapacityRow, rules: MinimumGradients, peak_flow_m3_s: float, wcs_connected: int
) -> list[StretchRule]:
    """Return the quoted least gradients for a round bore, each beside the gradient found.

    Parameters
    ----------
    row : mapping
        A row of ``run_capacity``.
    peak_flow_m3_s : float
        The foul flow [m3/s].

    Returns
    -------
    list of dict
        ``rule``: foul_drains, surface_water_drains or one_in_dn; ``row``: its row in the table or None;
        ``one_in`` or None; ``verdict``: ``steeper`` or ``flatter`` where the whole 95 % band of the gradient
        is, ``cannot_say`` otherwise; ``findings``. Empty for a bore that is not round or not known.

    Examples
    --------
    >>> stretch_rules({"bore": None}, {}, 0.0, 0)
    []
    """
    bore = row["bore"]
    if bore is None or bore["kind"] != "circular":
        return []
    size = bore["height_m"]
    foul = least_gradient(rules["foul_drains"], size, peak_flow_m3_s, wcs_connected)
    found = [_beside(row, "foul_drains", foul["row"], foul["one_in"], foul["findings"])]
    for k, listed in enumerate(rules["surface_water_drains"]):
        if any(abs(1000 * size - mm) < 0.5 for mm in listed["diameters_mm"]):
            found.append(_beside(row, "surface_water_drains", k, listed["one_in"], []))
            break
    own = one_in_diameter(size)
    found.append(_beside(row, "one_in_dn", None, own["one_in"], own["findings"]))
    return found


def _beside(
    row: CapacityRow, rule: str, place: int | None, one_in: float | None, findings: list[str]
) -> StretchRule:
    low, high = row["gradient_low"], row["gradient_high"]
    verdict = "cannot_say"
    if one_in is not None and low is not None and high is not None:
        sine = 1 / math.sqrt(1 + one_in * one_in)  # of the inclination whose tangent is 1 in N
        if low >= sine:
            verdict = "steeper"
        elif high < sine:
            verdict = "flatter"
    return {"rule": rule, "row": place, "one_in": one_in, "verdict": verdict, "findings": findings}
