"""What a stretch and a whole run carry by their grade line, and under a level at the upper end."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from ..records import NodeRecord, RunFields
from ..section.bore import Bore
from .backwater import CarriedFull, carried_full, carried_to_level
from .capacity_band import LEVEL, SIGMAS_95
from .grade_line import Piece
from .invert_line import InvertLine, line_pieces, upper_ends_m
from .open_flow import full_flow
from .resistance import Resistance
from .types import Capacity, Cover, LimitedRow, RunCarries, Surcharge
from .waterway import Waterway, waterway

TOUCH_M = 0.05  # stretches farther apart than this leave a gap
OWN_FALL = ("gradient_level", "gradient_adverse")  # the others may carry water through it all the same


class StretchCarries(TypedDict):
    """What a clean stretch carries full; ``even_m3_s``: with an even fall; ``at_m``: where it fills first."""

    gradient: float
    even_m3_s: float
    mean_m3_s: float
    low_m3_s: float | None
    high_m3_s: float
    at_m: float | None


@dataclass(frozen=True)
class _Part:
    """A stretch that can carry: its inverts, clean bore, ends by chainage, the share that is left of it."""

    line: InvertLine
    bore: Bore
    roughness_mm: float
    share: float
    from_m: float
    to_m: float
    capacity: Capacity
    first_full_m: float | None


class CoverAtInvert(Cover):
    """A cover and the invert below it [m above datum]."""

    invert_m: float


def stretch_carries(line: InvertLine, bore: Bore, roughness_mm: float) -> StretchCarries:
    """Return what a clean stretch carries full, with what its levels alone leave open.

    Parameters
    ----------
    roughness_mm : float
        Roughness of the wall [mm].

    Returns
    -------
    dict
        ``gradient``: fall over length [m/m]; ``even_m3_s``: with that fall even; ``mean_m3_s``,
        ``low_m3_s`` (None where it may be level), ``high_m3_s`` [m3/s]; ``at_m``: chainage where the water
        reaches the crown first, None where nothing holds it up. ``mean_m3_s`` is 0 where the pipe stands
        full somewhere without any flow.

    References
    ----------
    As ``carried_full``. The 95 % ends of a tilt and of a bow of the levels, as independent errors in the
    logarithm of the flow.

    Examples
    --------
    >>> line = InvertLine([0.0, 40.0], [0.4, 0.0], [0.0, 40.0], 0.02, 0.0)
    >>> found = stretch_carries(line, Bore("circular", 0.3), 1.5)
    >>> round(found["mean_m3_s"], 4), found["at_m"]
    (0.0979, None)
    """
    length, fall = line.places_m[-1], line.levels_m[0] - line.levels_m[-1]
    gradient = min(1.0, fall / length)
    wall = Resistance("colebrook_white", roughness_mm / 1000)
    way = waterway(bore, wall)
    even = full_flow(bore, gradient, wall)["discharge_m3_s"]
    found = carried_full(line_pieces(line, way), even)
    mean = found["discharge_m3_s"]
    by_fall, by_bow = SIGMAS_95 * line.fall_sd_m, SIGMAS_95 * line.bow_sd_m
    ends = [_tilted(line, way, gradient, by) for by in (-by_fall, by_fall)]
    bows = [_bowed(line, way, even, by) for by in (-by_bow, by_bow)] if by_bow > 0 else [mean]
    down, up = math.inf, math.inf
    if mean > 0:
        down = math.hypot(_log(mean, ends[0]), _log(mean, min(bows)))
        up = math.hypot(_log(ends[1], mean), _log(max(bows), mean))
    return {
        "gradient": gradient,
        "even_m3_s": even,
        "mean_m3_s": mean,
        "low_m3_s": None if down == math.inf else mean * math.exp(-down),
        "high_m3_s": mean if up == math.inf else mean * math.exp(up),
        "at_m": None if found["piece"] is None else upper_ends_m(line)[found["piece"]],
    }


def run_carries(
    rows: Sequence[LimitedRow], lines: Sequence[InvertLine | None], flow: str, cover: CoverAtInvert | None
) -> RunCarries | None:
    """Return what a run carries, all its stretches together.

    Parameters
    ----------
    rows : sequence of mapping
        ``rows`` of ``limited_capacity``, in the order of the survey.
    lines : sequence of InvertLine or None
        Of each row, from ``invert_line``.
    flow : str
        ``with_flow`` or ``against_flow``.
    cover : mapping or None
        ``node_id``, ``level_m`` of the cover at the upper end, ``invert_m`` there [m above datum]; None where
        not known.

    Returns
    -------
    dict or None
        ``low_m3_s``, ``mean_m3_s``, ``high_m3_s`` [m3/s], never above any of the rows; ``known``;
        ``at_m``: chainage where the water reaches the crown first, None where nothing holds it up;
        ``surcharge``: None, or ``node_id``, ``level_m`` [m above datum], ``discharge_m3_s`` [m3/s] that
        lifts the water at the upper end to that level, with ``low_m3_s`` and ``high_m3_s`` in proportion.
        None where any row lacks more than a fall of its own, where a gap lies between, or where it stands
        full somewhere without any flow.

    Examples
    --------
    >>> run_carries([], [], "with_flow", None) is None
    True
    """
    parts = _in_order(rows, lines, flow)
    numbers = [(mean, k) for k, part in enumerate(parts) if (mean := part.capacity["mean_m3_s"]) is not None]
    most, k = min(numbers, default=(0.0, 0))
    if most <= 0:
        return None
    least = parts[k]
    pieces, chainages = _pieces(parts, 0.0)
    found: CarriedFull = {"discharge_m3_s": most, "piece": None}
    if len(parts) > 1:
        found = carried_full(pieces, most)
    mean = found["discharge_m3_s"]
    if mean <= 0:
        return None
    low, high = _ends(parts, mean, most, least.capacity)
    return {
        "low_m3_s": low,
        "mean_m3_s": mean,
        "high_m3_s": high,
        "known": least.capacity["known"],
        "at_m": least.first_full_m if found["piece"] is None else chainages[found["piece"]],
        "surcharge": _surcharge(pieces, cover, (low, mean, high)) if cover else None,
    }


def upper_cover(run: RunFields, nodes: Sequence[NodeRecord], flow: str) -> Cover | None:
    """Return the level of the cover at the upper end of a run.

    Parameters
    ----------
    flow : str
        ``with_flow`` or ``against_flow``.

    Returns
    -------
    dict or None
        ``node_id`` and ``level_m`` [m above datum]; None where the run did not reach it or it is not
        recorded.

    Examples
    --------
    >>> upper_cover({"start_node_id": "a"}, [{"id": "a", "fields": {"cover_level_m": 9.5}}], "with_flow")
    {'node_id': 'a', 'level_m': 9.5}
    """
    reached = flow == "with_flow" or run.get("end_reason") == "node_reached"
    wanted = run.get("start_node_id" if flow == "with_flow" else "finish_node_id")
    for node in nodes if reached and wanted is not None else ():
        level_m = node["fields"].get("cover_level_m")
        if node["id"] == wanted and level_m is not None:
            return {"node_id": wanted, "level_m": level_m}
    return None


def _in_order(rows: Sequence[LimitedRow], lines: Sequence[InvertLine | None], flow: str) -> list[_Part]:
    """The stretches that can carry, upstream first; none where one lacks something or there is a gap."""
    parts = [part for row, line in zip(rows, lines, strict=True) if (part := _part(row, line)) is not None]
    if len(parts) < len(rows):
        return []
    parts.sort(key=lambda part: part.from_m)
    for k in range(1, len(parts)):
        if abs(parts[k].from_m - parts[k - 1].to_m) > TOUCH_M:
            return []
    if flow != "with_flow":
        parts.reverse()
    return parts


def _part(row: LimitedRow, line: InvertLine | None) -> _Part | None:
    """A stretch that has a number, or lacks one for its own fall alone; None for another."""
    one, laid, roughness_mm = row["capacity"], row["laid"], row["roughness_mm"]
    from_m, to_m = row["from_m"], row["to_m"]
    shares = [left for taken in row["narrowings"] if (left := taken["left_pct"]) is not None]
    if line is None or one is None or len(shares) < len(row["narrowings"]):
        return None
    if one["mean_m3_s"] is None and one["findings"][0] not in OWN_FALL:
        return None
    if laid is None or roughness_mm is None or from_m is None or to_m is None:
        return None
    bore = Bore(laid["kind"], laid["height_m"], laid["width_m"])
    share = min(shares, default=100.0) / 100
    return _Part(line, bore, roughness_mm, share, from_m, to_m, one, row["first_full_m"])


def _pieces(parts: Sequence[_Part], sigmas: float) -> tuple[list[Piece], list[float]]:
    """The pieces of all stretches with the chainage of their upper ends, each fall moved by so much."""
    pieces: list[Piece] = []
    chainages: list[float] = []
    for part in parts:
        pieces += line_pieces(part.line, _way(part), sigmas * part.line.fall_sd_m)
        chainages += upper_ends_m(part.line)
    return pieces, chainages


def _ends(parts: Sequence[_Part], mean: float, most: float, here: Capacity) -> tuple[float, float]:
    """The ends of the band: those of the least stretch, and of several the falls of all of them together."""
    least, top = here["low_m3_s"] or 0.0, here["high_m3_s"] or most  # a middle has both ends
    down, up = _log(most, least), _log(top, most)
    if len(parts) > 1:
        high = carried_full(_pieces(parts, SIGMAS_95)[0], 2 * top)["discharge_m3_s"]
        low = carried_full(_pieces(parts, -SIGMAS_95)[0], mean)["discharge_m3_s"]
        down, up = math.hypot(down, _log(mean, low)), math.hypot(up, _log(min(high, top), mean))
    return 0.0 if down == math.inf else mean * math.exp(-down), mean * math.exp(up)


def _surcharge(
    pieces: Sequence[Piece], cover: CoverAtInvert, band: tuple[float, float, float]
) -> Surcharge | None:
    """The flow that lifts the water to the cover at the upper end; None where that is not above the crown."""
    low, mean, high = band
    above = cover["level_m"] - cover["invert_m"]
    if above <= pieces[0].way.bore.height_m:
        return None
    flow = carried_to_level(pieces, above, mean)
    if flow is None or flow <= mean:
        return None
    return {
        "node_id": cover["node_id"], "level_m": cover["level_m"], "discharge_m3_s": flow,
        "low_m3_s": flow * low / mean, "high_m3_s": flow * high / mean,
    }  # fmt: skip


def _way(part: _Part) -> Waterway:
    return waterway(part.bore, Resistance("colebrook_white", part.roughness_mm / 1000), part.share)


def _tilted(line: InvertLine, way: Waterway, gradient: float, by: float) -> float:
    """What it carries with its fall moved by so much; 0 where that leaves it level."""
    moved = min(1.0, gradient + by / line.places_m[-1])
    if moved < LEVEL:
        return 0.0
    even = full_flow(way.bore, moved, way.resistance)["discharge_m3_s"]
    return carried_full(line_pieces(line, way, by), even)["discharge_m3_s"]


def _bowed(line: InvertLine, way: Waterway, even: float, by: float) -> float:
    return carried_full(line_pieces(line, way, 0.0, by), even)["discharge_m3_s"]


def _log(more: float, less: float) -> float:
    if more <= 0:
        return 0.0
    return math.inf if less <= 0 else max(0.0, math.log(more / less))
