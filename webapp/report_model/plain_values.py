"""Numbers without the noise of binary arithmetic, for every file and JSON that is read."""

import math
from collections.abc import Mapping
from typing import Any

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
