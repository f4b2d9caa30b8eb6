"""The inlet of a short culvert: the headwater that it asks for, as a weir and as an orifice."""

import math
from dataclasses import dataclass
from typing import Literal, TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..section.bore import Bore
from ..section.shape import full_section
from .open_flow import critical_flow
from .resistance import Resistance

FROM_SI = 1.811  # the published constants are for Q / (A sqrt(D)) in feet and seconds
FREE_UP_TO, DROWNED_FROM = 3.5, 4.0  # of that parameter: unsubmerged below, submerged above
MIN_FLOW_M3_S = 1e-7  # m3/s


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
    row = checked_culvert(culvert)
    area = full_section(culvert.bore)["area_m2"]
    clear = culvert.bore.height_m - culvert.bore.deposit_m
    unit = area * math.sqrt(clear) / FROM_SI
    flow = number_between(discharge_m3_s, MIN_FLOW_M3_S, 1e5, "discharge_m3_s", "flow_out_of_range")
    reached = flow / unit
    if reached <= FREE_UP_TO:
        return {"headwater_m": _free(culvert, row, flow, reached, clear), "state": "unsubmerged"}
    if reached >= DROWNED_FROM:
        return {"headwater_m": _drowned(culvert, row, reached, clear), "state": "submerged"}
    low = _free(culvert, row, FREE_UP_TO * unit, FREE_UP_TO, clear)
    high = _drowned(culvert, row, DROWNED_FROM, clear)
    share = (reached - FREE_UP_TO) / (DROWNED_FROM - FREE_UP_TO)
    return {"headwater_m": low + share * (high - low), "state": "transition"}


def checked_culvert(culvert: Culvert) -> Inlet:
    """Return the constants of a culvert's inlet, with all of the culvert within its range.

    Raises
    ------
    SurveyError
        ``inlet_incomplete``, ``gradient_out_of_range``, ``length_out_of_range``, ``loss_out_of_range``,
        ``viscosity_out_of_range``.
    """
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
