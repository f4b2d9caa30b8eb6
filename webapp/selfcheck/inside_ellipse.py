"""Whether a place lies within an ellipse."""

import math

from ..survey.numbers.finite import finite, spread
from ..survey.plan.ellipse import Ellipse


def inside(ellipse: Ellipse, e_m: float, n_m: float) -> bool:
    """Return whether a place lies within an ellipse.

    Parameters
    ----------
    ellipse : Ellipse
        Semi-axes [m] and azimuth [deg].
    e_m, n_m : float
        East and north of its centre [m].

    Returns
    -------
    bool
        True on the line and within. An axis of zero holds only what lies on it.

    Raises
    ------
    SurveyError
        ``sd_negative`` for a negative semi-axis; ``number_not_finite`` and
        ``number_out_of_range`` as for any number.

    References
    ----------
    Equation of the ellipse.

    Examples
    --------
    >>> inside(Ellipse(2.0, 1.0, 90.0), 1.9, 0.0)
    True
    """
    major, minor = spread(ellipse.semi_major_m, "ellipse"), spread(ellipse.semi_minor_m, "ellipse")
    theta = math.radians(finite(ellipse.azimuth_deg, "ellipse"))
    e, n = finite(e_m, "e_m"), finite(n_m, "n_m")
    a, b = math.sin(theta) * e + math.cos(theta) * n, math.cos(theta) * e - math.sin(theta) * n
    if major == 0 or minor == 0:
        return abs(b) <= minor and abs(a) <= major
    return (a / major) * (a / major) + (b / minor) * (b / minor) <= 1
