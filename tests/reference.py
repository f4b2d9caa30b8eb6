"""The reference values: published or independently computed, each with its source and tolerance."""

import functools
import json
import math
from pathlib import Path

FILE = Path(__file__).resolve().parent.parent / "webapp" / "tables" / "reference_vectors.json"


@functools.cache
def all_cases():
    """Return every reference case, in the order of the file."""
    return json.loads(FILE.read_text(encoding="utf-8"))


def cases(topic):
    """Return the cases of a topic; an unknown topic is a mistake of the test."""
    found = [case for case in all_cases() if case["topic"] == topic]
    assert found, f"no reference case of the topic {topic}"
    return found


def close(computed, expected, tolerance):
    """Is every expected value met?  Lists element by element; null means not defined."""
    if expected is None or computed is None:
        return computed is None and expected is None
    if isinstance(expected, dict):
        if not isinstance(computed, dict):
            return False
        pick = (lambda k: tolerance.get(k, 0)) if isinstance(tolerance, dict) else (lambda k: tolerance)
        return all(k in computed and close(computed[k], v, pick(k)) for k, v in expected.items())
    if isinstance(expected, list):
        same = isinstance(computed, list | tuple) and len(computed) == len(expected)
        return same and all(close(c, e, tolerance) for c, e in zip(computed, expected, strict=True))
    if isinstance(expected, bool | str):
        return computed == expected
    return math.isfinite(computed) and abs(computed - expected) <= tolerance
