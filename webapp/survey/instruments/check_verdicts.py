"""What an instrument check comes to: how far off, whether that is usual, and what is done about it."""

from ..numbers.decimals import decimal_text
from .instruments import Instruments

# Of the true length: City of Sunny Isles Beach (Florida), Section 02762, 3.2 and 3.5.
USUAL_COUNTER_PCT = 0.5
USUAL_ZERO_DEG = 0.2  # common practice, no source
USUAL_TEXT = (
    "Usual: the counter within 0.5 % of a taped length (what a published specification of inspections asks), "
    "the zero of the inclinometer within 0.2 degrees (common practice, no source)."
)
AGAIN = " Check it again before you rely on it."
ROUNDING = 1e-9
# By what the counter and the inclinometer do, each None where it was not checked.
FOUND = {
    (True, True): "Counter {counter}; inclinometer zero {zero} degrees; {fit}.",
    (True, False): "Counter {counter}, {fit}.",
    (False, True): "Inclinometer zero {zero} degrees, {fit}.",
}
DONE = {
    (
        True,
        True,
    ): " From now on distances are {way} by {pct} %, and {deg} degrees are {sign} every inclination.",
    (True, False): " From now on distances are {way} by {pct} %.",
    (False, True): " From now on {deg} degrees are {sign} every inclination.",
}


def verdict_text(instruments: Instruments) -> str:
    """Return what the checks of counter and inclinometer come to.

    >>> from .instruments import instruments_of
    >>> tape = {"check_type": "counter_tape", "counter_from_m": 0.0, "counter_to_m": 20.1}
    >>> check = {"id": "a", "fields": {**tape, "taped_length_m": 20.0}}
    >>> verdict_text(instruments_of([check], "r"))
    'Counter reads 0.5 % long, within the usual. From now on distances are shortened by 0.5 %.'
    """
    checked = (instruments.scale_known != "assumed", instruments.zero_known != "assumed")
    if checked == (False, False):
        return ""
    counts, zeroes = within_usual(instruments)
    values = {
        "counter": _counter(instruments.scale),
        "zero": _size(instruments.zero_deg),
        "fit": _fit(checked, counts, zeroes),
        "way": "shortened" if instruments.scale < 1 else "lengthened",
        "pct": _size(100 * (instruments.scale - 1)),
        "deg": _size(instruments.zero_deg),
        "sign": "taken off" if instruments.zero_deg > 0 else "added to",
    }
    off = (checked[0] and instruments.scale != 1, checked[1] and instruments.zero_deg != 0)
    done = DONE[off] if off in DONE else " Nothing is corrected."
    text = FOUND[checked] + done
    for name, words in values.items():
        text = text.replace("{" + name + "}", words)
    return text if counts and zeroes else text + AGAIN


def within_usual(instruments: Instruments) -> tuple[bool, bool]:
    """Return whether the counter and the zero of the inclinometer are as far off as is usual, or less.

    >>> from .instruments import instruments_of
    >>> within_usual(instruments_of([], "r"))
    (True, True)
    """
    counter = (
        instruments.scale_known == "assumed"
        or abs(_long_pct(instruments.scale)) <= USUAL_COUNTER_PCT + ROUNDING
    )
    zero = instruments.zero_known == "assumed" or abs(instruments.zero_deg) <= USUAL_ZERO_DEG + ROUNDING
    return counter, zero


def _long_pct(scale: float) -> float:
    return 100 * (1 / scale - 1)


def _counter(scale: float) -> str:
    long_pct = _long_pct(scale)
    if long_pct == 0:
        return "agrees with the tape"
    return f"reads {_size(long_pct)} % {'long' if long_pct > 0 else 'short'}"


def _fit(checked: tuple[bool, bool], counter: bool, zero: bool) -> str:
    if checked != (True, True):
        return "within the usual" if counter and zero else "beyond the usual"
    if counter == zero:
        return "both within the usual" if counter else "both beyond the usual"
    return "the inclinometer is beyond the usual" if counter else "the counter is beyond the usual"


def _size(value: float) -> str:
    """A tenth is enough, but for what would be nothing by then."""
    size = abs(value)
    places = 1 if size >= 0.095 or size == 0 else 2 if size >= 0.0095 else 3
    return decimal_text(size, places)
