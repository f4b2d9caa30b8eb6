"""A position known at the far end: the two by two algebra of conditioning a trace on it.

Written on the parts of the errors, not on their covariance, so that nothing cancels.
"""

import math
from collections.abc import Sequence

from ..errors import SurveyError

Part = tuple[float, float]
Root = tuple[float, float, float]
FLAT = 1e-9  # a thinner spread than this, against its length, counts as none


def root(parts_m: Sequence[Part]) -> Root:
    """Return the lower triangular root of the covariance that parts add up to.

    Parameters
    ----------
    parts_m : sequence of pair of float, length n >= 0
        East and north shift by one standard deviation of each independent cause [m].

    Returns
    -------
    tuple of float, length 3
        East, east with north, north [m].

    Raises
    ------
    SurveyError
        ``tie_not_solvable`` if the parts leave a direction without error.

    References
    ----------
    Gram-Schmidt on the rows: any text on linear algebra.

    Examples
    --------
    >>> root([(3.0, 0.0), (0.0, 2.0)])
    (3.0, 0.0, 2.0)
    """
    ee = en = 0.0
    for e, n in parts_m:
        ee, en = ee + e * e, en + e * n
    east = math.sqrt(ee)
    slope = en / ee if ee > 0 else 0.0
    nn = rest = 0.0
    for e, n in parts_m:
        left = n - slope * e
        nn, rest = nn + n * n, rest + left * left
    north = math.sqrt(rest)
    if not east * north > FLAT * (ee + nn):
        raise SurveyError("tie_not_solvable", "tie")
    return east, slope * east, north


def whitened(lower: Root, vector_m: Part) -> Part:
    """Return a difference in units of its standard deviation.

    Parameters
    ----------
    lower : tuple of float, length 3
        As ``root`` gives it [m].
    vector_m : pair of float
        East and north [m].

    Returns
    -------
    pair of float
        Two independent numbers of unit variance; bare ratios.

    References
    ----------
    Forward substitution: any text on linear algebra.

    Examples
    --------
    >>> whitened((2.0, 0.0, 4.0), (2.0, 4.0))
    (1.0, 1.0)
    """
    east, both, north = lower
    first = vector_m[0] / east
    return first, (vector_m[1] - both * first) / north


def solved(lower: Root, vector_m: Part) -> Part:
    """Return the inverse of the covariance times a difference.

    Parameters
    ----------
    lower : tuple of float, length 3
        As ``root`` gives it [m].
    vector_m : pair of float
        East and north [m].

    Returns
    -------
    pair of float
        East and north [1/m].

    References
    ----------
    Forward and back substitution: any text on linear algebra.

    Examples
    --------
    >>> solved((2.0, 0.0, 4.0), (2.0, 4.0))
    (0.5, 0.25)
    """
    east, both, north = lower
    first, second = whitened(lower, vector_m)
    up = second / north
    return (first - both * up) / east, up


def gain(own_m: Sequence[Part], end_m: Sequence[Part], lower: Root) -> tuple[Part, Part]:
    """Return how much of a misclosure at the end belongs to a place.

    Parameters
    ----------
    own_m : sequence of pair of float, length n
        Parts of the place's error [m].
    end_m : sequence of pair of float, length n
        Parts of the far end's error, by the same causes in the same order [m].
    lower : tuple of float, length 3
        Root of the covariance of the far end and its tie together [m].

    Returns
    -------
    pair of pair of float
        Rows east and north; bare ratios.

    References
    ----------
    Gaussian conditioning: any text on adjustment.

    Examples
    --------
    >>> gain([(1.0, 0.0)], [(1.0, 0.0)], (2.0, 0.0, 1.0))
    ((0.25, 0.0), (0.0, 0.0))
    """
    ee = en = ne = nn = 0.0
    for (e, n), (e_end, n_end) in zip(own_m, end_m, strict=True):
        ee, en = ee + e * e_end, en + e * n_end
        ne, nn = ne + n * e_end, nn + n * n_end
    return solved(lower, (ee, en)), solved(lower, (ne, nn))
