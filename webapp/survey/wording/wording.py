"""How figures are said: one place, the same to the letter on server and phone.

Rounding is for the eye only; nothing said here is computed with again.
"""

import math

from ..errors import SurveyError
from ..instruments.gradient import gradient_of
from ..numbers.decimals import HALF, decimal_text, signed_text
from ..numbers.finite import finite, spread

FLATTEST = 9999  # flatter than 1 in this is said to be level
UPRIGHT_DEG = 89.9
WORDS = {
    "measured": "measured",
    "adjusted": "adjusted",
    "computed": "computed",
    "bounded": "bounded",
    "assumed": "assumed",
}


def metres(value: float | None, sd: float | None) -> str:
    """Return a length or level in metres with its standard deviation.

    Parameters
    ----------
    value : float or None
        Length or level [m]; None if not known.
    sd : float or None
        Standard deviation [m]; None if not known.

    Raises
    ------
    SurveyError
        ``sd_negative``.

    Examples
    --------
    >>> metres(12.3456, 0.0123), metres(12.3456, None)
    ('12.346 m, sd 0.012 m', '12.35 m')
    """
    if value is None:
        return "not known"
    if sd is None:
        return length_text(value, 2)
    places = 3 if spread(sd, "sd") < 0.1 else 2 if sd < 1 else 1
    return f"{decimal_text(value, places)} m, sd {decimal_text(sd, places)} m"


def length_text(value_m: float | None, places: int) -> str:
    """Return a length or level in metres that stands without a standard deviation.

    Parameters
    ----------
    value_m : float or None
        Length or level [m]; None if not known.

    Examples
    --------
    >>> length_text(12.3456, 3), length_text(None, 2)
    ('12.346 m', 'not known')
    """
    return "not known" if value_m is None else f"{decimal_text(value_m, places)} m"


def one_in_text(deg: float | None) -> str:
    """Return an inclination as 1 in N with its direction.

    Parameters
    ----------
    deg : float or None
        Inclination [deg], positive where the pipe rises ahead; None if not known.

    Returns
    -------
    str
        N without decimals from 10 up, with one below; ``level`` when flatter than 1 in 9999.

    Raises
    ------
    SurveyError
        ``inclination_beyond_vertical``; ``number_not_finite`` and ``number_out_of_range``.

    Examples
    --------
    >>> one_in_text(-0.7161599454704085), one_in_text(0.0)
    ('1 in 80 falling', 'level')
    """
    if deg is None:
        return "not known"
    one_in = gradient_of(finite(deg, "deg"))["one_in"]
    if one_in is None or one_in > FLATTEST:
        return "level"
    way = "rising" if deg > 0 else "falling"
    if abs(deg) >= UPRIGHT_DEG:
        return f"vertical, {way}"
    return f"1 in {decimal_text(one_in, 0 if one_in >= 9.95 else 1)} {way}"


def percent_text(deg: float | None) -> str:
    """Return an inclination in percent, with its sign.

    Parameters
    ----------
    deg : float or None
        Inclination [deg], positive where the pipe rises ahead; None if not known.

    Raises
    ------
    SurveyError
        ``inclination_beyond_vertical``; ``number_not_finite`` and ``number_out_of_range``.

    Examples
    --------
    >>> percent_text(-0.7161599454704085), percent_text(45.0)
    ('−1.25 %', '+100.00 %')
    """
    if deg is None:
        return "not known"
    percent = gradient_of(finite(deg, "deg"))["pct"]
    if percent is None or abs(deg) >= UPRIGHT_DEG:
        return f"vertical, {'rising' if deg > 0 else 'falling'}"
    return f"{signed_text(percent, 2)} %"


def degrees_text(deg: float | None) -> str:
    """Return an inclination in degrees, with its sign.

    Parameters
    ----------
    deg : float or None
        Inclination [deg], positive where the pipe rises ahead; None if not known.

    Examples
    --------
    >>> degrees_text(0.716)
    '+0.72°'
    """
    return "not known" if deg is None else f"{signed_text(finite(deg, 'deg'), 2)}°"


def known_word(known: str | None) -> str:
    """Return the word for how a number is known.

    Parameters
    ----------
    known : str or None
        ``measured``, ``adjusted``, ``computed``, ``bounded`` or ``assumed``; anything else is not known.

    Examples
    --------
    >>> known_word("bounded"), known_word("")
    ('bounded', 'not known')
    """
    return WORDS.get(known or "", "not known")


def at_least_text(low: float | None, high: float | None) -> str:
    """Return a change of level that is known only between two bounds.

    Parameters
    ----------
    low, high : float or None
        Least and greatest rise ahead [m]; a fall is negative; None if there is no bound on that side.

    Raises
    ------
    SurveyError
        ``bounds_reversed`` if ``low`` lies above ``high``.

    References
    ----------
    Decision D5.

    Examples
    --------
    >>> at_least_text(-3.0, -0.52), at_least_text(-0.25, -0.25), at_least_text(-0.1, 0.2)
    ('falls at least 0.520 m', 'falls 0.250 m', 'between 0.100 m falling and 0.200 m rising')
    """
    if low is not None and high is not None and finite(low, "low") > finite(high, "high"):
        raise SurveyError("bounds_reversed", "low")
    if low is not None and low == high:
        size = decimal_text(abs(low), 3)
        return "level (0.000 m)" if size == "0.000" else f"{'rises' if low > 0 else 'falls'} {size} m"
    if low is not None and finite(low, "low") >= 0:
        return f"rises at least {decimal_text(low, 3)} m"
    if high is not None and finite(high, "high") <= 0:
        return f"falls at least {decimal_text(-high, 3)} m"
    if low is None or high is None:
        return "not known"
    return f"between {decimal_text(-low, 3)} m falling and {decimal_text(high, 3)} m rising"


def bearing_text(deg: float | None) -> str:
    """Return a bearing as three digits.

    Parameters
    ----------
    deg : float or None
        Bearing [deg], clockwise from north, any turn; None if not known.

    Examples
    --------
    >>> bearing_text(37.2), bearing_text(359.6)
    ('037°', '000°')
    """
    if deg is None:
        return "not known"
    turned = finite(deg, "deg") - 360 * math.floor(deg / 360)
    whole = math.floor(turned + HALF) % 360
    return f"{str(whole).rjust(3, '0')}°"


def walk_text(distance_m: float, bearing_deg: float, radius_m: float | None) -> str:
    """Return where to walk and how far around to look.

    Parameters
    ----------
    distance_m : float
        Distance [m], 0 or more.
    bearing_deg : float
        True bearing [deg].
    radius_m : float or None
        Radius that holds the place 95 times in 100 [m]; None if not known.

    Raises
    ------
    SurveyError
        ``sd_negative`` if a length is negative; ``number_not_finite`` and ``number_out_of_range``.

    Examples
    --------
    >>> walk_text(37.2, 214.4, 3.1)
    '37 m at 214°, look within 4 m'
    """
    distance = spread(distance_m, "distance_m")
    text = f"{decimal_text(distance, 0 if distance >= 9.95 else 1)} m at {bearing_text(bearing_deg)}"
    if radius_m is None:
        return text
    radius = max(1, math.ceil(spread(radius_m, "radius_m") - 1e-9))
    return f"{text}, look within {radius} m"
