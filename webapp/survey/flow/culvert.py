"""Short culverts: headwater for a flow and flow for a headwater, by inlet and by outlet control.

Depths are measured from the invert at the inlet (headwater) and at the outlet (tailwater). The
greater headwater controls. An estimate for a competent engineer to judge.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..numbers.root_finding import find_root
from ..section.bore import Bore
from ..section.shape import flow_section, full_section
from .grade_line import Piece, grade_line
from .open_flow import critical_flow
from .resistance import Resistance, flow_findings
from .waterway import Waterway, waterway

FROM_SI = 1.811  # the published constants are for Q / (A sqrt(D)) in feet and seconds
FREE_UP_TO, DROWNED_FROM = 3.5, 4.0  # of that parameter: unsubmerged below, submerged above
MIN_FLOW = 1e-7  # m3/s
MANY_TIMES = 10.0
HALVINGS = 45
SLOW = "flow_not_turbulent"


class Inlet(TypedDict):
    """The published constants of an inlet, as a row of the table holds them; ``form`` 1 or 2."""

    form: Literal[1, 2]
    k: float
    m: float
    c: float
    y: float
    slope_factor: float
    entrance_loss: float  # of the velocity head


class InletHeadwater(TypedDict):
    """The headwater that an inlet asks for; ``state``: unsubmerged, transition, submerged."""

    headwater_m: float
    state: str


class OutletHeadwater(TypedDict):
    """The headwater that barrel and tailwater ask for, and the losses that make it."""

    headwater_m: float
    entrance_m: float
    friction_m: float
    exit_m: float
    outlet_level_m: float
    steep: bool  # critical at the inlet, so that the inlet controls
    findings: list[str]


class CulvertCapacity(TypedDict):
    """What a culvert passes under a headwater, and which end controls."""

    inlet_m3_s: float | None
    outlet_m3_s: float | None
    findings: list[str]
    discharge_m3_s: float | None
    control: str | None
    state: str | None  # of the inlet
    known: str


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
    inlet: Inlet
    exit_loss: float = 1.0


def inlet_headwater(culvert: Culvert, discharge_m3_s: float) -> InletHeadwater:
    """Return the headwater that the inlet asks for.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].

    Returns
    -------
    dict
        ``headwater_m`` above the invert at the inlet [m], ``state``: ``unsubmerged``, ``transition``
        (straight line between the two) or ``submerged``.

    Raises
    ------
    SurveyError
        ``inlet_incomplete`` for a row without its constants; ``gradient_out_of_range`` beyond -0.2 to 1;
        ``length_out_of_range``, ``loss_out_of_range``, ``viscosity_out_of_range``; otherwise as
        ``open_flow.critical_flow``.

    References
    ----------
    FHWA Hydraulic Design Series 5 (FHWA-NHI-01-020, 2001), Appendix A, equations 26 to 28 and Table 9: form
    1 HW/D = Hc/D + K P^M + Ks S, form 2 HW/D = K P^M, submerged HW/D = c P^2 + Y + Ks S, with P = 1.811 Q /
    (A sqrt(D)) in SI; unsubmerged up to P = 3.5, submerged from 4.0.

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
    flow = number_between(discharge_m3_s, MIN_FLOW, 1e5, "discharge_m3_s", "flow_out_of_range")
    reached = flow / unit
    if reached <= FREE_UP_TO:
        return {"headwater_m": _free(culvert, row, flow, reached, clear), "state": "unsubmerged"}
    if reached >= DROWNED_FROM:
        return {"headwater_m": _drowned(culvert, row, reached, clear), "state": "submerged"}
    low = _free(culvert, row, FREE_UP_TO * unit, FREE_UP_TO, clear)
    high = _drowned(culvert, row, DROWNED_FROM, clear)
    share = (reached - FREE_UP_TO) / (DROWNED_FROM - FREE_UP_TO)
    return {"headwater_m": low + share * (high - low), "state": "transition"}


