"""What each stretch of a run can carry and what chokes it, from the records and the levels."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..errors import SurveyError
from ..instruments.counter import chainage_m
from ..instruments.instruments import Instruments
from ..levels.levels import LevelProfile
from ..levels.values import rise_value
from ..records import ObservationRecord, RunFields, StretchFields, StretchRecord
from ..section.bore import Bore, BoreSizes
from ..section.deform import deformed_circle
from ..table_types.pipe import Roughness
from .capacity import Stretch, bottleneck, capacity
from .resistance import Resistance
from .types import CapacityRow, PlainCapacity, RunBottleneck

SIGMAS_95 = 1.96
KINDS = ("circular", "egg", "rectangular", "oval", "arch", "u_shape")
NEED_WIDTH = ("rectangular", "oval", "arch", "u_shape")
DEPOSIT, OUT_OF_SHAPE = "BBC", "BAA"
ROUGHNESS_MM = 1.5  # assumed where the material says nothing: usual for the design of foul drains


def run_capacity(
    run: RunFields,
    stretches: Sequence[StretchRecord],
    observations: Sequence[ObservationRecord],
    roughness_rows: Sequence[Roughness],
    profile: LevelProfile | None,
    instruments: Instruments,
) -> PlainCapacity:
    """Return capacity and bottleneck of a run.

    Returns
    -------
    dict
        ``flow`` (with_flow, against_flow) and ``flow_known``; ``rows``, one per stretch: ``id``, ``from_m``,
        ``to_m`` [m], ``bore`` [m], ``size_known``, ``roughness_mm`` [mm], ``roughness_known``,
        ``roughness_value``, ``deposit_id``, ``deposit_pct`` [%], ``deformation_id``, ``deformation_pct`` [%],
        ``gradient_low``, ``gradient``, ``gradient_high`` [m/m along the pipe, positive with the flow],
        ``gradient_known``, ``capacity`` [m3/s] as ``capacity``, ``left_out`` (None, or
        ``stretch_without_ends``, ``shape_not_known``, ``size_not_known``, ``width_not_known``,
        ``bore_blocked``, or a code of ``capacity``);
        ``bottleneck``: as ``bottleneck``, its places those of ``rows``, or None.

    Raises
    ------
    SurveyError
        As ``rise_value``. What a stretch cannot be computed with stands in its ``left_out``.

    Examples
    --------
    >>> from webapp.survey.instruments.instruments import instruments_of
    >>> run_capacity({}, [], [], [], None, instruments_of([], "r"))["bottleneck"] is None
    True
    """
    flow, flow_known = _flow(run, profile)
    ground = _Ground(roughness_rows, profile, instruments, run.get("counter_zero_m") or 0.0, flow)
    rows: list[CapacityRow] = []
    usable: list[Stretch] = []
    places: list[int] = []
    for item in stretches:
        row, stretch = _row(item, observations, ground)
        if stretch is not None:
            try:
                row["capacity"] = capacity(stretch)
                usable.append(stretch)
                places.append(len(rows))
            except SurveyError as error:
                row["left_out"] = error.code
        rows.append(row)
    least = _bottleneck(usable, places) if usable else None
    return {"flow": flow, "flow_known": flow_known, "rows": rows, "bottleneck": least}


def _bottleneck(usable: Sequence[Stretch], places: Sequence[int]) -> RunBottleneck:
    """The bottleneck of the stretches with a bore, by their places among all rows."""
    found = bottleneck(usable)
    return {
        "index": None if found["index"] is None else places[found["index"]],
        "reasons": found["reasons"],
        "rivals": [places[i] for i in found["rivals"]],
        "no_number": [places[i] for i in found["no_number"]],
    }


def _flow(run: RunFields, profile: LevelProfile | None) -> tuple[str, str]:
    """Which way the water runs: as recorded, or else the way the levels fall."""
    direction = run.get("direction")
    if direction in ("with_flow", "against_flow"):
        return str(direction), "measured"
    if profile is None or len(profile.stations) < 2:
        return "with_flow", "assumed"
    first, last = profile.stations[0], profile.stations[-1]
    start = first.low_m if first.level_m is None else first.level_m
    end = last.low_m if last.level_m is None else last.level_m
    rises = start is not None and end is not None and end > start
    return ("against_flow" if rises else "with_flow"), "assumed"


@dataclass(frozen=True)
class _Ground:
    """What all rows of a run share; ``zero_m``: what the counter showed at the start."""

    roughness_rows: Sequence[Roughness]
    profile: LevelProfile | None
    instruments: Instruments
    zero_m: float
    flow: str


def _row(
    item: StretchRecord, observations: Sequence[ObservationRecord], ground: _Ground
) -> tuple[CapacityRow, Stretch | None]:
    fields = item["fields"]
    row: CapacityRow = {
        "id": item["id"], "from_m": None, "to_m": None, "bore": None,
        "size_known": fields.get("size_known") or "unknown",
        "roughness_mm": None, "roughness_known": "assumed",
        "roughness_value": "", "deposit_id": None, "deposit_pct": None, "deformation_id": None,
        "deformation_pct": None, "gradient_low": None, "gradient": None, "gradient_high": None,
        "gradient_known": "unknown", "capacity": None, "left_out": None,
    }  # fmt: skip
    from_m, to_m = fields.get("from_counter_m"), fields.get("to_counter_m")
    if from_m is None or to_m is None or to_m <= from_m:
        row["left_out"] = "stretch_without_ends"
        return row, None
    scale = ground.instruments.scale
    from_chainage_m, to_chainage_m = (chainage_m(m, ground.zero_m, scale) for m in (from_m, to_m))
    row["from_m"], row["to_m"] = from_chainage_m, to_chainage_m
    roughness_mm = row["roughness_mm"] = _roughness(row, fields, ground.roughness_rows)
    if ground.profile is not None:
        _gradient(row, ground.profile, (from_chainage_m, to_chainage_m), ground.flow)
    inside = [o for o in observations if _within(o, from_m, to_m)]
    try:
        original, bore = _bores(row, fields, inside)
    except SurveyError as error:
        row["left_out"] = error.code
        return row, None
    row["bore"] = _sizes(bore)
    resistance = Resistance("colebrook_white", roughness_mm / 1000)
    return row, Stretch(
        bore,
        resistance,
        row["gradient_low"],
        row["gradient"],
        row["gradient_high"],
        row["gradient_known"],
        original,
    )


def _within(observation: ObservationRecord, from_m: float, to_m: float) -> bool:
    counter_m = observation["fields"].get("counter_m")
    return counter_m is not None and from_m <= counter_m <= to_m


def _sizes(bore: Bore) -> BoreSizes:
    return {
        "kind": bore.kind, "height_m": bore.height_m, "width_m": bore.width_m, "deposit_m": bore.deposit_m,
    }  # fmt: skip


def _roughness(row: CapacityRow, fields: StretchFields, rows: Sequence[Roughness]) -> float:
    """As recorded, or else the first row of the table for the material."""
    typed_mm = fields.get("roughness_mm")
    if typed_mm is not None:
        return typed_mm
    for one in rows:
        if fields.get("material") in one["materials"] and one["k_s_mm"] is not None:
            row["roughness_value"] = one["value"]
            return one["k_s_mm"]
    return ROUGHNESS_MM


def _bores(row: CapacityRow, fields: StretchFields, inside: Sequence[ObservationRecord]) -> tuple[Bore, Bore]:
    """The bore as laid, and as it is with what lies in it and how it has deformed."""
    kind, height_mm, width_mm = fields.get("shape"), fields.get("height_mm"), fields.get("width_mm")
    if kind not in KINDS:
        raise SurveyError("shape_not_known", "shape")
    if height_mm is None:
        raise SurveyError("size_not_known", "height_mm")
    if width_mm is None and kind in NEED_WIDTH:
        raise SurveyError("width_not_known", "width_mm")
    original = Bore(kind, height_mm / 1000, None if width_mm is None else width_mm / 1000)
    bore = original
    squashed, squashed_pct = _worst(inside, OUT_OF_SHAPE)
    if squashed is not None and kind == "circular":
        sideways = squashed["fields"].get("characterisation_1") == "B"
        bore = deformed_circle(original.height_m, -squashed_pct if sideways else squashed_pct)
        row["deformation_id"], row["deformation_pct"] = squashed["id"], squashed_pct
    deposit, deposit_pct = _worst(inside, DEPOSIT)
    if deposit is not None:
        if deposit_pct >= 100:
            raise SurveyError("bore_blocked", "deposit_pct")
        bore = replace(bore, deposit_m=bore.height_m * deposit_pct / 100)
        row["deposit_id"], row["deposit_pct"] = deposit["id"], deposit_pct
    return original, bore


def _worst(observations: Sequence[ObservationRecord], code: str) -> tuple[ObservationRecord | None, float]:
    worst: ObservationRecord | None = None
    most = 0.0
    for one in observations:
        size = one["fields"].get("quantification_1")
        if one["fields"].get("code") == code and size is not None and size > most:
            worst, most = one, size
    return worst, most


def _gradient(row: CapacityRow, profile: LevelProfile, ends_m: tuple[float, float], flow: str) -> None:
    """Fall over length between the stations nearest to the ends of the stretch."""
    places = [s.chainage_m for s in profile.stations]
    left, right = (_nearest(places, end) for end in ends_m)
    if right <= left:
        return
    length = places[right] - places[left]
    rise = rise_value(profile.solution, left, right)
    ends = [rise.low_m, rise.value_m, rise.high_m]
    if rise.settled and rise.value_m is not None:
        spread = SIGMAS_95 * (rise.sd_m or 0.0)
        ends = [rise.value_m - spread, rise.value_m, rise.value_m + spread]
    if flow == "with_flow":
        ends = [None if m is None else -m for m in reversed(ends)]
    band = [None if m is None else max(-1.0, min(1.0, m / length)) for m in ends]
    row["gradient_low"], row["gradient"], row["gradient_high"] = band
    row["gradient_known"] = "computed" if rise.settled else "bounded"
    if any(s.known == "assumed" for s in profile.stations[left + 1 : right + 1]) and rise.settled:
        row["gradient_known"] = "assumed"


def _nearest(places: Sequence[float], wanted: float) -> int:
    best = 0
    for k, place in enumerate(places):
        if abs(place - wanted) < abs(places[best] - wanted):
            best = k
    return best
