"""The inclinometer's zero: read on a surface, turned round, read again."""

import math

from ..errors import SurveyError
from ..numbers.finite import finite, spread


def zero_from_reversal(forward_deg: float, reversed_deg: float, sd_deg: float) -> tuple[float, float]:
    """Return the zero error of an inclinometer from a reading each way on the same surface.

    Parameters
    ----------
    forward_deg, reversed_deg : float
        Readings [deg] facing one way and turned round on the same place.
    sd_deg : float
        Standard deviation of one reading [deg].

    Returns
    -------
    tuple of float
        Zero error [deg], to be taken off every reading, and its standard deviation [deg].

    Raises
    ------
    SurveyError
        ``number_not_finite``; ``sd_negative``; ``inclination_beyond_vertical`` beyond 90 degrees.

    References
    ----------
    Reversal: the slope changes its sign and the zero error does not, so it is half the sum; any text on
    levelling instruments.

    Examples
    --------
    >>> zero, sd = zero_from_reversal(1.3, -0.9, 0.1)
    >>> round(zero, 6), round(sd, 6)
    (0.2, 0.070711)
    """
    spread(sd_deg, "sd_deg")
    for name, value in (("forward_deg", forward_deg), ("reversed_deg", reversed_deg)):
        if abs(finite(value, name)) > 90:
            raise SurveyError("inclination_beyond_vertical", name)
    return (forward_deg + reversed_deg) / 2, sd_deg / math.sqrt(2)
