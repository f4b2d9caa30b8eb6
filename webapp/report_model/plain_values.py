"""Numbers without the noise of binary arithmetic, for every file and JSON that is read."""

import math
from collections.abc import Mapping
from typing import Any

from ..survey.wording.messages import Words, message, number_text
from ..survey.wording.quantities import unit_text

SENSES = ("rising", "falling", "level")
DIGITS = 9  # a nanometre, a tenth of a millimetre on the ground in degrees: beyond it nothing was measured


def noise_free(value: float) -> float:
    """Return a number with at most nine decimals, never minus zero; one beyond 1e15 has no noise to lose."""
    return value if abs(value) >= 1e15 or not math.isfinite(value) else round(value, DIGITS) + 0.0


def plain_values(value: Any) -> Any:
    """Return plain data as JSON holds it, each number without noise."""
    if isinstance(value, Mapping):
        return {name: plain_values(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain_values(one) for one in value]
    return noise_free(value) if isinstance(value, float) else value


def short_text(words: Words, value: float) -> str:
    """Return a number as a reader writes it: no exponent, as few decimals as it needs, at most nine."""
    text = f"{noise_free(float(value)):.{DIGITS}f}"
    return number_text(words, text.rstrip("0").rstrip(".").replace("-", "−"))


def sized(words: Words, value: float, unit: str) -> str:
    """Return a number as it was recorded, with its unit if it has one."""
    size = short_text(words, value)
    return message(words, "pack.sized", {"size": size, "unit": unit_text(words, unit)}) if unit else size


def sense_word(words: Words, sense: str | None) -> str:
    """Return which way an inclination goes ahead, in words; empty where nothing was recorded."""
    return message(words, f"pack.sense.{sense}", {}) if sense in SENSES else ""
