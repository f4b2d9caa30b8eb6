"""Fall over a length, on plan or along the pipe, and the distance along a slope."""

import math

from ..survey.errors import SurveyError
from ..survey.numbers.finite import finite

MIN_ONE_IN = 1e-6  # steeper than this is upright


def fall_on_plan_m(length_m: float, one_in: float) -> float:
    """Return the fall over a length on plan.

    Parameters
    ----------
    length_m : float
        Length on plan [m].

    Returns
    -------
    float
        Fall [m].

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``length_negative``; ``gradient_one_in_zero`` if N is zero or less.

    References
    ----------
    Fall is gradient times distance on plan: any text on drainage.

    Examples
    --------
    >>> fall_on_plan_m(50.0, 80.0)
    0.625
    """
    _check(length_m, one_in, "one_in")
    if not one_in > MIN_ONE_IN:
        raise SurveyError("gradient_one_in_zero", "one_in")
    return length_m / one_in


def rise_along_m(length_m: float, deg: float) -> float:
    """Return the rise over a length along the pipe.

    Parameters
    ----------
    length_m : float
        Length along the pipe [m].
    deg : float
        Inclination [deg], positive where the pipe rises ahead.

    Returns
    -------
    float
        Rise [m], negative for a fall.

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``length_negative``; ``inclination_beyond_vertical``.

    References
    ----------
    Sine of the inclination times the length along it: any surveying text.

    Examples
    --------
    >>> round(rise_along_m(30.0, -0.1), 4)
    -0.0524
    """
    _check(length_m, deg, "deg")
    if abs(deg) > 90:
        raise SurveyError("inclination_beyond_vertical", "deg")
    return length_m * math.sin(math.radians(deg))


def slope_of(rise_m: float, plan_m: float) -> tuple[float, float]:
    """Return the distance along a slope and its inclination.

    Parameters
    ----------
    rise_m : float
        Rise [m].
    plan_m : float
        Distance on plan [m], not negative.

    Returns
    -------
    tuple of float
        Distance along the slope [m]; inclination [deg], signed as the rise.

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``length_negative``; ``length_not_positive`` if both are zero.

    References
    ----------
    Pythagoras and the arc tangent.

    Examples
    --------
    >>> [round(x, 2) for x in slope_of(10.0, 100.0)]
    [100.5, 5.71]
    """
    _check(plan_m, rise_m, "rise_m")
    if rise_m == 0 and plan_m == 0:
        raise SurveyError("length_not_positive", "plan_m")
    return math.sqrt(rise_m * rise_m + plan_m * plan_m), math.degrees(math.atan2(rise_m, plan_m))


def _check(length_m: float, value: float, name: str) -> None:
    finite(length_m, "length_m")
    finite(value, name)
    if length_m < 0:
        raise SurveyError("length_negative", "length_m")
