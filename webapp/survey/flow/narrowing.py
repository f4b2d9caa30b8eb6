"""How much of a clean bore's full-bore capacity is left beside what narrows it."""

import math
from dataclasses import replace
from typing import TypedDict

from ..errors import SurveyError
from ..section.bore import Bore, BoreSizes
from ..section.deform import deformed_circle
from ..section.deposit import area_lost_to_deposit, deposit_depth_from_area
from .open_flow import full_flow
from .resistance import Resistance

FORMS = ("deposit_depth", "deformation", "smaller_bore", "raised_invert", "step", "intrusion")
BY_AREA = ("smaller_bore", "raised_invert")
SCALE_FREE = ("circular", "egg", "rectangular")  # whose sections do not need a width to be compared
FLATTEST_GRADIENT, ASSUMED_GRADIENT = 1e-4, 0.01
MAX_DEFORMED_PCT = 50.0


class CapacityLeft(TypedDict):
    """What a narrowing leaves, as a share; ``of``: capacity, area, or None where nothing can be said."""

    low_pct: float | None
    high_pct: float | None
    of: str | None
    findings: list[str]


def capacity_left(
    form: str, size: float, bore: BoreSizes | None, kind: str | None,
    gradient: float | None, roughness_mm: float,
) -> CapacityLeft:  # fmt: skip
    """Return the share of the clean full-bore capacity, or of the clean area, that a narrowing leaves.

    Parameters
    ----------
    form : str
        ``deposit_depth``: lies level in the invert, ``size`` is its depth [% of the height];
        ``deformation``: a round pipe pressed out of shape [% of the diameter]; ``smaller_bore``: takes
        area all round [% of the area]; ``raised_invert``: takes area from below [% of the area]; ``step``:
        the next pipe stands off by [mm]; ``intrusion``: something sticks in by [% of the height].
    bore : mapping or None
        ``kind``, ``height_m``, ``width_m`` [m] as laid; None where a size is not known.
    gradient : float or None
        Fall along the pipe [m/m]; where it is not known, adverse or flatter than 1 in 10,000, 1 in 100 is
        taken: the share hardly depends on it.
    roughness_mm : float
        Roughness of the wall [mm], taken for both.

    Returns
    -------
    dict
        ``low_pct``, ``high_pct`` [%], 0 to 100, None where nothing can be said; ``of``: ``capacity``,
        ``area`` or None; ``findings``: ``gradient_assumed``, ``size_not_known``, ``shape_not_known``,
        ``only_round_pipes``, ``beyond_half``, ``step_as_deposit``, ``width_of_it_not_known``,
        ``rests_on_area``.

    Raises
    ------
    SurveyError
        ``form_unknown``; ``size_out_of_range`` for a size below 0.

    Notes
    -----
    As if the narrowing went on along the pipe: the least that is left. A single one costs less.

    Examples
    --------
    >>> clean = {"kind": "circular", "height_m": 0.3, "width_m": None}
    >>> round(capacity_left("deposit_depth", 10.0, clean, "circular", 0.01, 1.5)["low_pct"], 1)
    92.4
    """
    if form not in FORMS:
        raise SurveyError("form_unknown", "form")
    if not size >= 0:
        raise SurveyError("size_out_of_range", "size")
    if size == 0:
        return _found(100.0, 100.0, "capacity", [])
    if bore is None:
        return _by_area(form, size, kind)
    clean = Bore(bore["kind"], bore["height_m"], bore["width_m"])
    if form == "deformation" and clean.kind != "circular":
        return _found(None, None, None, ["only_round_pipes"])
    usable = gradient is not None and FLATTEST_GRADIENT <= gradient <= 1
    findings = [] if usable else ["gradient_assumed"]
    if form == "deformation" and size > MAX_DEFORMED_PCT:
        findings.append("beyond_half")
    if form == "step" and clean.kind != "circular":
        findings.append("step_as_deposit")
    if form == "intrusion":
        findings.append("width_of_it_not_known")
    fall = gradient if gradient is not None and usable else ASSUMED_GRADIENT
    try:
        left = _share(form, size, clean, fall, Resistance("colebrook_white", roughness_mm / 1000))
    except SurveyError as error:
        return _found(None, None, None, [error.code])
    low = 0.0 if "beyond_half" in findings else left
    return _found(low, 100.0 if form == "intrusion" else left, "capacity", findings)


