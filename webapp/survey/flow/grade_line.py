"""The water surface, or the hydraulic grade line under pressure, up a pipe of changing fall and bore.

Standard step from the outlet upstream: the energy head at each step is that of the step below, more by the
friction between them and less by the fall. Depths are measured from the invert of the clean bore, also
where they lie above the crown. Where the pipe is steep the water is taken at its critical depth, which it
does not exceed there.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypedDict

from ..errors import SurveyError
from ..numbers.checks import number_between
from .waterway import FlowState, Running, Waterway

MIN_STEP, GROWTH, MAX_STEP = 0.1, 1.6, 3.0  # steps in heights of the bore: above a control, then on
MAX_STEPS = 150.0
CONTRACTION = 0.5  # of the gain of velocity head, entering a smaller bore


@dataclass(frozen=True)
class Piece:
    """A length of even fall [m], negative where it rises with the flow, of one waterway."""

    length_m: float
    fall_m: float
    way: Waterway


class GradeLine(TypedDict):
    """Depths from the outlet up, and at the upper end the head and whether the depth is critical there."""

    depths_m: list[float]
    head_m: float
    control: bool


def grade_line(pieces: Sequence[Piece], discharge_m3_s: float, outlet_depth_m: float) -> GradeLine:
    """Return the grade line of a flow, from the outlet upstream.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s], the same all along.
    outlet_depth_m : float
        Of the water inside the outlet, above its invert [m]; the critical depth where that is deeper.

    Returns
    -------
    dict
        ``depths_m``: above the invert [m], at the outlet and at the upper end of each piece, upstream last;
        ``head_m``: the energy head above the invert at the upper end [m]; ``control``: whether the depth
        there is the critical one.

    Raises
    ------
    SurveyError
        ``no_pieces``; ``length_out_of_range``, ``fall_out_of_range``; otherwise as
        ``open_flow.critical_flow`` and ``resistance.friction_slope``.

    References
    ----------
    Standard step method: V. T. Chow, Open-channel Hydraulics, 1959, ch. 10-4 (from memory). Entering a
    smaller bore costs half of the gain of velocity head; entering a larger one, all of the loss.

    Examples
    --------
    >>> from ..section.bore import Bore
    >>> from .resistance import Resistance
    >>> from .waterway import waterway
    >>> way = waterway(Bore("rectangular", 3.0, 2.0), Resistance("manning", manning_n=0.015))
    >>> up = grade_line([Piece(200.0, 0.0, way)], 4.0, 0.0)
    >>> round(up["depths_m"][0], 3), round(up["depths_m"][1], 2)
    (0.742, 1.34)
    """
    states = list(_ends(pieces, discharge_m3_s, outlet_depth_m))
    last = states[-1]
    return {"depths_m": [one.depth_m for one in states], "head_m": last.head_m, "control": last.control}


def first_over_crown(
    pieces: Sequence[Piece], discharge_m3_s: float, outlet_depth_m: float, above_m: float
) -> int | None:
    """Return where, seen from the outlet, a grade line first lies above the crown.

    Parameters
    ----------
    discharge_m3_s : float
        Flow [m3/s].
    outlet_depth_m : float
        Of the water inside the outlet [m].
    above_m : float
        By more than this [m].

    Returns
    -------
    int or None
        The piece at whose upper end it is; None where it is nowhere. The outlet itself does not count.

    Examples
    --------
    >>> from ..section.bore import Bore
    >>> from .resistance import Resistance
    >>> from .waterway import waterway
    >>> way = waterway(Bore("circular", 0.3), Resistance("manning", manning_n=0.013))
    >>> flat = [Piece(5.0, 0.1, way), Piece(30.0, 0.0, way)]
    >>> first_over_crown(flat, 0.002, 0.15, 0.0), first_over_crown(flat, 0.09, 0.3, 0.0)
    (None, 1)
    """
    states = _ends(pieces, discharge_m3_s, outlet_depth_m)
    next(states)
    for k, state in enumerate(states):
        piece = len(pieces) - 1 - k
        if state.depth_m > pieces[piece].way.bore.height_m + above_m:
            return piece
    return None


def _ends(pieces: Sequence[Piece], discharge: float, outlet_depth: float) -> Iterator[FlowState]:
    """The states at the outlet and at the upper end of each piece, upstream last."""
    if not pieces:
        raise SurveyError("no_pieces", "pieces")
    for k, piece in enumerate(pieces):
        number_between(piece.length_m, 1e-6, 1e6, f"pieces.{k}", "length_out_of_range")
        number_between(piece.fall_m, -1e4, 1e4, f"pieces.{k}", "fall_out_of_range")
    number_between(outlet_depth, 0.0, 1e4, "outlet_depth_m", "depth_out_of_range")
    total = sum(piece.length_m for piece in pieces)
    running = Running(pieces[-1].way, discharge)
    state = running.at_depth(outlet_depth)
    step = 0.0
    yield state
    for piece in reversed(pieces):
        if piece.way is not running.way:
            running = Running(piece.way, discharge)
            state = _across(running, state)
        height = piece.way.bore.height_m
        longest = max(MAX_STEP * height, total / MAX_STEPS)
        step = MIN_STEP * height if state.control else max(step, MIN_STEP * height)
        state, step = _up(running, state, piece, step, longest)
        yield state


def _up(
    running: Running, state: FlowState, piece: Piece, step: float, longest: float
) -> tuple[FlowState, float]:
    """From the lower to the upper end of a piece, in growing steps."""
    gradient, left = piece.fall_m / piece.length_m, piece.length_m
    while left > 0:
        if state.control and gradient >= state.slope:
            return state, step  # steep: the water stays at or below the critical depth
        here = min(step, left)
        if left - here < 0.2 * here:
            here = left
        state = running.at_head(state.head_m - here * gradient, here, state.slope)
        left = 0.0 if here == left else left - here
        step = min(longest, step * GROWTH)
    return state, step


def _across(upper: Running, state: FlowState) -> FlowState:
    """From the upper end of one waterway into the lower end of the next one upstream."""
    below = state.head_m - state.depth_m
    first = upper.at_head(state.head_m, 0.0, 0.0)
    above = first.head_m - first.depth_m
    if above >= below:  # the water leaves a smaller bore: the velocity head is lost
        return upper.at_depth(state.depth_m)
    return upper.at_head(state.head_m + CONTRACTION * (below - above), 0.0, 0.0)
