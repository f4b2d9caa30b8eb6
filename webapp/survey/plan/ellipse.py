"""The ellipse that holds a position 95 times in 100, and the radius to look within."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from ..numbers.finite import finite, spread

CHI2_95 = -2 * math.log(0.05)  # 5.99146, two degrees of freedom
ROUND = 1e-12  # an ellipse rounder than this has no direction


class Ellipse(NamedTuple):
    """Semi-axes [m] and the azimuth of the longer one [deg], 0 to 180, clockwise from north."""

    semi_major_m: float
    semi_minor_m: float
    azimuth_deg: float


def ellipse95(parts_m: Sequence[Sequence[float]]) -> Ellipse:
    """Return the 95 % ellipse of a position from the parts that its error is made of.

    Parameters
    ----------
    parts_m : sequence of pair of float, length n >= 0
        East and north shift by one standard deviation of each independent cause [m]. The
        covariance is the sum of their products.

    Returns
    -------
    Ellipse
        Semi-axes [m] and azimuth [deg]; azimuth 0 for a circle.

    Raises
    ------
    SurveyError
        ``number_not_finite`` and ``number_out_of_range`` with the index of the part.

    References
    ----------
    Semi-axes are the roots of the eigenvalues times 5.99146, the 95 % point of chi-square with two degrees
    of freedom: any text on adjustment.

    Examples
    --------
    >>> ellipse95([(0.0, 2.0), (1.0, 0.0)]).azimuth_deg
    0.0
    """
    parts = [(finite(e, "parts_m", i), finite(n, "parts_m", i)) for i, (e, n) in enumerate(parts_m)]
    ee, en, nn = covariance(parts)
    lean = math.sqrt((nn - ee) * (nn - ee) + 4 * en * en)
    theta = 0.0 if lean <= ROUND * (ee + nn) else math.atan2(2 * en, nn - ee) / 2
    sin, cos = math.sin(theta), math.cos(theta)
    along = across = 0.0
    for e, n in parts:
        a, b = sin * e + cos * n, cos * e - sin * n
        along, across = along + a * a, across + b * b
    azimuth = math.degrees(theta)
    azimuth = azimuth + 180 if azimuth < 0 else azimuth
    azimuth = 0.0 if azimuth > 180 - 1e-9 else azimuth
    return Ellipse(math.sqrt(along * CHI2_95), math.sqrt(across * CHI2_95), azimuth)


def covariance(parts_m: Sequence[Sequence[float]]) -> tuple[float, float, float]:
    """Return the covariance that independent parts add up to.

    Parameters
    ----------
    parts_m : sequence of pair of float, length n >= 0
        East and north shift by one standard deviation of each independent cause [m].

    Returns
    -------
    tuple of float, length 3
        East-east, east-north and north-north [m2].

    References
    ----------
    Propagation of variance to first order: any text on adjustment.

    Examples
    --------
    >>> covariance([(1.0, 2.0)])
    (1.0, 2.0, 4.0)
    """
    ee = en = nn = 0.0
    for e, n in parts_m:
        ee, en, nn = ee + e * e, en + e * n, nn + n * n
    return ee, en, nn


def search_radius_m(semi_major_m: float, position_accuracy_m: float) -> float:
    """Return the radius to look within, around a place walked to with an uncertain position.

    Parameters
    ----------
    semi_major_m : float
        Longer semi-axis of the 95 % ellipse of the place [m].
    position_accuracy_m : float
        95 % radius of the position of who walks there [m]; 0 to leave it out.

    Returns
    -------
    float
        Radius of a circle that holds the place at least 95 times in 100 [m].

    Raises
    ------
    SurveyError
        ``sd_negative`` if either is below zero.

    References
    ----------
    Our own rule: the circle about the ellipse; independent radii add in squares.

    Examples
    --------
    >>> search_radius_m(3.0, 4.0)
    5.0
    """
    own, walker = spread(semi_major_m, "semi_major_m"), spread(position_accuracy_m, "position_accuracy_m")
    return math.sqrt(own * own + walker * walker)
