"""Numbers in words: lengths, gradients, bearings, flows and volumes, each with its unit."""

import math

from ..errors import SurveyError
from ..instruments.gradient import gradient_of
from ..numbers.decimals import HALF, decimal_text, signed_text
from ..numbers.finite import finite, spread
from .messages import Words, message, number_text

FLATTEST = 9999  # flatter than 1 in this is called level
UPRIGHT_DEG = 89.9
MANY = 999
KNOWN = ("measured", "adjusted", "computed", "bounded", "assumed")


def fixed_text(words: Words, value: float, places: int) -> str:
    """Return a number with so many decimals and the decimal mark of the language, as it enters a sentence."""
    return number_text(words, decimal_text(value, places))


def fixed_signed_text(words: Words, value: float, places: int) -> str:
    """Return the same with its sign, plus included; zero has none."""
    return number_text(words, signed_text(value, places))


def metres(words: Words, value: float | None, sd: float | None) -> str:
    """Return a length or level [m] with its standard deviation, which says how many decimals count.

    Raises
    ------
    SurveyError
        ``sd_negative``, ``number_not_finite``.

    Examples
    --------
    >>> metres({"_language": "en", "survey.metres_sd": "{m} m (sd {sd_m} m)"}, 12.3456, 0.0123)
    '12.346 m (sd 0.012 m)'
    """
    if value is None:
        return message(words, "survey.not_known", {})
    if sd is None:
        return length_text(words, value, 2)
    places = decimals_beside(sd)
    sizes = {"m": fixed_text(words, value, places), "sd_m": fixed_text(words, sd, places)}
    return message(words, "survey.metres_sd", sizes)


def decimals_beside(sd: float) -> int:
    """Return how many decimals of a length [m] count beside its standard deviation [m]."""
    return 3 if spread(sd, "sd") < 0.1 else 2 if sd < 1 else 1


def length_text(words: Words, value_m: float | None, places: int) -> str:
    """Return a length or level [m] that stands without a standard deviation."""
    if value_m is None:
        return message(words, "survey.not_known", {})
    return message(words, "survey.metres", {"m": fixed_text(words, value_m, places)})


def place_text(words: Words, chainage_m: float) -> str:
    """Return a place along the pipe, to the centimetre, without its unit [m]."""
    return fixed_text(words, chainage_m, 2)


def spread_text(words: Words, sd_m: float | None) -> str:
    """Return a standard deviation [m] alone, rounded as beside its value; empty for None."""
    return "" if sd_m is None else length_text(words, sd_m, decimals_beside(sd_m))


def change_text(words: Words, rise_m: float, sd_m: float | None) -> str:
    """Return a change of level [m]: ``falls 0.441 m (sd 0.015 m)``."""
    way = "rises" if rise_m > 0 else "falls"
    return message(words, f"survey.change.{way}", {"size": metres(words, abs(rise_m), sd_m)})


def change_parts(words: Words, rise_m: float, sd_m: float | None) -> tuple[str, str]:
    """Return a change of level and its standard deviation, each by itself.

    Parameters
    ----------
    words : mapping
        The catalogue.
    rise_m : float
        Rise [m]; a fall is negative.
    sd_m : float or None
        Standard deviation [m].

    Returns
    -------
    tuple of str
        The change, and its standard deviation; the latter empty for None.

    Raises
    ------
    SurveyError
        ``sd_negative``, ``number_not_finite``.

    Examples
    --------
    >>> words = {"_language": "en", "survey.metres": "{m} m", "survey.change.falls": "falls {size}"}
    >>> change_parts(words, -0.4407, 0.0152)
    ('falls 0.441 m', '0.015 m')
    """
    if sd_m is None:
        return change_text(words, rise_m, None), ""
    size = length_text(words, abs(rise_m), decimals_beside(sd_m))
    way = "rises" if rise_m > 0 else "falls"
    return message(words, f"survey.change.{way}", {"size": size}), spread_text(words, sd_m)


def at_least_text(words: Words, low: float | None, high: float | None) -> str:
    """Return a change of level [m] known by its bounds; equal bounds are a value.

    Raises
    ------
    SurveyError
        ``bounds_reversed``, ``number_not_finite``.
    """
    if low is not None and high is not None and finite(low, "low") > finite(high, "high"):
        raise SurveyError("bounds_reversed", "low")
    if low is not None and low == high:
        none = decimal_text(abs(low), 3) == "0.000"
        way = "none" if none else "rises" if low > 0 else "falls"
        return message(words, f"survey.change.{way}", {"size": length_text(words, abs(low), 3)})
    if low is not None and finite(low, "low") >= 0:
        return message(words, "survey.change.rises_at_least", {"m": fixed_text(words, low, 3)})
    if high is not None and finite(high, "high") <= 0:
        return message(words, "survey.change.falls_at_least", {"m": fixed_text(words, -high, 3)})
    if low is None or high is None:
        return message(words, "survey.not_known", {})
    sizes = {"low_m": fixed_text(words, -low, 3), "high_m": fixed_text(words, high, 3)}
    return message(words, "survey.change.between", sizes)


