"""A capacity with all that makes it unsure: fall, roughness, size of the bore, what narrows it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypedDict

from ..errors import SurveyError
from ..section.bore import Bore
from .open_flow import full_flow
from .resistance import Resistance
from .wall_roughness import WallRoughness

SIGMAS_95 = 1.96
LEVEL = 1e-6  # m/m: flatter than 1 in 1,000,000 is level
SIZE_SD = {"measured": 0.01, "drawing": 0.02}
EVEN = 1.35  # the power by which the half width of an even spread is added to a normal one
SIZE_SD_ASSUMED = 0.04  # of the height, where it is assumed or nobody said how it is known


@dataclass(frozen=True)
class Carried:
    """What a clean bore carries: ``mean_m3_s``, and for what is open of its fall ``low_m3_s`` (None: perhaps
    nothing) and ``high_m3_s`` [m3/s].

    ``gradient``: its fall over its length [m/m]. ``left``: the least, the likely and the greatest share that
    what narrows it leaves, or None where the likely one is not known.
    """

    gradient: float
    mean_m3_s: float
    low_m3_s: float | None
    high_m3_s: float
    left: tuple[float, float, float] | None


class CapacityBand(TypedDict):
    """A capacity and the band that holds it [m3/s]; ``spread``: what each cause adds to the band."""

    low_m3_s: float
    mean_m3_s: float
    high_m3_s: float
    findings: list[str]
    spread: dict[str, float | None]


def capacity_band(bore: Bore, size_known: str, carried: Carried, wall: WallRoughness) -> CapacityBand:
    """Return a capacity with its 95 % band.

    Parameters
    ----------
    size_known : str
        How its size is known: ``measured``, ``drawing``, else assumed.
    wall : mapping
        ``low_mm``, ``mm``, ``high_mm`` [mm], from ``wall_roughness``.

    Returns
    -------
    dict
        ``low_m3_s``, ``mean_m3_s``, ``high_m3_s`` [m3/s] of the narrowed bore, of the clean one without
        ``left``; ``findings`` of ``full_flow``; ``spread``: for ``fall``, ``roughness``, ``size`` and
        ``narrowing`` the width of the band that each alone would give [ln], None where it has no end.

    Examples
    --------
    >>> wall = {"low_mm": 0.6, "mm": 1.5, "high_mm": 3.0}
    >>> clean = Carried(0.01, 0.098, 0.092, 0.103, (1.0, 1.0, 1.0))
    >>> found = capacity_band(Bore("circular", 0.3), "measured", clean, wall)
    >>> found["low_m3_s"] < found["mean_m3_s"] < found["high_m3_s"]
    True
    """
    flow = full_flow(bore, carried.gradient, _wall(wall["mm"]))
    even, gradient = flow["discharge_m3_s"], carried.gradient
    mean, left = carried.mean_m3_s, carried.left or (1.0, 1.0, 1.0)
    by = SIGMAS_95 * SIZE_SD.get(size_known, SIZE_SD_ASSUMED)
    rough, smooth = _flow(bore, gradient, wall["high_mm"]), _flow(bore, gradient, wall["low_mm"])
    worse, better = _log(even, rough), _log(smooth or even, even)
    middle, half = (better - worse) / 2, (better + worse) / 2
    down = {
        "fall": _log(mean, carried.low_m3_s),
        "roughness": half,
        "size": _log(even, _flow(_scaled(bore, 1 - by), gradient, wall["mm"])),
        "narrowing": _log(left[1], left[0]),
    }
    up = {
        "fall": _log(carried.high_m3_s, mean),
        "roughness": half,
        "size": _log(_flow(_scaled(bore, 1 + by), gradient, wall["mm"]) or even, even),
        "narrowing": _log(left[2], left[1]),
    }
    lower, upper = _together(down), _together(up)
    likely = mean * left[1]
    centre = 0.0 if half == math.inf else likely * math.exp(middle)
    return {
        "low_m3_s": 0.0 if lower == math.inf else min(likely, centre * math.exp(-lower)),
        "mean_m3_s": likely,
        "high_m3_s": carried.high_m3_s * left[2]
        if upper == math.inf
        else max(likely, centre * math.exp(upper)),
        "findings": list(flow["findings"]),
        "spread": {name: _sum(down[name], up[name]) for name in down},
    }


def _wall(roughness_mm: float) -> Resistance:
    return Resistance("colebrook_white", roughness_mm / 1000)


def _scaled(bore: Bore, by: float) -> Bore:
    width = None if bore.width_m is None else bore.width_m * by
    return replace(bore, height_m=bore.height_m * by, width_m=width)


def _flow(bore: Bore, gradient: float, roughness_mm: float) -> float | None:
    """Full-bore flow at one end of an error; None where the law has no number."""
    try:
        return full_flow(bore, gradient, _wall(roughness_mm))["discharge_m3_s"]
    except SurveyError:
        return None


def _log(more: float | None, less: float | None) -> float:
    """ln of their ratio, not below 0; infinite where the lesser is nothing and the greater is not."""
    if more is None or more <= 0:
        return 0.0
    return math.inf if less is None or less <= 0 else max(0.0, math.log(more / less))


def _together(parts: Mapping[str, float]) -> float:
    if math.inf in parts.values():
        return math.inf
    others = math.sqrt(sum(one * one for name, one in parts.items() if name != "roughness"))
    return math.pow(math.pow(parts["roughness"], EVEN) + math.pow(others, EVEN), 1 / EVEN)


def _sum(down: float, up: float) -> float | None:
    return None if math.inf in (down, up) else down + up
