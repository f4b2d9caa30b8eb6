"""Standing water of a run from its records: volumes by stretch, and the water levels that were seen."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TypedDict, cast

from ..errors import SurveyError
from ..instruments.counter import chainage_m
from ..instruments.instruments import Instruments
from ..records import ObservationRecord, RunFields
from ..section.bore import Bore, BoreSizes
from .levels import LevelProfile
from .ponding import Ponding, Sag, standing_water
from .water_check import compare_water

WATER = "BDD"
SEEN_SD_PCT = 5.0  # assumed: how well a water level is judged on a picture, as a share of the height


class BoredLength(TypedDict):
    """A length of pipe by its chainages, with its bore where that is known: a row of ``run_capacity``."""

    from_m: float | None
    to_m: float | None
    bore: BoreSizes | None


class PlainSag(TypedDict):
    """The fields of ``Sag``, as JSON holds them."""

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


class PlainBackfall(TypedDict):
    """The fields of ``Backfall``, as JSON holds them."""

    from_m: float
    to_m: float
    rise_m: float
    sd_m: float | None
    sure: bool
    at_least: bool


class SeenWater(TypedDict):
    """The fields of ``WaterCheck``, of the observation ``id``; ``flow_depth_m``: the running water [m]."""

    id: str
    flow_depth_m: float
    chainage_m: float
    computed_m: float
    observed_m: float
    difference_m: float
    sd_m: float
    verdict: str


class RunWater(TypedDict):
    """Standing water of a run, and how the water seen fits it; ``flow``: with_flow, against_flow, unknown."""

    flow: str
    sags: list[PlainSag]
    backfalls: list[PlainBackfall]
    checks: list[SeenWater]


def run_water(
    run: RunFields,
    observations: Sequence[ObservationRecord],
    profile: LevelProfile,
    rows: Sequence[BoredLength],
    instruments: Instruments,
) -> RunWater:
    """Return sags and backfalls of a run, and how the water seen fits them.

    Returns
    -------
    dict
        ``flow``: with_flow, against_flow or unknown; ``sags`` and ``backfalls`` as ``standing_water`` gives
        them [m, m3], volumes with the bore of the stretch where a sag is deepest, clean of deposits, None
        where that bore is not known; ``checks``: as ``compare_water`` [m] with ``id`` of the observation
        and ``flow_depth_m`` [m], the running water, taken as the least share of the bore seen outside
        the sags.

    Raises
    ------
    SurveyError
        As ``standing_water`` without a bore.

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup
    >>> from .levels import level_profile
    >>> from ..instruments.instruments import instruments_of
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 30.0)
    >>> readings = [LevelReading(0.0, -1.0), LevelReading(10.0, 0.5), LevelReading(20.0, -1.0)]
    >>> profile = level_profile(readings, [], setup)
    >>> found = run_water({"direction": "with_flow"}, [], profile, [], instruments_of([], "r"))
    >>> len(found["sags"]), found["sags"][0]["volume_m3"], found["checks"]
    (1, None, [])
    """
    flow = run.get("direction")
    if flow not in ("with_flow", "against_flow"):
        flow = "unknown"
    found = standing_water(profile, flow)
    by_bore: dict[Bore, Sequence[Sag]] = {}  # all sags at once for each bore, however many lie in it
    sags = []
    for k, sag in enumerate(found.sags):
        sizes = _bore_at(rows, sag.low_m)
        clean = None if sizes is None else _clean(sizes)
        if clean is not None and clean not in by_bore:
            by_bore[clean] = _sags_in(profile, flow, clean, found.sags)
        sags.append(sag if clean is None else by_bore[clean][k])
    zero_m = run.get("counter_zero_m") or 0.0
    ponding = Ponding(found.chainage_m, found.level_m, sags, found.backfalls)
    return {
        "flow": flow,
        "sags": [cast(PlainSag, asdict(s)) for s in sags],
        "backfalls": [cast(PlainBackfall, asdict(b)) for b in found.backfalls],
        "checks": _checks(ponding, observations, rows, zero_m, instruments.scale),
    }


def _bore_at(rows: Sequence[BoredLength], place_m: float) -> BoreSizes | None:
    for row in rows:
        from_m, to_m = row["from_m"], row["to_m"]
        if from_m is not None and to_m is not None and row["bore"] and from_m <= place_m <= to_m:
            return row["bore"]
    return None


def _clean(bore: BoreSizes) -> Bore | None:
    """The bore without its deposit; None where there is no such bore."""
    try:
        return replace(Bore(**bore), deposit_m=0.0)
    except SurveyError:
        return None


def _sags_in(profile: LevelProfile, flow: str, bore: Bore, without: Sequence[Sag]) -> Sequence[Sag]:
    """The sags with their volumes in a bore; as they were where it has none."""
    try:
        return standing_water(profile, flow, bore).sags
    except SurveyError:
        return without


def _checks(
    ponding: Ponding,
    observations: Sequence[ObservationRecord],
    rows: Sequence[BoredLength],
    zero_m: float,
    scale: float,
) -> list[SeenWater]:
    seen = []
    least: float | None = None
    for item in observations:
        fields = item["fields"]
        counter_m, percent = fields.get("counter_m"), fields.get("quantification_1")
        if fields.get("code") != WATER or counter_m is None or percent is None or not 0 <= percent <= 100:
            continue
        place = chainage_m(counter_m, zero_m, scale)
        bore = _bore_at(rows, place)
        if bore is not None:
            seen.append((item["id"], place, percent, bore["height_m"]))
            inside = any(s.from_m <= place <= s.to_m for s in ponding.sags)
            if not inside and (least is None or percent < least):
                least = percent
    found: list[SeenWater] = []
    for identity, place, percent, height_m in seen:
        flow_m = 0.0 if least is None else least / 100 * height_m
        check = compare_water(ponding, [place], [percent], height_m, SEEN_SD_PCT, flow_m)[0]
        found.append(cast(SeenWater, {"id": identity, "flow_depth_m": flow_m, **asdict(check)}))
    return found
