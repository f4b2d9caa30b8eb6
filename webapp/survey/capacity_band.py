"""A capacity with all that makes it unsure: fall, roughness and size of the bore."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from .bore import Bore
from .errors import SurveyError
from .open_flow import full_flow
from .resistance import Resistance

SIGMAS_95 = 1.96
LEVEL = 1e-6  # m/m: flatter than 1 in 1,000,000 is level
SIZE_SD = {"measured": 0.01, "drawing": 0.02}
SIZE_SD_ASSUMED = 0.04  # of the height, where it is assumed or nobody said how it is known


def capacity_band(
    bore: Bore, size_known: str, gradients: Mapping[str, Any], wall: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the full-bore capacity of a clean bore with its 95 % band.

    Parameters
    ----------
    bore : Bore
        As laid [m].
    size_known : str
        How its size is known: ``measured``, ``drawing``, else assumed.
    gradients : mapping
        ``gradient_low``, ``gradient``, ``gradient_high`` [m/m], the middle one above level; from ``reaches``.
    wall : mapping
        ``low_mm``, ``mm``, ``high_mm`` [mm], from ``wall_roughness``.

    Returns
    -------
    dict
        ``low_m3_s``, ``mean_m3_s``, ``high_m3_s`` [m3/s], ``findings`` of ``full_flow``, ``spread``: for
        ``fall``, ``roughness`` and ``size`` the width of the band that each alone would give [ln].

    Raises
    ------
    SurveyError
        As ``full_flow``.

    References
    ----------
    First-order propagation of independent errors in the logarithm of the flow, each side by itself; a fall
    that may be level gives 0 as the lower end.

    Examples
    --------
    >>> falls = {"gradient_low": 0.009, "gradient": 0.01, "gradient_high": 0.011}
    >>> wall = {"low_mm": 0.6, "mm": 1.5, "high_mm": 3.0}
    >>> found = capacity_band(Bore("circular", 0.3), "measured", falls, wall)
    >>> found["low_m3_s"] < found["mean_m3_s"] < found["high_m3_s"]
    True
    """
    gradient = float(gradients["gradient"])
    flow = full_flow(bore, gradient, _wall(wall["mm"]))
    mean = float(flow["discharge_m3_s"])
    low, high = gradients["gradient_low"], gradients["gradient_high"]
    by = SIGMAS_95 * SIZE_SD.get(size_known, SIZE_SD_ASSUMED)
    ends = {
        "fall": (_flow(bore, low, wall["mm"]), _flow(bore, high, wall["mm"])),
        "roughness": (_flow(bore, gradient, wall["high_mm"]), _flow(bore, gradient, wall["low_mm"])),
        "size": (
            _flow(_scaled(bore, 1 - by), gradient, wall["mm"]),
            _flow(_scaled(bore, 1 + by), gradient, wall["mm"]),
        ),
    }
    down = {name: _log(mean, pair[0]) for name, pair in ends.items()}
    up = {name: _log(pair[1] or mean, mean) for name, pair in ends.items()}
    lower = math.inf if math.inf in down.values() else math.sqrt(sum(one * one for one in down.values()))
    upper = math.sqrt(sum(one * one for one in up.values()))
    return {
        "low_m3_s": 0.0 if lower == math.inf else mean * math.exp(-lower),
        "mean_m3_s": mean,
        "high_m3_s": mean * math.exp(upper),
        "findings": list(flow["findings"]),
        "spread": {name: None if down[name] == math.inf else down[name] + up[name] for name in ends},
    }


def _wall(roughness_mm: float) -> Resistance:
    return Resistance("colebrook_white", roughness_mm / 1000)


def _scaled(bore: Bore, by: float) -> Bore:
    width = None if bore.width_m is None else bore.width_m * by
    return replace(bore, height_m=bore.height_m * by, width_m=width)


def _flow(bore: Bore, gradient: float | None, roughness_mm: float) -> float | None:
    """Full-bore flow at one end of an error; None where the pipe is level or the law has no number."""
    if gradient is None or gradient < LEVEL:
        return None
    try:
        return float(full_flow(bore, gradient, _wall(roughness_mm))["discharge_m3_s"])
    except SurveyError:
        return None


def _log(more: float, less: float | None) -> float:
    return math.inf if less is None or less <= 0 else max(0.0, math.log(more / less))
