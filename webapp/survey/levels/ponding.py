"""Backfalls and sags: where water stands when no flow comes.

The invert is taken straight between stations. Water flowing one way stands up to the highest invert
downstream of it; where the direction is not known, up to the lower of the crests on either side.
A length of unknown rise counts with the least that its reading allows: then depths are "at least".
"""

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..section.bore import Bore
from ..section.shape import NODES, WEIGHTS, areas_and_widths
from .falls import rise_between
from .levels import LevelProfile
from .values import rise_value

SAME_M = 1e-9  # inverts nearer than this are level with one another
PANELS = 8
SURE = 2.0  # standard deviations


@dataclass(frozen=True)
class Sag:
    """Standing water from ``from_m`` to ``to_m`` [m], lowest at ``low_m``, spilling at ``spill_m``.

    ``depth_m`` with ``sd_m``, ``length_m``, ``volume_m3`` and ``surface_m`` (level of the water). ``sure``:
    deeper than two standard deviations. ``open_end``: goes on beyond the run. ``at_least``: rests on
    an unknown rise, no standard deviation. ``fills``: reaches the top of the bore.
    """

    from_m: float
    to_m: float
    low_m: float
    spill_m: float
    depth_m: float
    sd_m: float | None
    length_m: float
    volume_m3: float | None
    surface_m: float
    sure: bool
    open_end: bool
    at_least: bool
    fills: bool


@dataclass(frozen=True)
class Backfall:
    """A length that rises in the direction of flow, chainages [m] upstream and downstream."""

    from_m: float
    to_m: float
    rise_m: float
    sd_m: float | None
    sure: bool
    at_least: bool


@dataclass(frozen=True)
class Ponding:
    """Chainages and levels [m] used, the sags by chainage and the backfalls by chainage."""

    chainage_m: list[float]
    level_m: list[float]
    sags: list[Sag]
    backfalls: list[Backfall]


def standing_water(profile: LevelProfile, flow: str, bore: Bore | None = None) -> Ponding:
    """Return the sags and backfalls of a run.

    Parameters
    ----------
    flow : str
        ``with_flow`` (water runs in the direction of survey), ``against_flow`` or ``unknown``;
        with ``unknown`` only what stands either way is given, and no backfalls.
    bore : Bore, optional
        For the volumes; without it they are None.

    Returns
    -------
    Ponding
        Depths and lengths [m], volumes [m3].

    Raises
    ------
    SurveyError
        ``flow_unknown_word``; otherwise as ``flow_section``.

    References
    ----------
    Water stands level behind the highest point over which it must spill; volume by Gauss-Legendre
    quadrature of the section, any numerical analysis text.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 30.0)
    >>> readings = [LevelReading(0.0, -1.0), LevelReading(10.0, 0.5), LevelReading(20.0, -1.0)]
    >>> sag = standing_water(level_profile(readings, [], setup), "with_flow").sags[0]
    >>> round(sag.depth_m, 4), round(sag.from_m, 2), sag.spill_m
    (0.0873, 5.0, 20.0)
    """
    if flow not in ("with_flow", "against_flow", "unknown"):
        raise SurveyError("flow_unknown_word", "flow")
    levels, open_lengths = _chain(profile)
    surfaces = _surfaces(levels, flow)
    places = [s.chainage_m for s in profile.stations]
    sags = []
    k = 0
    while k < len(levels):
        last = k
        while last < len(levels) and levels[last] < surfaces[last] - SAME_M:
            last += 1
        if last > k:
            sags.append(_sag(profile, (levels, open_lengths), (k, last - 1), flow, surfaces[k], bore))
        k = last + 1 if last == k else last
    backfalls = [] if flow == "unknown" else _backfalls(profile, levels, open_lengths, flow)
    return Ponding(places, levels, sags, backfalls)


def _chain(profile: LevelProfile) -> tuple[list[float], list[bool]]:
    """Levels added up from length to length, and which lengths have an unknown rise."""
    if not profile.gaps:  # differences of levels are the rises
        settled = [s.level_m for s in profile.stations if s.level_m is not None]
        return settled, [False] * (len(settled) - 1)
    first = profile.stations[0].level_m
    levels = [0.0 if first is None else first]
    unknown = []
    for k in range(len(profile.stations) - 1):
        value = rise_value(profile.solution, k, k + 1)
        rise = value.value_m
        if rise is None:
            low = 0.0 if value.low_m is None else value.low_m
            high = 0.0 if value.high_m is None else value.high_m
            rise = low if low > 0 else high if high < 0 else 0.0
        unknown.append(not value.settled)
        levels.append(levels[-1] + rise)
    return levels, unknown


