"""From a size, or from what is left of a capacity, to a class."""

import math
from collections.abc import Mapping

MILD, SEVERE = 1, 5


def class_by_limits(size: float, limits: Mapping[str, float]) -> int:
    """Return the greatest class whose limit a size reaches.

    Parameters
    ----------
    size : float
        The size, in the unit of the limits [mm, % or degrees].

    Examples
    --------
    >>> class_by_limits(4.999, {"1": 0, "2": 5}), class_by_limits(5, {"1": 0, "2": 5})
    (1, 2)
    """
    reached = min(int(c) for c in limits)
    for one, limit in limits.items():
        if _whole(size, 1000) >= _whole(limit, 1000):
            reached = max(reached, int(one))
    return reached


def class_by_share(left_pct: float, limits: Mapping[str, float]) -> int:
    """Return the class of what is left of a capacity or an area.

    Parameters
    ----------
    left_pct : float
        What is left [%].
    limits : mapping
        Class (as text) to the share at or below which it begins [%].

    Returns
    -------
    int
        1 to 5, a bare class.

    References
    ----------
    Own rule: compared in tenths of a percent.

    Examples
    --------
    >>> class_by_share(80.0, {"2": 95, "3": 80}), class_by_share(80.1, {"2": 95, "3": 80})
    (3, 2)
    """
    reached = MILD
    for one, limit in limits.items():
        if _whole(left_pct, 10) <= _whole(limit, 10):
            reached = max(reached, int(one))
    return reached


def _whole(value: float, per_unit: int) -> int:
    return math.floor(per_unit * value + 0.5)
