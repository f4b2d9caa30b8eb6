"""Gradients: degrees, percent, per mille, 1 in N; reading what people type.

Percent, per mille and 1 in N are the tangent of the inclination (fall over plan length).
The level change along a length of pipe is the sine times that length; see ``profile``.
"""

import math
import re
from typing import NotRequired, TypedDict, cast

from ..errors import SurveyError
from ..records import Inclination

NUMBER = r"(\d+(?:[.,]\d*)?|[.,]\d+)"
ONE_IN = re.compile(rf"([+-]?)\s*1\s*(?:in|:|/)\s*{NUMBER}", re.ASCII)
PLAIN = re.compile(
    rf"([+-]?)\s*{NUMBER}\s*(%|pct|percent|‰|permille|per mille|mm/m|°|deg|degrees?)?", re.ASCII
)
UNITS = {
    "%": "pct", "pct": "pct", "percent": "pct",
    "‰": "permille", "permille": "permille", "per mille": "permille", "mm/m": "permille",
    "°": "deg", "deg": "deg", "degree": "deg", "degrees": "deg",
}  # fmt: skip
LEVEL = 1e-9  # flatter than this has no N
SENSES = {"rising": 1.0, "falling": -1.0, "level": 0.0}


class TypedInclination(TypedDict):
    """What was typed as an inclination: ``size`` in ``unit``; ``sense`` where the text says it."""

    size: float
    unit: str
    typed: str
    sense: NotRequired[str]


def parse_inclination(text: str, default_unit: str) -> TypedInclination:
    """Return what a person typed as an inclination.

    Parameters
    ----------
    text : str
        For example ``1:80``, ``1 in 80``, ``1.25 %``, ``0.7°``, ``0,7``, ``-2 %``, ``1/40``.
    default_unit : str
        Unit of a bare number: ``deg``, ``pct``, ``permille`` or ``one_in``.

    Returns
    -------
    dict
        ``size`` [in ``unit``], ``unit``, ``typed``; and ``sense`` when the text has a sign
        (plus is rising ahead) or the size is zero.

    Raises
    ------
    SurveyError
        ``inclination_unreadable`` if it is none of these forms; ``gradient_one_in_zero`` for 1 in 0;
        ``inclination_beyond_vertical`` for more than 90 degrees.

    Examples
    --------
    >>> parse_inclination("1 in 80", "deg")
    {'size': 80.0, 'unit': 'one_in', 'typed': '1 in 80'}
    >>> parse_inclination("-1,25 %", "deg")
    {'size': 1.25, 'unit': 'pct', 'typed': '-1,25 %', 'sense': 'falling'}
    """
    typed = text.strip()
    plain = typed.lower().replace("−", "-")
    if found := ONE_IN.fullmatch(plain):
        sign, size, unit = found[1], _number(found[2]), "one_in"
    elif found := PLAIN.fullmatch(plain):
        sign, size = found[1], _number(found[2])
        unit = UNITS[found[3]] if found[3] else default_unit
    else:
        raise SurveyError("inclination_unreadable", "text")
    if unit == "one_in" and size == 0:
        raise SurveyError("gradient_one_in_zero", "text")
    if unit == "deg" and size > 90:
        raise SurveyError("inclination_beyond_vertical", "text")
    value: TypedInclination = {"size": size, "unit": unit, "typed": typed}
    if size == 0:
        value["sense"] = "level"
    elif sign:
        value["sense"] = "rising" if sign == "+" else "falling"
    return value


def inclination_deg(inclination: Inclination) -> float | None:
    """Return the inclination in degrees, or None when it was beyond the instrument's range.

    Parameters
    ----------
    inclination : dict
        ``size`` [in ``unit``], ``unit`` (deg, pct, permille, one_in), ``sense`` (rising, falling,
        level), or ``over_range`` true.

    Returns
    -------
    float or None
        Inclination [deg], positive where the pipe rises ahead.

    Raises
    ------
    SurveyError
        ``gradient_one_in_zero`` for 1 in 0; ``inclination_unit`` for an unknown unit.

    References
    ----------
    Percent, per mille and 1 in N are tangents: e.g. Approved Document H (England) states gradients as 1 in
    N on plan. Signs: decision D3.

    Examples
    --------
    >>> inclination_deg({"size": 100, "unit": "pct", "sense": "falling"})
    -45.0
    """
    if inclination.get("over_range"):
        return None
    size = cast(float, inclination["size"])  # there is one wherever it was within the range
    unit, sign = inclination["unit"], SENSES[inclination["sense"]]
    tangent: float
    if unit == "deg":
        return float(sign * size)
    if unit == "pct":
        tangent = size / 100
    elif unit == "permille":
        tangent = size / 1000
    elif unit == "one_in":
        if size == 0:
            raise SurveyError("gradient_one_in_zero", "size")
        tangent = 1 / size
    else:
        raise SurveyError("inclination_unit", "unit")
    return sign * math.degrees(math.atan(tangent))


class Gradient(TypedDict):
    """An inclination in every way of writing it; ``one_in`` is positive, None where it is level."""

    deg: float
    pct: float
    permille: float
    one_in: float | None


def gradient_of(deg: float) -> Gradient:
    """Return an inclination in every way of writing it.

    Parameters
    ----------
    deg : float
        Inclination [deg], between -90 and 90, positive where the pipe rises ahead.

    Returns
    -------
    dict
        ``deg`` [deg], ``pct`` [%], ``permille`` [‰], all signed, and ``one_in`` (N of 1 in N, positive;
        None when flatter than 1 in 1,000,000,000).

    Raises
    ------
    SurveyError
        ``inclination_beyond_vertical`` beyond 90 degrees.

    References
    ----------
    N is the cotangent, percent the tangent times 100: any surveying text.

    Examples
    --------
    >>> round(gradient_of(-45.0)["one_in"], 9)
    1.0
    """
    if not -90 <= deg <= 90:
        raise SurveyError("inclination_beyond_vertical", "deg")
    tangent = math.tan(math.radians(deg))
    one_in = None if abs(tangent) < LEVEL else 1 / abs(tangent)
    return {"deg": deg, "pct": 100 * tangent, "permille": 1000 * tangent, "one_in": one_in}


def _number(text: str) -> float:
    return float(text.replace(",", "."))