def _found(low: float | None, high: float | None, of: str | None, findings: list[str]) -> CapacityLeft:
    return {"low_pct": low, "high_pct": high, "of": of, "findings": findings}


def _share(form: str, size: float, clean: Bore, gradient: float, wall: Resistance) -> float:
    narrowed = _narrowed(form, size, clean)
    if narrowed is None:
        return 0.0
    before = full_flow(clean, gradient, wall)["discharge_m3_s"]
    try:
        after = full_flow(narrowed, gradient, wall)["discharge_m3_s"]
    except SurveyError:  # too small a gap for the law: nothing to speak of runs through it
        return 0.0
    return min(100.0, 100 * after / before)


def _narrowed(form: str, size: float, clean: Bore) -> Bore | None:
    """The bore with the narrowing in it; None where nothing is left."""
    if form == "deformation":
        return deformed_circle(clean.height_m, min(size, MAX_DEFORMED_PCT))
    if form == "step":
        share = size / 1000 / clean.height_m
        if share >= 1:
            return None
        if clean.kind != "circular":
            return replace(clean, deposit_m=clean.height_m * share)
        return _smaller(clean, 100 * (1 - (2 / math.pi) * _overlap(share)))
    if size >= 100:
        return None
    if form in ("deposit_depth", "intrusion"):
        return replace(clean, deposit_m=clean.height_m * size / 100)
    if form == "raised_invert":
        return replace(clean, deposit_m=deposit_depth_from_area(clean, min(size, 99.999999)))
    return _smaller(clean, size)


def _overlap(share: float) -> float:
    """Half the overlap of two circles of radius 1 whose centres stand off by twice ``share``."""
    return math.acos(share) - share * math.sqrt(1 - share * share)


def _smaller(clean: Bore, lost_pct: float) -> Bore | None:
    scale = math.sqrt(max(0.0, 1 - lost_pct / 100))
    if clean.height_m * scale < 0.01:
        return None
    width = None if clean.width_m is None else clean.width_m * scale
    return Bore(clean.kind, clean.height_m * scale, width)


def _by_area(form: str, size: float, kind: str | None) -> CapacityLeft:
    """Without a size of the pipe: the share of its area, where the shape or the record gives it."""
    if form in BY_AREA:
        left = max(0.0, 100 - size)
        return _found(left, left, "area", ["size_not_known", "rests_on_area"])
    if form == "step" or kind not in SCALE_FREE:
        return _found(None, None, None, ["size_not_known" if kind in SCALE_FREE else "shape_not_known"])
    if form == "deformation" and kind != "circular":
        return _found(None, None, None, ["only_round_pipes"])
    findings = ["size_not_known", "rests_on_area"]
    if form == "deformation":
        squeezed = min(size, MAX_DEFORMED_PCT) / 100
        left = 100 * (1 - squeezed * squeezed)
        beyond = size > MAX_DEFORMED_PCT
        return _found(0.0 if beyond else left, left, "area", findings + (["beyond_half"] if beyond else []))
    one = Bore(kind, 1.0, 1.0 if kind == "rectangular" else None)
    left = 0.0
    if size < 100:
        left = 100 - area_lost_to_deposit(replace(one, deposit_m=size / 100))["area_lost_pct"]
    if form == "intrusion":
        return _found(left, 100.0, "area", [*findings, "width_of_it_not_known"])
    return _found(left, left, "area", findings)
