"""Numbers that arithmetic can go on with: no text, no truth value, no NaN, nothing absurd."""

from ..errors import SurveyError

LARGEST = 1.7976931348623157e308
FAR = 1e9  # no length, level or coordinate of this trade is larger [m]


def finite(value: object, field: str, index: int | None = None) -> float:
    """Return a number as it is, or refuse it by name.

    Raises
    ------
    SurveyError
        ``number_not_finite`` for text, none, a truth value, NaN or an infinity; ``number_out_of_range``
        beyond 1,000,000,000.

    Examples
    --------
    >>> finite(2.5, "length_m")
    2.5
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SurveyError("number_not_finite", field, index)
    if not -LARGEST <= value <= LARGEST:  # false for NaN as well
        raise SurveyError("number_not_finite", field, index)
    if not -FAR <= value <= FAR:
        raise SurveyError("number_out_of_range", field, index)
    return float(value)


def spread(value: object, field: str, index: int | None = None) -> float:
    """Return a standard deviation as it is, or refuse it by name.

    Raises
    ------
    SurveyError
        ``sd_negative`` below zero.

    Examples
    --------
    >>> spread(0.5, "sd_m")
    0.5
    """
    number = finite(value, field, index)
    if number < 0:
        raise SurveyError("sd_negative", field, index)
    return number
