"""What a pipe of changing fall carries: until its grade line reaches the crown, or a level at its head."""

from collections.abc import Sequence
from typing import TypedDict

from ..numbers.checks import number_between
from .grade_line import Piece, first_over_crown, grade_line

OVER_M = 1e-5  # above the crown by more than this
MIN_SHARE, MIN_M3_S = 1e-5, 1e-8
HALVINGS = 26
ENTRANCE = 0.5  # of the velocity head, from a chamber into the pipe
DOUBLINGS = 12


class CarriedFull(TypedDict):
    """What pieces carry full; ``piece``: at whose upper end the crown is reached first, None at none."""

    discharge_m3_s: float
    piece: int | None


def carried_full(pieces: Sequence[Piece], most_m3_s: float) -> CarriedFull:
    """Return the flow at which the grade line first reaches the crown, the outlet just full.

    Parameters
    ----------
    most_m3_s : float
        What it carries at most [m3/s]: the uniform flow over its whole fall.

    Returns
    -------
    dict
        ``discharge_m3_s``, up to ``most_m3_s``; 0 where the pipe stands full somewhere without any flow.
        ``piece``: at whose upper end the crown is reached first, None where ``most_m3_s`` reaches it
        nowhere.

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; otherwise as ``grade_line``.

    References
    ----------
    As ``grade_line``; bisection. The water in the outlet stands at its crown: own rule, on the safe side of
    a free fall, and the usual assumption where nothing is known of what follows.

    Examples
    --------
    >>> from ..section.bore import Bore
    >>> from .waterway import waterway
    >>> from .resistance import Resistance
    >>> way = waterway(Bore("circular", 0.3), Resistance("manning", manning_n=0.013))
    >>> carried_full([Piece(20.0, 0.3, way), Piece(5.0, 0.0, way), Piece(20.0, 0.3, way)], 0.11)["piece"]
    1
    """
    most = number_between(most_m3_s, 1e-7, 1e4, "most_m3_s", "flow_out_of_range")
    crown = pieces[-1].way.bore.height_m if pieces else 0.0
    piece = first_over_crown(pieces, most, crown, OVER_M)
    if piece is None:
        return {"discharge_m3_s": most, "piece": None}
    low, high = max(MIN_SHARE * most, MIN_M3_S), most
    still = first_over_crown(pieces, low, crown, OVER_M)
    if still is not None:
        return {"discharge_m3_s": 0.0, "piece": still}
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        over = first_over_crown(pieces, middle, crown, OVER_M)
        if over is None:
            low = middle
        else:
            high, piece = middle, over
    return {"discharge_m3_s": low, "piece": piece}


def carried_to_level(pieces: Sequence[Piece], above_invert_m: float, from_m3_s: float) -> float | None:
    """Return the flow that lifts the water in the chamber at the upper end to a level.

    Parameters
    ----------
    above_invert_m : float
        The level, above the invert at the upper end [m].
    from_m3_s : float
        A flow to start from [m3/s].

    Returns
    -------
    float or None
        Flow [m3/s] with the outlet just full and the pipe under pressure; None where the water stands as
        high without any flow.

    Raises
    ------
    SurveyError
        ``flow_out_of_range``; otherwise as ``grade_line``.

    Examples
    --------
    >>> from ..section.bore import Bore
    >>> from .waterway import waterway
    >>> from .resistance import Resistance
    >>> way = waterway(Bore("circular", 0.3), Resistance("manning", manning_n=0.013))
    >>> carried_to_level([Piece(45.0, 0.45, way)], 1.5, 0.09) > 0.15
    True
    """
    start = number_between(from_m3_s, 1e-7, 1e4, "from_m3_s", "flow_out_of_range")
    low, high = max(MIN_SHARE * start, MIN_M3_S), start
    if _chamber_m(pieces, low) >= above_invert_m:
        return None
    for _ in range(DOUBLINGS):
        if _chamber_m(pieces, high) >= above_invert_m:
            break
        low, high = high, 2 * high
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _chamber_m(pieces, middle) < above_invert_m:
            low = middle
        else:
            high = middle
    return low


def _chamber_m(pieces: Sequence[Piece], discharge: float) -> float:
    """Water in the chamber at the upper end, above the invert there."""
    found = grade_line(pieces, discharge, pieces[-1].way.bore.height_m)
    head = found["head_m"]
    return head + ENTRANCE * (head - found["depths_m"][-1])
