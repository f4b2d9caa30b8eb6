"""Whether the computed standing water fits the water seen."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..numbers.finite import finite, spread
from .ponding import SAME_M, SURE, Ponding


@dataclass(frozen=True)
class WaterCheck:
    """Computed standing water against the water seen [m]: ``agrees``, ``deeper`` or ``shallower`` seen.

    Beyond two standard deviations of the difference; a depth "at least" is never ``deeper`` seen.
    """

    chainage_m: float
    computed_m: float
    observed_m: float
    difference_m: float
    sd_m: float
    verdict: str


def compare_water(
    ponding: Ponding,
    chainages_m: Sequence[float],
    percents: Sequence[float],
    height_m: float,
    sd_percent: float,
    flow_depth_m: float,
) -> list[WaterCheck]:
    """Compare the computed standing water with water levels seen.

    Parameters
    ----------
    chainages_m : sequence of float, length n
        Where water was seen [m].
    percents : sequence of float, length n
        Its depth [% of the height of the bore].
    height_m : float
        Height of the bore [m].
    sd_percent : float
        Standard deviation of a depth seen [% of the height].
    flow_depth_m : float
        Depth of the flow in the pipe at the time [m], taken off each depth seen.

    Returns
    -------
    list of WaterCheck, length n
        Depths [m].

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``sd_negative``; ``length_not_positive`` for the height;
        ``percent_out_of_range`` with the index; ``lengths_differ``.

    References
    ----------
    Subtract the flow already in the pipe: Rorinspeksjon Norge on Norsk Vann report 234.

    Examples
    --------
    >>> compare_water(Ponding([0.0, 9.0], [1.0, 0.9], [], []), [4.0], [20.0], 0.3, 5.0, 0.0)[0].verdict
    'deeper'
    """
    if not finite(height_m, "height_m") > 0:
        raise SurveyError("length_not_positive", "height_m")
    spread(sd_percent, "sd_percent")
    finite(flow_depth_m, "flow_depth_m")
    if len(chainages_m) != len(percents):
        raise SurveyError("lengths_differ", "percents")
    checks = []
    for index, (place, percent) in enumerate(zip(chainages_m, percents, strict=True)):
        finite(place, "chainages_m", index)
        if not 0 <= finite(percent, "percents", index) <= 100:
            raise SurveyError("percent_out_of_range", "percents", index)
        seen = percent / 100 * height_m - flow_depth_m
        checks.append(_compare(ponding, place, seen if seen > 0 else 0.0, sd_percent / 100 * height_m))
    return checks


def _compare(ponding: Ponding, place: float, seen: float, seen_sd: float) -> WaterCheck:
    depth, sd, at_least = 0.0, 0.0, False
    for sag in ponding.sags:
        if sag.from_m <= place <= sag.to_m:
            depth = sag.surface_m - _level_at(ponding, place)
            depth = depth if depth > 0 else 0.0
            sd, at_least = 0.0 if sag.sd_m is None else sag.sd_m, sag.at_least
    both = math.sqrt(sd * sd + seen_sd * seen_sd)
    difference = seen - depth
    verdict = "agrees"
    if difference > SURE * both + SAME_M and not at_least:
        verdict = "deeper"
    elif difference < -SURE * both - SAME_M:
        verdict = "shallower"
    return WaterCheck(place, depth, seen, difference, both, verdict)


def _level_at(ponding: Ponding, place: float) -> float:
    places, levels = ponding.chainage_m, ponding.level_m
    k = bisect_left(places, place, 1) - 1
    if k + 1 >= len(places):
        return levels[-1]
    share = (place - places[k]) / (places[k + 1] - places[k])
    return levels[k] + share * (levels[k + 1] - levels[k])
