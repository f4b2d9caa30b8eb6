"""The cable counter: reading what people type, chainage from raw counter readings."""

import re

from ..errors import SurveyError

COUNTER = re.compile(r"([+-]?)(\d+(?:[.,]\d*)?|[.,]\d+)\s*m?", re.ASCII)
MIN_M = 0.01  # less than this and the counter did not move


def parse_counter(text: str) -> float:
    """Return a counter reading as typed, with a decimal point or comma.

    Parameters
    ----------
    text : str
        For example ``12.30``, ``12,3``, ``12.3 m``.

    Returns
    -------
    float
        Counter reading [m].

    Raises
    ------
    SurveyError
        ``number_unreadable`` if it is not a number; ``counter_below_zero`` if it has a minus.

    Examples
    --------
    >>> parse_counter("12,30 m")
    12.3
    """
    found = COUNTER.fullmatch(text.strip().lower().replace("−", "-"))
    if not found:
        raise SurveyError("number_unreadable", "text")
    value = float(found[2].replace(",", "."))
    if found[1] == "-" and value > 0:
        raise SurveyError("counter_below_zero", "text")
    return value


def chainage_m(counter_m: float, counter_zero_m: float, scale: float) -> float:
    """Return the distance from the chainage datum along the pipe.

    Parameters
    ----------
    counter_m : float
        What the counter shows [m].
    counter_zero_m : float
        What it shows where the chainage is zero [m].

    Returns
    -------
    float
        Chainage [m]; negative before the datum.

    Raises
    ------
    SurveyError
        ``scale_not_positive`` if ``scale`` is zero or less.

    References
    ----------
    Counter set to zero with an allowance to the first view: City of Sunny Isles Beach (Florida), Section
    02762, 3.2.

    Examples
    --------
    >>> chainage_m(12.5, 0.5, 1.0)
    12.0
    """
    if not scale > 0:
        raise SurveyError("scale_not_positive", "scale")
    return (counter_m - counter_zero_m) * scale
