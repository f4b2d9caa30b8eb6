"""Reference values against the product's own functions.

A reference value (a *vector*) is an object with ``id``, ``topic``, ``inputs``, ``expected``,
``tolerance`` (absolute, by key of ``expected``; what has none must be met exactly) and ``source``.
"""

import math
from dataclasses import asdict, dataclass
from typing import Any

from ..survey.errors import SurveyError
from .topics import Figure, topics
from .watched import Values, Watched

TURNS = ("azimuth_deg", "longitude_deg", "heading_deg", "headings_deg", "bearing_deg")

LARGEST = 1e300

# Inputs that say what a value is and that nothing is computed with: by topic, and what they may be where
# another one would be another value. What no function asks for and is not here is an error.
TOLD: dict[str, dict[str, tuple[str, ...] | None]] = {
    "colebrook_white_part_full": {"nominal_diameter_m": None},
    "geodesic_direct": {"ellipsoid": ("WGS84", "GRS80")},  # a tenth of a millimetre apart
    "grid_convergence": {"ellipsoid": None, "projection": None},  # within every tolerance the same
    "ovality": {"definition": None},
    "part_full_equal_to_full": {"quantity": ("discharge equal to full bore",)},
    "plan_trace": {"name": None},
    "uncertain_profile": {"name": None},
}
SAME = 1e-9  # a gradient given twice is one gradient


@dataclass(frozen=True)
class Row:
    """One vector, evaluated.  ``ok`` is None when the product does not compute its topic."""

    id: str
    topic: str
    computed: Values | None
    expected: Values
    tolerance: Any
    ok: bool | None
    failed: list[str]
    error: str | None
    source: Any

    def as_json(self) -> Values:
        """Return the row as plain values, infinities and NaN as text."""
        return {key: _plain(value) for key, value in asdict(self).items()}


def fault_of(vector: Any) -> str | None:
    """Return what is wrong with the form of a vector, or None."""
    if not isinstance(vector, dict):
        return "it is not an object"
    for key in ("id", "topic"):
        if not isinstance(vector.get(key), str) or not vector[key].strip():
            return f"{key} must be text"
    if not isinstance(vector.get("inputs"), dict):
        return "inputs must be an object"
    if not isinstance(vector.get("expected"), dict) or not vector["expected"]:
        return "expected must be an object with at least one value"
    if not _sound(vector["expected"]):
        return "expected holds something other than finite numbers, text, truth values and null"
    if not _tolerable(vector.get("tolerance", {})):
        return "tolerance must be a number of zero or more for each key of expected"
    return None


def evaluate(vectors: list[Values], figures: dict[str, Figure] | None = None) -> list[Row]:
    """Return one row for each vector, in order; the vectors have no fault."""
    known = topics() if figures is None else figures
    return [_row(vector, known.get(vector["topic"])) for vector in vectors]


def meets(key: str, computed: Any, expected: Any, tolerance: Any) -> bool:
    """Is a value met?  Lists element by element; null means not defined; directions go round."""
    if expected is None or computed is None:
        return computed is None and expected is None
    if isinstance(expected, dict):
        if not isinstance(computed, dict):
            return False
        inner = "ellipse " if "ellipse" in key else ""
        return all(
            k in computed and meets(inner + k, computed[k], v, _for(tolerance, k))
            for k, v in expected.items()
        )
    if isinstance(expected, list):
        if not isinstance(computed, list | tuple) or len(computed) != len(expected):
            return False
        return all(meets(key, c, e, tolerance) for c, e in zip(computed, expected, strict=True))
    if isinstance(expected, bool | str) or isinstance(computed, bool | str):
        return type(computed) is type(expected) and bool(computed == expected)
    if not math.isfinite(computed):
        return False
    return _apart(key, computed, expected) <= (tolerance if isinstance(tolerance, int | float) else 0)


def _row(vector: Values, figure: Figure | None) -> Row:
    expected, tolerance = vector["expected"], vector.get("tolerance", {})
    head = (vector["id"], vector["topic"])
    source = vector.get("source")
    if figure is None:
        return Row(*head, None, expected, tolerance, None, [], None, source)
    error, values = None, {}
    inputs = Watched(vector["inputs"])
    try:
        values = figure(inputs)
        error = _passed_over(vector["topic"], inputs)
    except SurveyError as refused:
        error = refused.code
    except KeyError as missing:
        error = f"input_missing {missing.args[0] if missing.args else ''}".strip()
    except Exception:  # whatever it trips over, this value is not met and the others go on
        error = "input_unusable"
    failed = [k for k, v in expected.items() if error or k not in values or not _met(k, values, v, tolerance)]
    computed = None if error else {key: values.get(key) for key in expected}
    return Row(*head, computed, expected, tolerance, not failed, failed, error, source)


def _passed_over(topic: str, inputs: Watched) -> str | None:
    """The first input that nothing was computed with and that is not known for that, as an error."""
    told = TOLD.get(topic, {})
    for name in inputs.unasked():
        value = inputs.get(name)
        if name == "gradient_one_in" and "gradient" in inputs:
            if not abs(inputs["gradient"] * value - 1) <= SAME:
                return f"inputs_differ {name}"
        elif name not in told or value not in (told[name] or (value,)):
            return f"input_unknown {name}"
    return None


def _met(key: str, values: Values, expected: Any, tolerance: Any) -> bool:
    try:
        return meets(key, values[key], expected, _for(tolerance, key))
    except TypeError:  # a number was expected, and something else was computed
        return False


def _for(tolerance: Any, key: str) -> Any:
    return tolerance.get(key, 0) if isinstance(tolerance, dict) else tolerance


def _apart(key: str, computed: float, expected: float) -> float:
    """How far two values are apart; 359.9 and 0.1 degrees are near each other."""
    apart = abs(computed - expected)
    if not key.endswith(TURNS):
        return apart
    whole = 180 if "ellipse" in key else 360
    rest = apart % whole
    return min(rest, whole - rest)


def _sound(value: Any) -> bool:
    if isinstance(value, dict):
        return all(_sound(v) for v in value.values())
    if isinstance(value, list):
        return all(_sound(v) for v in value)
    return value is None or isinstance(value, str | bool) or abs(value) <= LARGEST


def _tolerable(value: Any) -> bool:
    if isinstance(value, dict):
        return all(_tolerable(v) for v in value.values())
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and 0 <= value <= LARGEST


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value if value is None or isinstance(value, str | bool | int | float) else str(value)
