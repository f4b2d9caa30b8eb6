"""What lies in the invert: area lost to it, and its depth from the area lost."""

from dataclasses import replace
from typing import TypedDict

from ..numbers.checks import number_between
from ..numbers.root_finding import find_root
from .bore import Bore
from .shape import area_and_width, areas_and_widths, full_section


class DepositArea(TypedDict):
    """What a deposit takes of a bore; ``area_lost_pct`` of the clean area."""

    deposit_area_m2: float
    area_lost_pct: float


def area_lost_to_deposit(bore: Bore) -> DepositArea:
    """Return how much of the clean bore a level deposit takes.

    Returns
    -------
    dict
        ``deposit_area_m2`` [m2] and ``area_lost_pct`` [% of the clean area].

    Examples
    --------
    >>> round(area_lost_to_deposit(Bore("circular", 0.3, deposit_m=0.15))["area_lost_pct"], 9)
    50.0
    """
    full = full_section(bore)  # checks the deposit too
    clean = replace(bore, deposit_m=0.0)
    lost = area_and_width(clean, bore.deposit_m)[0]
    whole = full_section(clean)["area_m2"] if bore.deposit_m > 0 else full["area_m2"]
    return {"deposit_area_m2": lost, "area_lost_pct": 100 * lost / whole}


def deposit_depth_from_area(bore: Bore, area_lost_pct: float) -> float:
    """Return the depth of a level deposit that takes a share of the clean bore.

    Parameters
    ----------
    area_lost_pct : float
        Area lost [% of the clean area], 0 up to, but not including, 100.

    Returns
    -------
    float
        Depth of the deposit above the invert [m].

    Raises
    ------
    SurveyError
        ``share_out_of_range`` for the area; otherwise as ``bore.outline_pieces``.

    Examples
    --------
    >>> round(deposit_depth_from_area(Bore("circular", 0.3), 50.0), 9)
    0.15
    """
    share = number_between(area_lost_pct, 0.0, 99.999999, "area_lost_pct", "share_out_of_range") / 100
    clean = replace(bore, deposit_m=0.0)
    wanted = share * full_section(clean)["area_m2"]
    if wanted == 0:
        return 0.0
    at = areas_and_widths(clean)
    return find_root(lambda z: at(z)[0] - wanted, 0.0, bore.height_m)