def outlet_headwater(
    culvert: Culvert, discharge_m3_s: float, tailwater_m: float, barrel: Waterway | None = None
) -> OutletHeadwater:
    """Return the headwater that the barrel and the tailwater ask for.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].
    tailwater_m : float
        Water above the invert at the outlet [m], 0 to 100.
    barrel : Waterway, optional
        Its barrel, where many flows are asked for.

    Returns
    -------
    dict
        ``headwater_m`` above the invert at the inlet [m]; ``entrance_m``, ``friction_m``, ``exit_m``: the
        losses [m]; ``outlet_level_m``: the water inside the outlet [m]; ``steep``: the water is critical at
        the inlet, so that the barrel asks for nothing and the inlet controls; ``findings``:
        ``flow_not_turbulent`` when the factor at a Reynolds number of 4,000 is used below it.

    Raises
    ------
    SurveyError
        ``tailwater_out_of_range``; otherwise as ``inlet_headwater`` and ``grade_line``.

    References
    ----------
    Energy by standard step from the outlet, ``grade_line``: there at critical depth, or at the tailwater
    where that is deeper, less what of the velocity head is recovered. FHWA Hydraulic Design Series 5
    (2001), chapter III, names backwater calculations as the method for a barrel that is not full all along.

    Examples
    --------
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.01, Resistance("manning", manning_n=0.013), row)
    >>> round(outlet_headwater(pipe, 1.5, 1.2)["headwater_m"], 3)
    1.357
    """
    way = barrel or _barrel(culvert)
    number_between(discharge_m3_s, MIN_FLOW, 1e5, "discharge_m3_s", "flow_out_of_range")
    tail = number_between(tailwater_m, 0.0, 100.0, "tailwater_m", "tailwater_out_of_range")
    bore, resistance = culvert.bore, culvert.resistance
    drop = culvert.length_m * culvert.gradient
    recovered = 0.0
    if tail > bore.deposit_m:
        wet = flow_section(bore, min(tail, bore.height_m))["area_m2"]
        speed = discharge_m3_s / wet if wet > 0 else 0.0
        head = min(tail, speed * speed / (2 * resistance.gravity_m_s2))
        recovered = (1 - culvert.exit_loss) * head
    line = grade_line([Piece(culvert.length_m, drop, way)], discharge_m3_s, max(0.0, tail - recovered))
    lower, upper = line["depths_m"]
    section = flow_section(bore, min(lower, bore.height_m))
    velocity, radius = discharge_m3_s / section["area_m2"], section["hydraulic_radius_m"]
    leaving = velocity * velocity / (2 * resistance.gravity_m_s2)
    entrance = culvert.inlet["entrance_loss"] * (line["head_m"] - upper)
    return {
        "headwater_m": line["head_m"] + entrance,
        "entrance_m": entrance,
        "friction_m": line["head_m"] + drop - lower - leaving,
        "exit_m": culvert.exit_loss * leaving,
        "outlet_level_m": lower,
        "steep": line["control"],
        "findings": [SLOW] if SLOW in flow_findings(resistance, radius, velocity) else [],
    }


