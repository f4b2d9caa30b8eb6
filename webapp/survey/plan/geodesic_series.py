"""Series of the geodesic on an ellipsoid: how arc, distance and longitude hang together.

Everything is to the sixth power of a small number, which for the earth is far below a micrometre.
"""

import math
from collections.abc import Sequence

from ..errors import SurveyError

Series = tuple[float, tuple[float, ...]]


def expansion(k2: float) -> float:
    """Return the expansion parameter of a geodesic.

    Raises
    ------
    SurveyError
        ``number_out_of_range`` if ``k2`` is negative or not a number.

    References
    ----------
    Karney, Algorithms for geodesics, J. Geodesy 87 (2013), eq. 16, doi 10.1007/s00190-012-0578-z.

    Examples
    --------
    >>> expansion(0.0)
    0.0
    """
    if not k2 >= 0:
        raise SurveyError("number_out_of_range", "k2")
    return k2 / (2 * (1 + math.sqrt(1 + k2)) + k2)


def distance_series(eps: float) -> Series:
    """Return the series from arc to distance.

    Raises
    ------
    SurveyError
        ``number_out_of_range`` if ``eps`` is not in [0, 0.1].

    References
    ----------
    Karney (2013), eq. 17 and 18.

    Examples
    --------
    >>> distance_series(0.0)[0]
    1.0
    """
    e = _small(eps)
    e2 = e * e
    factor = (1 + e2 * (1 / 4 + e2 * (1 / 64 + e2 / 256))) / (1 - e)
    return factor, (
        e * (-1 / 2 + e2 * (3 / 16 - e2 / 32)),
        e2 * (-1 / 16 + e2 * (1 / 32 - 9 * e2 / 2048)),
        e * e2 * (-1 / 48 + 3 * e2 / 256),
        e2 * e2 * (-5 / 512 + 3 * e2 / 512),
        e * e2 * e2 * (-7 / 1280),
        e2 * e2 * e2 * (-7 / 2048),
    )


def arc_series(eps: float) -> Series:
    """Return the series from distance back to arc.

    Raises
    ------
    SurveyError
        ``number_out_of_range`` if ``eps`` is not in [0, 0.1].

    References
    ----------
    Karney (2013), eq. 20 and 21.

    Examples
    --------
    >>> arc_series(0.0)[1][0]
    0.0
    """
    e = _small(eps)
    e2 = e * e
    return 1.0, (
        e * (1 / 2 + e2 * (-9 / 32 + 205 * e2 / 1536)),
        e2 * (5 / 16 + e2 * (-37 / 96 + 1335 * e2 / 4096)),
        e * e2 * (29 / 96 - 75 * e2 / 128),
        e2 * e2 * (539 / 1536 - 2391 * e2 / 2560),
        e * e2 * e2 * (3467 / 7680),
        e2 * e2 * e2 * (38081 / 61440),
    )


def longitude_series(eps: float, n: float) -> Series:
    """Return the series from arc to the difference between the longitudes of sphere and ellipsoid.

    Raises
    ------
    SurveyError
        ``number_out_of_range`` if ``eps`` is not in [0, 0.1].

    References
    ----------
    Karney (2013), eq. 24 and 25.

    Examples
    --------
    >>> longitude_series(0.0, 0.0017)[0]
    1.0
    """
    e = _small(eps)
    n2 = n * n
    a2 = 1 / 4 + n / 8 - 3 * n2 / 8
    a3 = 1 / 16 + 3 * n / 16 + n2 / 16
    factor = 1 - e * ((1 - n) / 2 + e * (a2 + e * (a3 + e * (3 / 64 + n / 32 + e * 3 / 128))))
    c1 = (1 - n) / 4 + e * (
        (1 - n2) / 8 + e * ((3 + 3 * n - n2) / 64 + e * ((5 + 2 * n) / 128 + e * 3 / 128))
    )
    c2 = (2 - 3 * n + n2) / 32 + e * ((3 - 2 * n - 3 * n2) / 64 + e * ((3 + n) / 128 + e * 5 / 256))
    c3 = (5 - 9 * n + 5 * n2) / 192 + e * ((9 - 10 * n) / 384 + e * 7 / 512)
    c4 = (7 - 14 * n) / 512 + e * 7 / 512
    e2 = e * e
    return factor, (e * c1, e2 * c2, e * e2 * c3, e2 * e2 * c4, e * e2 * e2 * 21 / 2560)


def between(series: Series, first: float, second: float, arc: float) -> float:
    """Return what a series adds up to between two arcs, without losing figures on a short line.

    Parameters
    ----------
    arc : float
        ``second`` less ``first``, in radians, known better than by taking the difference.

    References
    ----------
    sin a - sin b = 2 cos((a + b)/2) sin((a - b)/2).

    Examples
    --------
    >>> between((1.0, ()), 0.0, 0.5, 0.5)
    0.5
    """
    factor, coefficients = series
    total = arc
    for place, c in enumerate(coefficients):
        times = place + 1
        total += 2 * c * math.cos(times * (first + second)) * math.sin(times * arc)
    return factor * total


def wave(coefficients: Sequence[float], arc: float) -> float:
    """Return the sum of c sin 2l arc.

    Parameters
    ----------
    coefficients : sequence of float, length n >= 0
        Of sin 2 arc, sin 4 arc ...

    References
    ----------
    Karney (2013), eq. 15.

    Examples
    --------
    >>> wave((1.0,), 0.0)
    0.0
    """
    total = 0.0
    for place, c in enumerate(coefficients):
        total += c * math.sin(2 * (place + 1) * arc)
    return total


def _small(eps: float) -> float:
    if not 0 <= eps <= 0.1:
        raise SurveyError("number_out_of_range", "eps")
    return eps
