"""What an instrument check comes to: how far off, whether that is usual, what is done about it."""

from ..instruments.instruments import Instruments
from .messages import Words, message, sentences
from .quantities import fixed_text

# Of the true length: City of Sunny Isles Beach (Florida), Section 02762, 3.2 and 3.5.
USUAL_COUNTER_PCT = 0.5
USUAL_ZERO_DEG = 0.2  # common practice, no source
ROUNDING = 1e-9


def verdict_text(words: Words, instruments: Instruments) -> str:
    """Return what the checks of the counter and the inclinometer come to; empty where neither was checked."""
    counter_checked, zero_checked = instruments.scale_known != "assumed", instruments.zero_known != "assumed"
    if not counter_checked and not zero_checked:
        return ""
    usual, deg = within_usual(instruments), _size(words, instruments.zero_deg)
    values = {
        "long": _size(words, _long_pct(instruments.scale)),
        "zero": deg,
        "pct": _size(words, 100 * (instruments.scale - 1)),
        "deg": deg,
    }
    corrected = []
    if counter_checked and instruments.scale != 1:
        corrected.append("shortened" if instruments.scale < 1 else "lengthened")
    if zero_checked and instruments.zero_deg != 0:
        corrected.append("less" if instruments.zero_deg > 0 else "more")
    keys = [
        _found_key(instruments, usual),
        "_".join(corrected) or "nothing",
        *([] if all(usual) else ["again"]),
    ]
    return sentences(words, (message(words, f"survey.check.{key}", values) for key in keys))


def _found_key(instruments: Instruments, usual: tuple[bool, bool]) -> str:
    both = instruments.scale_known != "assumed" and instruments.zero_known != "assumed"
    fit = "usual" if all(usual) else "beyond"
    if instruments.scale_known == "assumed":
        return f"zero_{fit}"
    long_pct = _long_pct(instruments.scale)
    counter = "agrees" if long_pct == 0 else "long" if long_pct > 0 else "short"
    if both and usual[0] != usual[1]:
        return f"both_{counter}_{'zero_beyond' if usual[0] else 'counter_beyond'}"
    return f"{'both' if both else 'counter'}_{counter}_{fit}"


def usual_text(words: Words) -> str:
    """Return what is usual, and who says so."""
    usual = {
        "counter_pct": fixed_text(words, USUAL_COUNTER_PCT, 1),
        "zero_deg": fixed_text(words, USUAL_ZERO_DEG, 1),
    }
    return message(words, "survey.check.usual", usual)


def within_usual(instruments: Instruments) -> tuple[bool, bool]:
    """Return whether the counter and the zero of the inclinometer are within what is usual."""
    counter = (
        instruments.scale_known == "assumed"
        or abs(_long_pct(instruments.scale)) <= USUAL_COUNTER_PCT + ROUNDING
    )
    zero = instruments.zero_known == "assumed" or abs(instruments.zero_deg) <= USUAL_ZERO_DEG + ROUNDING
    return counter, zero


def _long_pct(scale: float) -> float:
    return 100 * (1 / scale - 1)


def _size(words: Words, value: float) -> str:
    """A tenth is enough, but for what would be nothing by then."""
    size = abs(value)
    places = 1 if size >= 0.095 or size == 0 else 2 if size >= 0.0095 else 3
    return fixed_text(words, size, places)
