"""Capacity of the stretches of a run with the fall's uncertainty, and the bottleneck of the run.

Capacity is the full-bore discharge of uniform flow. Gradients are falls per length along the pipe,
positive in the direction of flow.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..section.bore import Bore
from .open_flow import full_flow
from .resistance import Resistance
from .types import Capacity, Reason

KNOWN = ("measured", "computed", "bounded", "assumed", "unknown")
LEVEL = 1e-6  # m/m: flatter than 1 in 1,000,000 is level
MATTERS = 1.02  # a cause is named when without it the stretch would carry at least 2 % more


@dataclass(frozen=True)
class Stretch:
    """A stretch for its capacity.

    ``bore`` as it is, deposit and deformation included; ``original`` as it was laid, if known;
    ``gradient_low``, ``gradient``, ``gradient_high`` [m/m]: the band of its fall, None where open;
    ``gradient_known``: how the fall is known.
    """

    bore: Bore
    resistance: Resistance
    gradient_low: float | None = None
    gradient: float | None = None
    gradient_high: float | None = None
    gradient_known: str = "computed"
    original: Bore | None = None


class Bottleneck(TypedDict):
    """The stretch that carries least: its index, why, and which others carry as little or have no number."""

    capacities: list[Capacity]
    index: int | None
    reasons: list[Reason]
    rivals: list[int]
    no_number: list[int]


def capacity(stretch: Stretch) -> Capacity:
    """Return what a stretch carries full, between two bounds, and how that is known.

    Returns
    -------
    dict
        ``low_m3_s``, ``mean_m3_s``, ``high_m3_s`` [m3/s] (None: no number), ``known`` and ``findings``:
        ``gradient_unknown``, ``gradient_adverse``, ``gradient_level``, ``gradient_may_be_adverse``,
        ``flow_not_turbulent``, ``roughness_large``, ``bed_taken_as_rough_as_wall`` (with a deposit).

    Raises
    ------
    SurveyError
        ``gradient_out_of_range`` beyond -1 to 1; ``band_out_of_order`` unless low, mean and high follow one
        another; ``known_unknown`` for another word; otherwise as ``open_flow.flow_at_depth``.

    Examples
    --------
    >>> rough = Resistance("colebrook_white", roughness_m=0.0015)
    >>> found = capacity(Stretch(Bore("circular", 0.15), rough, -0.002, 0.005, 0.012))
    >>> found["low_m3_s"], round(1000 * found["mean_m3_s"], 1), found["findings"]
    (None, 10.9, ['gradient_may_be_adverse'])
    """
    band = _band(stretch)
    provenance = stretch.gradient_known
    if provenance not in KNOWN:
        raise SurveyError("known_unknown", "gradient_known")
    numbers, findings = _band_findings(band)
    flows: list[float | None] = []
    for gradient, wanted in zip(band, numbers, strict=True):
        if gradient is None or not wanted:
            flows.append(None)
            continue
        flow = full_flow(stretch.bore, gradient, stretch.resistance)
        flows.append(flow["discharge_m3_s"])
        findings += [code for code in flow["findings"] if code not in findings]
    if provenance in ("measured", "computed"):
        provenance = "computed" if band[1] is not None else "bounded"
    if all(flow is None for flow in flows):
        full_flow(stretch.bore, 1.0, stretch.resistance)  # refuses what cannot be even without a number
        provenance = "unknown"
    if stretch.bore.deposit_m > 0:
        findings.append("bed_taken_as_rough_as_wall")
    return {
        "low_m3_s": flows[0],
        "mean_m3_s": flows[1],
        "high_m3_s": flows[2],
        "known": provenance,
        "findings": findings,
    }


def bottleneck(stretches: Sequence[Stretch]) -> Bottleneck:
    """Return the stretch of a run that carries least, and what makes it so.

    Parameters
    ----------
    stretches : sequence of Stretch, length n >= 1
        In the order of the run [m, m/m].

    Returns
    -------
    dict
        ``capacities``: one per stretch, as ``capacity`` [m3/s]; ``index`` of the bottleneck (None when no
        stretch has a number); ``reasons``: list of ``code`` (``deposit``, ``deformation``, ``fall``,
        ``bore``, ``roughness``) with ``without_m3_s``: what the stretch would carry clean, as laid, or with
        the greatest fall, the largest bore, the smoothest wall of the run [m3/s], most first; ``rivals``:
        stretches whose band reaches down to the bottleneck's; ``no_number``: stretches without one, any of
        which may carry less.

    Raises
    ------
    SurveyError
        ``no_stretches`` for an empty run; otherwise as ``capacity``.

    Examples
    --------
    >>> rough = Resistance("colebrook_white", roughness_m=0.0015)
    >>> run = [Stretch(Bore("circular", d), rough, 0.01, 0.01, 0.01) for d in (0.3, 0.15)]
    >>> bottleneck(run)["index"], [r["code"] for r in bottleneck(run)["reasons"]]
    (1, ['bore'])
    """
    if not stretches:
        raise SurveyError("no_stretches", "stretches")
    found = [capacity(stretch) for stretch in stretches]
    no_number = [i for i, one in enumerate(found) if _weight(one) is None]
    counted = [(weight, i) for i, one in enumerate(found) if (weight := _weight(one)) is not None]
    result: Bottleneck = {
        "capacities": found,
        "index": None,
        "reasons": [],
        "rivals": [],
        "no_number": no_number,
    }
    if not counted:
        return result
    _, index = min(counted)
    result["index"] = index
    top = _top(found[index])
    for _, i in counted:
        low = found[i]["low_m3_s"]
        if i != index and (low is None or low <= top):
            result["rivals"].append(i)
    result["reasons"] = _reasons(stretches, index)
    return result


def _band(stretch: Stretch) -> list[float | None]:
    band = [stretch.gradient_low, stretch.gradient, stretch.gradient_high]
    last = -1.0
    for value, field in zip(band, ("gradient_low", "gradient", "gradient_high"), strict=True):
        if value is None:
            continue
        number_between(value, -1.0, 1.0, field, "gradient_out_of_range")
        if value < last:
            raise SurveyError("band_out_of_order", field)
        last = value
    return band


def _band_findings(band: list[float | None]) -> tuple[list[bool], list[str]]:
    """Which of the three gradients give a number, and what is to be said."""
    low, mean, high = band
    numbers = [value is not None and value >= LEVEL for value in band]
    if low is None and mean is None and high is None:
        return numbers, ["gradient_unknown"]
    best = mean if mean is not None else high if high is not None else low
    if best is not None and best < LEVEL:
        return numbers, ["gradient_level" if best > -LEVEL else "gradient_adverse"]
    if low is not None and not numbers[0]:
        return numbers, ["gradient_may_be_adverse"]
    return numbers, []


def _weight(one: Capacity) -> float | None:
    value = one["mean_m3_s"]
    return value if value is not None else one["low_m3_s"]


def _top(one: Capacity) -> float:
    return max(q for q in (one["low_m3_s"], one["mean_m3_s"], one["high_m3_s"]) if q is not None)


def _reasons(stretches: Sequence[Stretch], index: int) -> list[Reason]:
    """What the choke would carry without each of its causes."""
    here = stretches[index]
    gradient = here.gradient if here.gradient is not None else here.gradient_low
    assert gradient is not None
    now = _carries(here.bore, gradient, here.resistance)
    assert now is not None
    falls = [s.gradient for s in stretches if s.gradient is not None]
    trials: list[tuple[str, float | None]] = []
    if here.bore.deposit_m > 0:
        trials.append(("deposit", _carries(replace(here.bore, deposit_m=0.0), gradient, here.resistance)))
    if here.original is not None:
        laid = replace(here.original, deposit_m=here.bore.deposit_m)
        trials.append(("deformation", _carries(laid, gradient, here.resistance)))
    trials.append(("fall", _carries(here.bore, max([gradient, *falls]), here.resistance)))
    bores = [
        _carries(s.original or replace(s.bore, deposit_m=0.0), gradient, here.resistance) for s in stretches
    ]
    clean = _carries(here.original or replace(here.bore, deposit_m=0.0), gradient, here.resistance)
    largest = max((b for b in bores if b is not None), default=None)
    if largest is not None and clean is not None and largest > clean * MATTERS:
        trials.append(("bore", largest))
    walls = [_carries(here.bore, gradient, s.resistance) for s in stretches]
    trials.append(("roughness", max((w for w in walls if w is not None), default=None)))
    named: list[Reason] = [
        {"code": c, "without_m3_s": q} for c, q in trials if q is not None and q > now * MATTERS
    ]
    return sorted(named, key=lambda one: -one["without_m3_s"])


def _carries(bore: Bore, gradient: float, resistance: Resistance) -> float | None:
    """Full-bore flow of a what-if; None where the law or the shape has none."""
    try:
        return full_flow(bore, gradient, resistance)["discharge_m3_s"]
    except SurveyError:
        return None
