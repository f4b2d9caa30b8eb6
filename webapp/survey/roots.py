"""Where a rising function crosses zero: bisection, the same steps on both sides."""

from collections.abc import Callable


def find_root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function that rises from below zero to above it is zero.

    Parameters
    ----------
    rising : callable
        Function of one number; below zero at ``low``, not below zero at ``high``.
    low, high : float
        Ends of the search, ``low`` below ``high`` [unit of the argument].

    Returns
    -------
    float
        The argument, to the last digits that a float holds. Not rounded.

    Raises
    ------
    SurveyError
        Never by itself; what ``rising`` raises passes through.

    References
    ----------
    Bisection, any numerical analysis text.

    Examples
    --------
    >>> round(find_root(lambda x: x * x - 2, 0.0, 2.0), 12)
    1.414213562373
    """
    for _ in range(400):
        middle = low + (high - low) / 2
        if middle <= low or middle >= high:
            break
        if rising(middle) < 0:
            low = middle
        else:
            high = middle
    return low + (high - low) / 2
