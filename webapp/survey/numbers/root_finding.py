"""Where a rising function crosses zero: halving, then Chandrupatla's method; the same steps on both sides."""

import math
from collections.abc import Callable

SAME = 4e-16  # ends that differ by less, relative to their size, are one number


def find_root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function that rises from below zero to above it is zero.

    Parameters
    ----------
    rising : callable
        Function of one number; below zero at ``low``, not below zero at ``high``. It is not asked at the
        two ends themselves.
    low, high : float
        Ends of the search, ``low`` below ``high`` [unit of the argument].

    References
    ----------
    T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149: inverse quadratic interpolation
    where it is sure to be near, halving elsewhere. From memory, fairly sure.

    Examples
    --------
    >>> round(find_root(lambda x: x * x - 2, 0.0, 2.0), 12)
    1.414213562373
    """
    newest, other, third = low, high, low
    value, other_value, third_value = math.nan, math.nan, math.nan
    below, share = True, 0.5
    for _ in range(400):
        here = newest + share * (other - newest)
        if not min(newest, other) < here < max(newest, other):
            here = newest + (other - newest) / 2
        if not min(newest, other) < here < max(newest, other):
            break
        found = rising(here)
        if found == 0:
            return here
        if (found < 0) == below:
            third, third_value = newest, value
        else:
            third, third_value = other, other_value
            other, other_value = newest, value
            below = not below
        newest, value = here, found
        least = SAME * abs(newest) / abs(other - newest)
        if least > 0.5:
            break
        share = _share(newest, other, third, value, other_value, third_value)
        share = min(max(share, least), 1 - least)
    return newest + (other - newest) / 2


def _share(newest: float, other: float, third: float, value: float, opposite: float, last: float) -> float:
    """Where between the newest end and the other to ask next: interpolated if that is sure, else half way."""
    if not math.isfinite(value + opposite + last) or last in (value, opposite):
        return 0.5
    place = (newest - other) / (third - other)
    height = (value - opposite) / (last - opposite)
    if height * height >= place or (1 - height) * (1 - height) >= 1 - place:
        return 0.5
    first = value / (opposite - value) * (last / (opposite - last))
    second = (third - newest) / (other - newest) * (value / (last - value)) * (opposite / (last - opposite))
    return first + second
