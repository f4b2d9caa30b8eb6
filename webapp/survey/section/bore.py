"""The bore: its kind and sizes, and the arcs and lines of its outline.

Right half of each outline, from the invert up, r = width / 2:

    circular     one circle
    elliptical   one ellipse, upright or lying: a circle pressed out of round
    egg          invert circle r/2, flanks tangent to it and upright at the springing, crown circle r;
                 at the standard 2:3 (height 3r) the flank radius is 3r
    rectangular  flat invert, upright sides, flat roof
    oval         half circle r, upright sides, half circle r
    arch         flat invert, upright sides, half circle r (a flatter arc when lower than r)
    u_shape      half circle r (a flatter arc when lower than r), upright sides, flat roof
"""

from dataclasses import dataclass
from typing import NotRequired, TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between

KINDS = ("circular", "elliptical", "egg", "rectangular", "oval", "arch", "u_shape")
MIN_M, MAX_M = 0.001, 100.0
FLATTEST = 3.0  # an ellipse longer than this against its height is no deformed pipe


@dataclass(frozen=True)
class Bore:
    """A bore: ``height_m``, ``width_m`` [m] inside; ``deposit_m`` [m] deep in the invert.

    Without a width a circle is as wide as high and an egg two thirds.
    """

    kind: str
    height_m: float
    width_m: float | None = None
    deposit_m: float = 0.0


class BoreSizes(TypedDict):
    """A bore as figures carry it: the fields of ``Bore``; without ``deposit_m`` as it was laid."""

    kind: str
    height_m: float
    width_m: float | None
    deposit_m: NotRequired[float]


@dataclass(frozen=True)
class Piece:
    """A piece of the right half between two levels [m].

    Half width ``cx + a sqrt(1 - v^2)`` with v = (z - base) / b - 1; upright at ``cx`` when b is 0.
    """

    low_m: float
    high_m: float
    cx: float
    base: float
    a: float
    b: float


def outline_pieces(bore: Bore) -> tuple[list[Piece], float, float]:
    """Return the outline of a bore as arcs and lines.

    Returns
    -------
    tuple
        The pieces of the right half from the invert up (list of Piece, length 1 to 3), the width of
        a flat invert [m] and the width of a flat roof [m], 0 where it is round.

    Raises
    ------
    SurveyError
        ``shape_unknown``; ``size_out_of_range`` below 1 mm or above 100 m, or without a width;
        ``circle_not_round``, ``ellipse_too_flat`` (beyond 3:1), ``egg_too_low`` (not higher than wide),
        ``oval_too_low`` for sizes that the shape cannot have; ``deposit_out_of_range`` unless the deposit
        leaves some of the height.

    Examples
    --------
    >>> [round(p.a, 6) for p in outline_pieces(Bore("egg", 3.0, 2.0))[0]]
    [0.5, 3.0, 1.0]
    """
    if bore.kind not in KINDS:
        raise SurveyError("shape_unknown", "kind")
    height = number_between(bore.height_m, MIN_M, MAX_M, "height_m", "size_out_of_range")
    width = number_between(_width_of(bore), MIN_M, MAX_M, "width_m", "size_out_of_range")
    number_between(bore.deposit_m, 0.0, height, "deposit_m", "deposit_out_of_range")
    if bore.deposit_m >= height:
        raise SurveyError("deposit_out_of_range", "deposit_m")
    r = width / 2
    pieces = _egg(height, r) if bore.kind == "egg" else _pieces(bore.kind, height, r)
    bed = width if bore.kind in ("rectangular", "arch") else 0.0
    roof = width if bore.kind in ("rectangular", "u_shape") else 0.0
    return [p for p in pieces if p.high_m > p.low_m], bed, roof


def _width_of(bore: Bore) -> float:
    if bore.width_m is not None:
        return bore.width_m
    if bore.kind == "egg":
        return bore.height_m * 2 / 3
    if bore.kind == "circular":
        return bore.height_m
    raise SurveyError("size_out_of_range", "width_m")


def _pieces(kind: str, height: float, r: float) -> list[Piece]:
    if kind == "circular":
        if height != 2 * r:
            raise SurveyError("circle_not_round", "width_m")
        return [Piece(0.0, height, 0.0, 0.0, r, r)]
    if kind == "elliptical":
        if max(2 * r / height, height / (2 * r)) > FLATTEST:
            raise SurveyError("ellipse_too_flat", "width_m")
        return [Piece(0.0, height, 0.0, 0.0, r, height / 2)]
    if kind == "rectangular":
        return [Piece(0.0, height, r, 0.0, 0.0, 0.0)]
    if kind == "oval" and height < 2 * r:
        raise SurveyError("oval_too_low", "height_m")
    flat = r if height >= r else (r * r + height * height) / (2 * height)
    rise = min(r, height)
    invert = Piece(0.0, rise, 0.0, 0.0, flat, flat)
    crown = Piece(height - rise, height, 0.0, height - 2 * flat, flat, flat)
    if kind == "oval":
        return [invert, Piece(r, height - r, r, 0.0, 0.0, 0.0), crown]
    if kind == "arch":
        return [Piece(0.0, height - rise, r, 0.0, 0.0, 0.0), crown]
    return [invert, Piece(rise, height, r, 0.0, 0.0, 0.0)]


def _egg(height: float, r: float) -> list[Piece]:
    if not height > 2 * r * (1 + 1e-9):
        raise SurveyError("egg_too_low", "height_m")
    low = r / 2
    centres = height - r - low
    flank = (r * r - low * low + centres * centres) / (2 * (r - low))
    touch, spring = low * (1 - centres / (flank - low)), height - r
    return [
        Piece(0.0, touch, 0.0, 0.0, low, low),
        Piece(touch, spring, r - flank, spring - flank, flank, flank),
        Piece(spring, height, 0.0, height - 2 * r, r, r),
    ]
