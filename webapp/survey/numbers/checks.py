"""One check that every argument of the section and flow modules passes."""

from ..errors import SurveyError


def number_between(value: object, low: float, high: float, field: str, code: str) -> float:
    """Return a number that lies in its range.

    Parameters
    ----------
    low, high : float
        Ends of the range, both allowed [unit of ``value``].

    Returns
    -------
    float
        The value, unchanged [its own unit].

    Raises
    ------
    SurveyError
        ``code`` with ``field`` for a value that is missing, not a number, infinite or out of range.

    Examples
    --------
    >>> number_between(0.3, 0.001, 100.0, "height_m", "size_out_of_range")
    0.3
    """
    if type(value) is float and low <= value <= high:
        return value
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise SurveyError(code, field)
    return float(value)
