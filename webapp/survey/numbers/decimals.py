"""Numbers with so many decimals, the same to the letter on server and phone.

Rounding is half away from zero, made with whole numbers.
"""

import math

from ..errors import SurveyError
from .finite import finite

MINUS = "−"
POWERS = (1, 10, 100, 1000, 10_000, 100_000, 1_000_000)
HALF = 0.5 + 1e-9  # a typed half that binary cannot hold still goes up


def decimal_text(value: float, places: int) -> str:
    """Return a number with so many decimals, rounded half away from zero; never minus zero.

    Raises
    ------
    SurveyError
        ``places_out_of_range``.

    Examples
    --------
    >>> decimal_text(0.125, 2), decimal_text(2.675, 2), decimal_text(-0.001, 2)
    ('0.13', '2.68', '0.00')
    """
    number = finite(value, "value")
    if isinstance(places, bool) or places not in (0, 1, 2, 3, 4, 5, 6):
        raise SurveyError("places_out_of_range", "places")
    whole = math.floor(abs(number) * POWERS[places] + HALF)
    digits = str(whole).rjust(places + 1, "0")
    cut = len(digits) - places
    text = f"{digits[:cut]}.{digits[cut:]}" if places else digits
    return f"{MINUS}{text}" if number < 0 and whole else text


def signed_text(value: float, places: int) -> str:
    """Return a number with its sign, plus included; zero has none.

    >>> signed_text(1.5, 1), signed_text(0.001, 1)
    ('+1.5', '0.0')
    """
    text = decimal_text(value, places)
    return f"+{text}" if value > 0 and text.strip("0.") else text