def steepness(words: Words, deg: float | None) -> tuple[str, str]:
    """Return ``not_known``, ``level``, ``vertical`` or ``one_in``, and for the last how much it is in 1."""
    if deg is None:
        return "not_known", ""
    one_in = gradient_of(finite(deg, "deg"))["one_in"]
    if one_in is None or one_in > FLATTEST:
        return "level", ""
    if abs(deg) >= UPRIGHT_DEG:
        return "vertical", ""
    return "one_in", fixed_text(words, one_in, 0 if one_in >= 9.95 else 1)


def one_in_text(words: Words, deg: float | None) -> str:
    """Return an inclination [deg] as 1 in N, and whether it rises or falls."""
    kind, size = steepness(words, deg)
    if kind == "not_known" or deg is None:
        return message(words, "survey.not_known", {})
    if kind == "level":
        return message(words, "survey.gradient.level", {})
    way = "rising" if deg > 0 else "falling"
    return message(words, f"survey.gradient.{kind}_{way}", {"size": size})


def percent_text(words: Words, deg: float | None) -> str:
    """Return an inclination [deg] in percent, with its sign; plus is rising."""
    if deg is None:
        return message(words, "survey.not_known", {})
    percent = gradient_of(finite(deg, "deg"))["pct"]
    if percent is None or abs(deg) >= UPRIGHT_DEG:
        return message(words, f"survey.gradient.vertical_{'rising' if deg > 0 else 'falling'}", {})
    return message(words, "survey.gradient.percent", {"pct": fixed_signed_text(words, percent, 2)})


def degrees_text(words: Words, deg: float | None) -> str:
    """Return an inclination [deg] with its sign."""
    if deg is None:
        return message(words, "survey.not_known", {})
    return message(words, "survey.gradient.degrees", {"deg": fixed_signed_text(words, finite(deg, "deg"), 2)})


def known_word(words: Words, provenance: str | None) -> str:
    """Return the word for how a number is known."""
    return message(words, f"survey.known.{provenance}" if provenance in KNOWN else "survey.not_known", {})


def unit_text(words: Words, unit: str) -> str:
    """Return a unit of the tables in the language's words; a sign, or one that a firm made, as it is."""
    key = f"survey.unit.{unit}"
    return message(words, key, {}) if key in words else unit


def bearing_text(words: Words, deg: float | None) -> str:
    """Return a bearing [deg] in three figures, 000 to 359."""
    if deg is None:
        return message(words, "survey.not_known", {})
    turned = finite(deg, "deg") - 360 * math.floor(deg / 360)
    whole = math.floor(turned + HALF) % 360
    return message(words, "survey.bearing", {"deg": str(whole).rjust(3, "0")})


def walk_text(words: Words, distance_m: float, bearing_deg: float, radius_m: float | None) -> str:
    """Return how far [m] and which way [deg] to walk, and within which radius [m] to look."""
    distance = spread(distance_m, "distance_m")
    values = {
        "m": fixed_text(words, distance, 0 if distance >= 9.95 else 1),
        "bearing": bearing_text(words, bearing_deg),
    }
    if radius_m is None:
        return message(words, "survey.walk", values)
    radius = max(1, math.ceil(spread(radius_m, "radius_m") - 1e-9))
    return message(words, "survey.walk_radius", {**values, "radius_m": str(radius)})


def litres_text(words: Words, flow_m3_s: float) -> str:
    """Return a flow [m3/s] in l/s, to about three figures, without its unit."""
    litres = 1000 * flow_m3_s
    return fixed_text(words, litres, 0 if litres >= 99.95 else 1 if litres >= 9.995 else 2)


def volume_text(words: Words, volume_m3: float | None) -> str:
    """Return a volume [m3], a small one in litres."""
    if volume_m3 is None:
        return message(words, "survey.volume.not_known", {})
    if volume_m3 < 1:
        return message(words, "survey.volume.litres", {"litres": fixed_text(words, 1000 * volume_m3, 0)})
    return message(words, "survey.volume.cubic", {"m3": fixed_text(words, volume_m3, 1)})


def times_text(words: Words, standardised: float) -> str:
    """Return by how many standard deviations something is out."""
    size = abs(standardised)
    if size > MANY:
        return message(words, "survey.more_than", {"size": str(MANY)})
    return fixed_text(words, size, 1)


def span_text(words: Words, low: str, high: str) -> str:
    """Return two bounds of a number as one text; the number alone where they are equal."""
    return low if low == high else message(words, "survey.span", {"low": low, "high": high})


def size_text(words: Words, value: float) -> str:
    """Return a size with the decimals that it has, at most two."""
    for places in (0, 1):
        if value * 10**places == int(value * 10**places):
            return fixed_text(words, value, places)
    return fixed_text(words, value, 2)
