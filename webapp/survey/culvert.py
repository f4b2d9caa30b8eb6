"""Short culverts: headwater for a flow and flow for a headwater, by inlet and by outlet control.

Depths are measured from the invert at the inlet (headwater) and at the outlet (tailwater). The
greater headwater controls. An estimate for a competent engineer to judge.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from . import colebrook
from .bore import Bore
from .checks import number_between
from .errors import SurveyError
from .open_flow import critical_flow
from .resistance import Resistance, friction_slope
from .roots import find_root
from .shape import full_section

FROM_SI = 1.811  # the published constants are for Q / (A sqrt(D)) in feet and seconds
FREE_UP_TO, DROWNED_FROM = 3.5, 4.0  # of that parameter: unsubmerged below, submerged above
FULL_FROM = 0.75  # of the height: below this headwater the outlet sum is not to be trusted
LEAST_FLOW = 1e-7  # m3/s
FASTEST_M_S = 500.0  # beyond any headwater allowed here


@dataclass(frozen=True)
class Culvert:
    """A short culvert.

    ``bore`` [m]; ``length_m`` [m]; ``gradient`` [m/m along it], negative when it rises; ``resistance``;
    ``inlet``: a row of the table culvert_inlets (form, k, m, c, y, slope_factor, entrance_loss);
    ``exit_loss``: share of the velocity head.
    """

    bore: Bore
    length_m: float
    gradient: float
    resistance: Resistance
    inlet: dict[str, Any]
    exit_loss: float = 1.0


def inlet_headwater(culvert: Culvert, discharge_m3_s: float) -> dict[str, Any]:
    """Return the headwater that the inlet asks for.

    Parameters
    ----------
    culvert : Culvert
        Bore [m], gradient and inlet constants.
    discharge_m3_s : float
        Flow [m3/s].

    Returns
    -------
    dict
        ``headwater_m`` above the invert at the inlet [m], ``state``: ``unsubmerged``, ``transition``
        (straight line between the two) or ``submerged``. Not rounded.

    Raises
    ------
    SurveyError
        ``inlet_incomplete`` for a row without its constants; ``gradient_out_of_range`` beyond -0.2 to
        1; ``length_out_of_range``, ``loss_out_of_range``, ``viscosity_out_of_range``; otherwise as
        ``open_flow.critical_flow``.

    References
    ----------
    FHWA Hydraulic Design Series 5 (FHWA-NHI-01-020, 2001), Appendix A, equations 26 to 28 and Table
    9: form 1 HW/D = Hc/D + K P^M + Ks S, form 2 HW/D = K P^M, submerged HW/D = c P^2 + Y + Ks S, with
    P = 1.811 Q / (A sqrt(D)) in SI; unsubmerged up to P = 3.5, submerged from 4.0.

    Examples
    --------
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.01, Resistance("manning", manning_n=0.013), row)
    >>> inlet_headwater(pipe, 2.5)["state"]
    'submerged'
    """
    row = _checked(culvert)
    area = full_section(culvert.bore)["area_m2"]
    clear = culvert.bore.height_m - culvert.bore.deposit_m
    unit = area * math.sqrt(clear) / FROM_SI
    flow = number_between(discharge_m3_s, LEAST_FLOW, 1e5, "discharge_m3_s", "flow_out_of_range")
    reached = flow / unit
    if reached <= FREE_UP_TO:
        return {"headwater_m": _free(culvert, row, flow, reached, clear), "state": "unsubmerged"}
    if reached >= DROWNED_FROM:
        return {"headwater_m": _drowned(culvert, row, reached, clear), "state": "submerged"}
    low = _free(culvert, row, FREE_UP_TO * unit, FREE_UP_TO, clear)
    high = _drowned(culvert, row, DROWNED_FROM, clear)
    share = (reached - FREE_UP_TO) / (DROWNED_FROM - FREE_UP_TO)
    return {"headwater_m": low + share * (high - low), "state": "transition"}


def outlet_headwater(culvert: Culvert, discharge_m3_s: float, tailwater_m: float) -> dict[str, Any]:
    """Return the headwater that the barrel running full and the tailwater ask for.

    Parameters
    ----------
    culvert : Culvert
        Bore [m], length, gradient, resistance and losses.
    discharge_m3_s : float
        Flow [m3/s].
    tailwater_m : float
        Water above the invert at the outlet [m], 0 to 100.

    Returns
    -------
    dict
        ``headwater_m`` above the invert at the inlet [m]; ``entrance_m``, ``friction_m``, ``exit_m``:
        the losses [m]; ``outlet_level_m``: the water level taken at the outlet [m]; ``findings``:
        ``barrel_not_full`` when the headwater is below three quarters of the height;
        ``flow_not_turbulent`` when the factor at a Reynolds number of 4,000 is used below it. Not
        rounded.

    Raises
    ------
    SurveyError
        ``tailwater_out_of_range``; otherwise as ``inlet_headwater`` and ``resistance.friction_slope``.

    References
    ----------
    FHWA Hydraulic Design Series 5, chapter III: HW = ho + H - L S, H = (ke + kf + ko) V^2 / 2g, ho the
    greater of the tailwater and half of critical depth plus height. Friction by the law chosen.

    Examples
    --------
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.01, Resistance("manning", manning_n=0.013), row)
    >>> round(outlet_headwater(pipe, 1.5, 1.2)["headwater_m"], 3)
    1.357
    """
    row = _checked(culvert)
    tail = number_between(tailwater_m, 0.0, 100.0, "tailwater_m", "tailwater_out_of_range")
    gravity = culvert.resistance.gravity_m_s2
    critical = critical_flow(culvert.bore, discharge_m3_s, gravity)
    section = full_section(culvert.bore)
    velocity = discharge_m3_s / section["area_m2"]
    head = velocity * velocity / (2 * gravity)
    slope, findings = _friction(culvert.resistance, section["hydraulic_radius_m"], velocity)
    friction = culvert.length_m * slope
    level = max(tail, (critical["depth_m"] + culvert.bore.height_m) / 2)
    entrance, leaving = row["entrance_loss"] * head, culvert.exit_loss * head
    total = level + entrance + friction + leaving - culvert.length_m * culvert.gradient
    if total < FULL_FROM * culvert.bore.height_m:
        findings.append("barrel_not_full")
    return {
        "headwater_m": total,
        "entrance_m": entrance,
        "friction_m": friction,
        "exit_m": leaving,
        "outlet_level_m": level,
        "findings": findings,
    }


def culvert_headwater(culvert: Culvert, discharge_m3_s: float, tailwater_m: float) -> dict[str, Any]:
    """Return the headwater of a flow and what controls it.

    Parameters
    ----------
    culvert : Culvert
        Bore [m], length, gradient, resistance and inlet.
    discharge_m3_s : float
        Flow [m3/s].
    tailwater_m : float
        Water above the invert at the outlet [m].

    Returns
    -------
    dict
        ``headwater_m`` above the invert at the inlet [m], ``control`` (``inlet`` or ``outlet``), and
        ``inlet`` and ``outlet``: the two sums [m]. Not rounded.

    Raises
    ------
    SurveyError
        As ``inlet_headwater`` and ``outlet_headwater``.

    References
    ----------
    The greater of the two: FHWA Hydraulic Design Series 5, chapter III.

    Examples
    --------
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.02, Resistance("manning", manning_n=0.013), row)
    >>> culvert_headwater(pipe, 2.0, 0.0)["control"]
    'inlet'
    """
    inlet = inlet_headwater(culvert, discharge_m3_s)
    outlet = outlet_headwater(culvert, discharge_m3_s, tailwater_m)
    by_inlet = inlet["headwater_m"] >= outlet["headwater_m"]
    return {
        "headwater_m": inlet["headwater_m"] if by_inlet else outlet["headwater_m"],
        "control": "inlet" if by_inlet else "outlet",
        "inlet": inlet,
        "outlet": outlet,
    }


def culvert_capacity(culvert: Culvert, headwater_m: float, tailwater_m: float) -> dict[str, Any]:
    """Return what a culvert passes under a headwater.

    Parameters
    ----------
    culvert : Culvert
        Bore [m], length, gradient, resistance and inlet.
    headwater_m : float
        Water above the invert at the inlet [m], up to 100.
    tailwater_m : float
        Water above the invert at the outlet [m].

    Returns
    -------
    dict
        ``discharge_m3_s``: the lesser of ``inlet_m3_s`` and ``outlet_m3_s`` [m3/s] (None where that
        control lets nothing pass), ``control``, ``state`` of the inlet at that flow, ``known``:
        ``computed``, or ``unknown`` without a number; ``findings``: ``headwater_below_tailwater`` or
        ``headwater_too_low`` when nothing flows forward, those of ``outlet_headwater``, and
        ``inlet_partly_blocked`` (with a deposit: the constants are for clear inlets). Not rounded.

    Raises
    ------
    SurveyError
        ``headwater_out_of_range``; otherwise as ``culvert_headwater``.

    References
    ----------
    Inverse of ``inlet_headwater`` and ``outlet_headwater`` by bisection.

    Examples
    --------
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.02, Resistance("manning", manning_n=0.013), row)
    >>> culvert_capacity(pipe, 1.5, 0.0)["control"]
    'inlet'
    """
    head = number_between(headwater_m, 1e-6, 100.0, "headwater_m", "headwater_out_of_range")
    outlet_headwater(culvert, LEAST_FLOW, tailwater_m)  # refuses what cannot be before the search
    findings = ["inlet_partly_blocked"] if culvert.bore.deposit_m > 0 else []
    most = FASTEST_M_S * full_section(culvert.bore)["area_m2"]
    inlet = _flow_for(lambda q: inlet_headwater(culvert, q)["headwater_m"], head, most)
    outlet = _flow_for(lambda q: outlet_headwater(culvert, q, tailwater_m)["headwater_m"], head, most)
    result: dict[str, Any] = {"inlet_m3_s": inlet, "outlet_m3_s": outlet, "findings": findings}
    if inlet is None or outlet is None:
        lost = tailwater_m - culvert.length_m * culvert.gradient >= head
        findings.append("headwater_below_tailwater" if lost else "headwater_too_low")
        return {**result, "discharge_m3_s": None, "control": None, "state": None, "known": "unknown"}
    least = min(inlet, outlet)
    findings += outlet_headwater(culvert, least, tailwater_m)["findings"]
    result |= {"discharge_m3_s": least, "control": "inlet" if inlet <= outlet else "outlet"}
    return {**result, "state": inlet_headwater(culvert, least)["state"], "known": "computed"}


def _checked(culvert: Culvert) -> dict[str, Any]:
    row = culvert.inlet
    for key in ("k", "m", "c", "y", "slope_factor", "entrance_loss"):
        number_between(row.get(key), -10.0, 10.0, "inlet", "inlet_incomplete")
    if row.get("form") not in (1, 2):
        raise SurveyError("inlet_incomplete", "inlet")
    number_between(culvert.gradient, -0.2, 1.0, "gradient", "gradient_out_of_range")
    number_between(culvert.length_m, 0.01, 1000.0, "length_m", "length_out_of_range")
    number_between(culvert.exit_loss, 0.1, 2.0, "exit_loss", "loss_out_of_range")
    viscosity = culvert.resistance.viscosity_m2_s
    number_between(viscosity, 1e-9, 1e-2, "viscosity_m2_s", "viscosity_out_of_range")
    return row


def _free(culvert: Culvert, row: dict[str, Any], flow: float, reached: float, clear: float) -> float:
    """Headwater above the invert with the inlet acting as a weir."""
    above: float = row["k"] * math.pow(reached, row["m"]) * clear
    if row["form"] == 2:
        return culvert.bore.deposit_m + above
    head: float = critical_flow(culvert.bore, flow, culvert.resistance.gravity_m_s2)["head_m"]
    slope: float = row["slope_factor"] * culvert.gradient * clear
    return head + above + slope


def _drowned(culvert: Culvert, row: dict[str, Any], reached: float, clear: float) -> float:
    """Headwater above the invert with the inlet acting as an orifice."""
    share: float = row["c"] * reached * reached + row["y"] + row["slope_factor"] * culvert.gradient
    return culvert.bore.deposit_m + share * clear


def _friction(resistance: Resistance, radius: float, velocity: float) -> tuple[float, list[str]]:
    if resistance.law == "colebrook_white":
        slowest = colebrook.TURBULENT_FROM * resistance.viscosity_m2_s / (4 * radius) * (1 + 1e-9)
        if velocity < slowest:
            share = velocity / slowest
            return friction_slope(resistance, radius, slowest) * share * share, ["flow_not_turbulent"]
    return friction_slope(resistance, radius, velocity), []


def _flow_for(headwater: Callable[[float], float], wanted: float, most: float) -> float | None:
    """Flow that needs the headwater wanted; None when even the least flow needs more."""
    if headwater(LEAST_FLOW) >= wanted:
        return None
    return find_root(lambda flow: headwater(flow) - wanted, LEAST_FLOW, most)
