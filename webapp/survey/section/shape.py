"""The bore in section: area, wetted perimeter and top width by depth.

Depths are measured from the invert of the clean bore. A deposit lies level in the invert; its
surface is the bed of the flow and counts as wetted.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple, TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between
from .bore import Bore, Piece, outline_pieces

PANELS = 32
NODES = (-0.906179845938664, -0.5384693101056831, 0.0, 0.5384693101056831, 0.906179845938664)
WEIGHTS = (
    0.23692688505618908,
    0.47862867049936647,
    0.5688888888888889,
    0.47862867049936647,
    0.23692688505618908,
)


class FlowSection(TypedDict):
    """The wetted section of a flow."""

    area_m2: float
    wetted_perimeter_m: float
    top_width_m: float
    hydraulic_radius_m: float


def flow_section(bore: Bore, depth_m: float, under_roof: bool = True) -> FlowSection:
    """Return the section of a flow of a given depth.

    Parameters
    ----------
    depth_m : float
        Water level above the invert of the clean bore [m], from the deposit to the roof.

    Returns
    -------
    dict
        ``area_m2`` [m2], ``wetted_perimeter_m`` [m], ``top_width_m`` [m], ``hydraulic_radius_m`` [m].

    Raises
    ------
    SurveyError
        ``depth_out_of_range``; otherwise as ``outline_pieces``.

    References
    ----------
    Segments of the arcs that ``bore`` states; perimeter of the ellipse by Gauss-Legendre quadrature, any
    numerical analysis text.

    Examples
    --------
    >>> round(flow_section(Bore("circular", 0.3), 0.15)["hydraulic_radius_m"], 6)
    0.075
    """
    outline = _outline(bore)
    depth_m = number_between(depth_m, bore.deposit_m, bore.height_m, "depth_m", "depth_out_of_range")
    pieces = outline.pieces
    area = _area_below(pieces, depth_m, outline.feet) - outline.hidden_m2
    sides = _sides_below(pieces, depth_m, outline.starts) - outline.hidden_m
    top = _width(pieces, depth_m)
    roof = outline.roof_m if under_roof and depth_m >= bore.height_m else 0.0
    perimeter = outline.bed_m + sides + roof
    radius = area / perimeter if perimeter > 0 else 0.0
    return {
        "area_m2": area,
        "wetted_perimeter_m": perimeter,
        "top_width_m": top,
        "hydraulic_radius_m": radius,
    }


def full_section(bore: Bore) -> FlowSection:
    """Return the section of the bore running full.

    Returns
    -------
    dict
        As ``flow_section``, at the full height, a flat roof wetted [m2, m].

    References
    ----------
    As ``flow_section``. Full egg 2:3: area 4.594 r2, perimeter 7.930 r, any sewer hydraulics text.

    Examples
    --------
    >>> round(full_section(Bore("egg", 3.0, 2.0))["area_m2"], 3)
    4.594
    """
    return flow_section(bore, bore.height_m)


def area_and_width(bore: Bore, depth_m: float) -> tuple[float, float]:
    """Return area and top width of a flow, without its perimeter.

    Parameters
    ----------
    depth_m : float
        Water level above the invert of the clean bore [m], from the deposit to the roof.

    Returns
    -------
    tuple of float
        Area above the deposit [m2] and top width [m].

    Examples
    --------
    >>> area_and_width(Bore("rectangular", 1.0, 2.0), 0.5)
    (1.0, 2.0)
    """
    return areas_and_widths(bore)(depth_m)


def areas_and_widths(bore: Bore) -> Callable[[float], tuple[float, float]]:
    """Return ``area_and_width`` of one bore, for a search that asks at many depths.

    Returns
    -------
    callable
        From the depth [m] to the area above the deposit [m2] and the top width [m].

    Raises
    ------
    SurveyError
        As ``flow_section``: for the bore at once, for a depth when asked.

    Examples
    --------
    >>> areas_and_widths(Bore("rectangular", 1.0, 2.0))(0.5)
    (1.0, 2.0)
    """
    outline = _outline(bore)
    pieces, feet, hidden = outline.pieces, outline.feet, outline.hidden_m2
    bottom, height = bore.deposit_m, bore.height_m

    def at(depth_m: float) -> tuple[float, float]:
        depth_m = number_between(depth_m, bottom, height, "depth_m", "depth_out_of_range")
        return _area_below(pieces, depth_m, feet) - hidden, _width(pieces, depth_m)

    return at


def perimeter_growth(bore: Bore, depth_m: float) -> float:
    """Return how much wetted perimeter a rise of the water adds.

    Parameters
    ----------
    depth_m : float
        Water level above the invert [m], strictly between invert and crown.

    Returns
    -------
    float
        Perimeter per depth [m/m]: 2 between upright sides, more where they lean.

    Raises
    ------
    SurveyError
        ``depth_out_of_range`` at the pole of a round invert or crown, where it has no end; otherwise as
        ``flow_section``.

    References
    ----------
    Derivative of the arcs that ``bore`` states.

    Examples
    --------
    >>> perimeter_growth(Bore("circular", 1.0), 0.5)
    2.0
    """
    pieces = _outline(bore).pieces
    depth_m = number_between(depth_m, bore.deposit_m, bore.height_m, "depth_m", "depth_out_of_range")
    piece = _piece_at(pieces, depth_m)
    if piece.b == 0:
        return 2.0
    share = _share(piece, depth_m)
    sine, cosine = 2 * math.sqrt(share * (1 - share)), 1 - 2 * share
    if sine == 0:
        raise SurveyError("depth_out_of_range", "depth_m")
    run, rise = piece.a * cosine, piece.b * sine
    return 2 * math.sqrt(run * run + rise * rise) / rise


def outline(bore: Bore, steps: int) -> list[list[float]]:
    """Return points of the clean bore's outline, to draw it.

    Returns
    -------
    list of [x, z], length 2 (steps + 1)
        Right side upwards, then left side downwards [m]; x from the centre line, z from the invert.

    Raises
    ------
    SurveyError
        ``steps_out_of_range``; otherwise as ``flow_section``.

    Examples
    --------
    >>> outline(Bore("rectangular", 1.0, 2.0), 2)[0]
    [1.0, 0.0]
    """
    pieces = outline_pieces(bore)[0]
    steps = int(number_between(steps, 2, 100_000, "steps", "steps_out_of_range"))
    levels = [bore.height_m * (1 - math.cos(math.pi * i / steps)) / 2 for i in range(steps)] + [bore.height_m]
    right = [[_width(pieces, z) / 2, z] for z in levels]
    return right + [[-x, z] for x, z in reversed(right)]


class _Outline(NamedTuple):
    """What a bore's outline is at any depth: its pieces, and what lies below the deposit.

    ``feet`` and ``starts``: of each piece, ``_segment`` and angle at its lower end; ``bed_m``, ``roof_m``:
    width of the bed of the flow and of a flat roof [m]; ``hidden_m2``, ``hidden_m``: area and sides under
    the deposit.
    """

    pieces: list[Piece]
    feet: list[float]
    starts: list[float]
    bed_m: float
    roof_m: float
    hidden_m2: float
    hidden_m: float


def _outline(bore: Bore) -> _Outline:
    for one in (bore.kind, bore.height_m, bore.width_m, bore.deposit_m):
        if not isinstance(one, str | int | float | None):
            outline_pieces(bore)  # says what is wrong with it
    return _kept_outline(bore.kind, bore.height_m, bore.width_m, bore.deposit_m)


@lru_cache(maxsize=256, typed=True)
def _kept_outline(kind: str, height_m: float, width_m: float | None, deposit_m: float) -> _Outline:
    """Return the outline; a search asks for the same one thousands of times."""
    pieces, bed_m, roof_m = outline_pieces(Bore(kind, height_m, width_m, deposit_m))
    starts = [_angle(piece, piece.low_m) if piece.b > 0 else 0.0 for piece in pieces]
    feet = [_segment(2 * start) for start in starts]
    if deposit_m <= 0:
        return _Outline(pieces, feet, starts, bed_m, roof_m, 0.0, 0.0)
    area, sides = _area_below(pieces, deposit_m, feet), _sides_below(pieces, deposit_m, starts)
    return _Outline(pieces, feet, starts, _width(pieces, deposit_m), roof_m, area, sides)


def _share(piece: Piece, z: float) -> float:
    """Height above the pole of the arc, as a share of its diameter."""
    share = (z - piece.base) / piece.b / 2
    return 1.0 if share > 1.0 else share if share > 0.0 else 0.0


def _piece_at(pieces: list[Piece], z: float) -> Piece:
    found = pieces[0]
    for piece in pieces:
        if piece.low_m <= z:
            found = piece
    return found


def _width(pieces: list[Piece], z: float) -> float:
    piece = _piece_at(pieces, z)
    if piece.b == 0:
        return 2 * piece.cx
    share = _share(piece, z)
    return 2 * (piece.cx + 2 * piece.a * math.sqrt(share * (1 - share)))


def _area_below(pieces: list[Piece], z: float, feet: list[float]) -> float:
    area = 0.0
    for piece, foot in zip(pieces, feet, strict=True):
        if z <= piece.low_m:
            break
        top = min(z, piece.high_m)
        area += 2 * piece.cx * (top - piece.low_m)
        if piece.b > 0:
            area += piece.a * piece.b / 2 * (_segment(2 * _angle(piece, top)) - foot)
    return area


def _sides_below(pieces: list[Piece], z: float, starts: list[float]) -> float:
    """Length of both sides up to a level."""
    sides = 0.0
    for piece, start in zip(pieces, starts, strict=True):
        if z <= piece.low_m:
            break
        top = min(z, piece.high_m)
        if piece.b == 0:
            sides += 2 * (top - piece.low_m)
        else:
            sides += 2 * _arc(piece.a, piece.b, start, _angle(piece, top))
    return sides


def _angle(piece: Piece, z: float) -> float:
    """Angle at the centre from the foot of the arc."""
    return 2 * math.asin(math.sqrt(_share(piece, z)))


def _segment(angle: float) -> float:
    """angle - sin(angle), without losing digits where both are small."""
    if angle > 0.3:
        return angle - math.sin(angle)
    q = angle * angle
    inner = 1 - q / 72 * (1 - q / 110 * (1 - q / 156))
    return angle * q / 6 * (1 - q / 20 * (1 - q / 42 * inner))


def _arc(a: float, b: float, start: float, end: float) -> float:
    if a == b:
        return a * (end - start)
    half = (end - start) / PANELS / 2
    total = 0.0
    for panel in range(PANELS):
        middle = start + (2 * panel + 1) * half
        for node, weight in zip(NODES, WEIGHTS, strict=True):
            run, rise = a * math.cos(middle + half * node), b * math.sin(middle + half * node)
            total += weight * math.sqrt(run * run + rise * rise)
    return total * half