def _surfaces(levels: Sequence[float], flow: str) -> list[float]:
    """Up to where water would stand at each station; the invert itself where it would not."""
    ahead, behind = list(levels), list(levels)
    for k in range(len(levels) - 2, -1, -1):
        ahead[k] = ahead[k + 1] if ahead[k + 1] > ahead[k] else ahead[k]
    for k in range(1, len(levels)):
        behind[k] = behind[k - 1] if behind[k - 1] > behind[k] else behind[k]
    if flow == "with_flow":
        return ahead
    if flow == "against_flow":
        return behind
    return [a if a < b else b for a, b in zip(ahead, behind, strict=True)]


def _sag(
    profile: LevelProfile, chain: tuple[Sequence[float], Sequence[bool]], run: tuple[int, int], flow: str,
    surface: float, bore: Bore | None,
) -> Sag:  # fmt: skip
    (levels, unknown), (first, last) = chain, run
    stations = profile.stations
    low = first
    for k in range(first, last + 1):
        if levels[k] < levels[low] - SAME_M:
            low = k
    spill = last + 1
    if flow == "against_flow" or (flow == "unknown" and levels[first - 1] < levels[last + 1] - SAME_M):
        spill = first - 1
    points = [(stations[k].chainage_m, surface - levels[k]) for k in range(first, last + 1)]
    if first > 0:
        points.insert(0, (_meets(profile, levels, first, first - 1, surface), 0.0))
    if last + 1 < len(levels):
        points.append((_meets(profile, levels, last, last + 1, surface), 0.0))
    depth = surface - levels[low]
    left, right = (low, spill) if low < spill else (spill, low)
    at_least = any(unknown[left:right])
    sd = None if at_least else rise_between(profile.solution, low, spill)[1]
    volume = None if bore is None else _volume(points, bore)
    open_end = first == 0 if flow == "with_flow" else last + 1 == len(levels)
    return Sag(
        points[0][0], points[-1][0], stations[low].chainage_m, stations[spill].chainage_m, depth, sd,
        points[-1][0] - points[0][0], volume, surface, sd is not None and depth > SURE * sd,
        open_end and flow != "unknown", at_least, bore is not None and depth >= bore.height_m,
    )  # fmt: skip


def _meets(profile: LevelProfile, levels: Sequence[float], wet: int, dry: int, surface: float) -> float:
    """Chainage where the water's edge lies between a wet station and its dry neighbour."""
    share = (surface - levels[wet]) / (levels[dry] - levels[wet])
    share = 1.0 if share > 1 else share
    from_m, to_m = profile.stations[wet].chainage_m, profile.stations[dry].chainage_m
    return from_m + share * (to_m - from_m)


def _volume(points: Sequence[tuple[float, float]], bore: Bore) -> float:
    total, bottom, height = 0.0, bore.deposit_m, bore.height_m
    at = areas_and_widths(bore)
    for k in range(len(points) - 1):
        (from_m, first), (to_m, last) = points[k], points[k + 1]
        for panel in range(PANELS):
            for node, weight in zip(NODES, WEIGHTS, strict=True):
                share = (panel + (node + 1) / 2) / PANELS
                depth = first + share * (last - first)
                area = 0.0 if depth <= bottom else at(depth if depth < height else height)[0]
                total += weight / 2 / PANELS * (to_m - from_m) * area
    return total


def _backfalls(
    profile: LevelProfile, levels: Sequence[float], unknown: Sequence[bool], flow: str
) -> list[Backfall]:
    way = 1.0 if flow == "with_flow" else -1.0
    found = []
    k = 0
    while k < len(unknown):
        last = k
        while last < len(unknown) and way * (levels[last + 1] - levels[last]) > SAME_M:
            last += 1
        if last > k:
            at_least = any(unknown[k:last])
            up, down = (k, last) if way > 0 else (last, k)
            rise = levels[down] - levels[up]
            sd = None if at_least else rise_between(profile.solution, up, down)[1]
            places = (profile.stations[up].chainage_m, profile.stations[down].chainage_m)
            found.append(Backfall(*places, rise, sd, sd is not None and rise > SURE * sd, at_least))
        k = last + 1 if last == k else last
    return found
