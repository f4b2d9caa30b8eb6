"""Short culverts: headwater for a flow and flow for a headwater, by inlet and by outlet control.

Depths are measured from the invert at the inlet (headwater) and at the outlet (tailwater). The
greater headwater controls. An estimate for a competent engineer to judge.
"""

import math
from collections.abc import Callable
from typing import TypedDict

from ..numbers.checks import number_between
from ..numbers.root_finding import find_root
from ..section.shape import flow_section, full_section
from .culvert_inlet import MIN_FLOW_M3_S, Culvert, checked_culvert, inlet_headwater
from .grade_line import Piece, grade_line
from .resistance import flow_findings
from .waterway import Waterway, waterway

MANY_TIMES = 10.0
HALVINGS = 45
SLOW = "flow_not_turbulent"


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
    >>> from ..section.bore import Bore
    >>> from .resistance import Resistance
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.01, Resistance("manning", manning_n=0.013), row)
    >>> round(outlet_headwater(pipe, 1.5, 1.2)["headwater_m"], 3)
    1.357
    """
    way = barrel or _barrel(culvert)
    number_between(discharge_m3_s, MIN_FLOW_M3_S, 1e5, "discharge_m3_s", "flow_out_of_range")
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
    >>> from ..section.bore import Bore
    >>> from .resistance import Resistance
    >>> row = {"form": 1, "k": 0.0098, "m": 2.0, "c": 0.0398, "y": 0.67, "slope_factor": -0.5,
    ...        "entrance_loss": 0.5}
    >>> pipe = Culvert(Bore("circular", 1.0), 20.0, 0.02, Resistance("manning", manning_n=0.013), row)
    >>> culvert_capacity(pipe, 1.5, 0.0)["control"]
    'inlet'
    """
    head = number_between(headwater_m, 1e-6, 100.0, "headwater_m", "headwater_out_of_range")
    barrel = _barrel(culvert)
    outlet_headwater(culvert, MIN_FLOW_M3_S, tailwater_m, barrel)  # refuses what cannot be before the search
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
    checked_culvert(culvert)
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


def _flow_for(headwater: Callable[[float], float], wanted: float, most: float) -> float | None:
    """Flow that needs the headwater wanted; None when even the least flow needs more."""
    if headwater(MIN_FLOW_M3_S) >= wanted:
        return None
    return find_root(lambda flow: headwater(flow) - wanted, MIN_FLOW_M3_S, most)