def culvert_capacity(culvert: Culvert, headwater_m: float, tailwater_m: float) -> CulvertCapacity:
    """Return what a culvert passes under a headwater.

    Parameters
    ----------
    headwater_m : float
        Water above the invert at the inlet [m], up to 100.
    tailwater_m : float
        Water above the invert at the outlet [m].

    Returns
    -------
    dict
        ``discharge_m3_s``: the lesser of ``inlet_m3_s`` and ``outlet_m3_s`` [m3/s] (None where that control
        lets nothing pass), ``control``, ``state`` of the inlet at that flow, ``known``: ``computed``, or
        ``unknown`` without a number; ``findings``: ``headwater_below_tailwater`` or ``headwater_too_low``
        when nothing flows forward, those of ``outlet_headwater``, and ``inlet_partly_blocked`` (with a
        deposit: the constants are for clear inlets).

    Raises
    ------
    SurveyError
        ``headwater_out_of_range``; otherwise as ``inlet_headwater`` and ``outlet_headwater``.

    Examples
    --------
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.02, Resistance("manning", manning_n=0.013), row)
    >>> culvert_capacity(pipe, 1.5, 0.0)["control"]
    'inlet'
    """
    head = number_between(headwater_m, 1e-6, 100.0, "headwater_m", "headwater_out_of_range")
    barrel = _barrel(culvert)
    outlet_headwater(culvert, MIN_FLOW, tailwater_m, barrel)  # refuses what cannot be before the search
    findings = ["inlet_partly_blocked"] if culvert.bore.deposit_m > 0 else []
    most = _most(culvert, head)

    def head_required(flow: float) -> float:
        return outlet_headwater(culvert, flow, tailwater_m, barrel)["headwater_m"]

    inlet = _flow_for(lambda flow: inlet_headwater(culvert, flow)["headwater_m"], head, most)
    outlet = _flow_for(head_required, head, most)
    if inlet is None or outlet is None:
        lost = tailwater_m - culvert.length_m * culvert.gradient >= head
        findings.append("headwater_below_tailwater" if lost else "headwater_too_low")
        return {
            "inlet_m3_s": inlet, "outlet_m3_s": outlet, "findings": findings,
            "discharge_m3_s": None, "control": None, "state": None, "known": "unknown",
        }  # fmt: skip
    if outlet < inlet:
        outlet = _while_steep(culvert, barrel, outlet, inlet, tailwater_m)
    least = min(inlet, outlet)
    findings += outlet_headwater(culvert, least, tailwater_m, barrel)["findings"]
    return {
        "inlet_m3_s": inlet, "outlet_m3_s": outlet, "findings": findings,
        "discharge_m3_s": least, "control": "inlet" if inlet <= outlet else "outlet",
        "state": inlet_headwater(culvert, least)["state"], "known": "computed",
    }  # fmt: skip


def _barrel(culvert: Culvert) -> Waterway:
    _checked(culvert)
    return waterway(culvert.bore, culvert.resistance, 1.0, False)


def _while_steep(culvert: Culvert, barrel: Waterway, low: float, high: float, tailwater_m: float) -> float:
    """The flow up to which the barrel asks for nothing, from one by the outlet to one by the inlet."""
    if not outlet_headwater(culvert, low, tailwater_m, barrel)["steep"]:
        return low
    if outlet_headwater(culvert, high, tailwater_m, barrel)["steep"]:
        return high
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if outlet_headwater(culvert, middle, tailwater_m, barrel)["steep"]:
            low = middle
        else:
            high = middle
    return low


def _most(culvert: Culvert, head: float) -> float:
    """A flow that needs more than the headwater: its velocity head alone would be many times as high."""
    bore = culvert.bore
    height = head + bore.height_m + culvert.length_m * abs(culvert.gradient)
    fastest = MANY_TIMES * math.sqrt(2 * culvert.resistance.gravity_m_s2 * height)
    return fastest * full_section(bore)["area_m2"]


def _checked(culvert: Culvert) -> Inlet:
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


def _free(culvert: Culvert, row: Inlet, flow: float, reached: float, clear: float) -> float:
    """Headwater above the invert with the inlet acting as a weir."""
    above: float = row["k"] * math.pow(reached, row["m"]) * clear
    if row["form"] == 2:
        return culvert.bore.deposit_m + above
    head: float = critical_flow(culvert.bore, flow, culvert.resistance.gravity_m_s2)["head_m"]
    slope: float = row["slope_factor"] * culvert.gradient * clear
    return head + above + slope


def _drowned(culvert: Culvert, row: Inlet, reached: float, clear: float) -> float:
    """Headwater above the invert with the inlet acting as an orifice."""
    share: float = row["c"] * reached * reached + row["y"] + row["slope_factor"] * culvert.gradient
    return culvert.bore.deposit_m + share * clear


def _flow_for(headwater: Callable[[float], float], wanted: float, most: float) -> float | None:
    """Flow that needs the headwater wanted; None when even the least flow needs more."""
    if headwater(MIN_FLOW) >= wanted:
        return None
    return find_root(lambda flow: headwater(flow) - wanted, MIN_FLOW, most)
