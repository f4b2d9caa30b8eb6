"""How the number of an observation, a stretch or a run was worked out, step by step."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..numbers.decimals import decimal_text
from ..wording.grading_words import class_words, reason_words, size_text, span_text
from .grading import GOALS

INPUT_WORDS = {
    "water_carried": "the water it carries",
    "protection_zone": "the water protection zone",
    "groundwater": "the groundwater",
    "soil": "the soil around the pipe",
    "clock": "the clock position",
    "at_joint": "whether it is at a joint",
}


def step_words(one: Mapping[str, Any], goal: str, scheme: Mapping[str, Any]) -> list[str]:
    """Return how the number of an observation for one goal was worked out, step by step.

    Parameters
    ----------
    one : mapping
        One of ``graded`` of ``run_grading`` [its length in m].

    References
    ----------
    BFR Abwasser, Annex A-3, Tab. A-3-2 and A-3-3: class to number, then extra points.

    Examples
    --------
    >>> step_words({"classes": {"stability": None}}, "stability", {})
    []
    """
    found = one["classes"][goal]
    if found is None:
        return []
    number, points = one["numbers"][goal], one["points"]
    least, most = (scheme["classes"][found[end]]["number"] for end in ("low", "high"))
    lines = [*reason_words(found, scheme), f"Class to number: {_span(least, most)} points."]
    for index in points["parts"]:
        row = scheme["extra_points"][index]
        if row[goal] is not None:
            lines.append(f"{_signed(row[goal])} points: {row['label']} ({row['source']}).")
    lines.append(f"Number from what is recorded: {_span(number['recorded_low'], number['recorded_high'])}.")
    open_inputs = [name for name in points["missing"] if _matters(name, goal, scheme)]
    if open_inputs:
        listed = missing_words(open_inputs)
        lines.append(
            f"Not known: {listed}. With all that these may add: {_span(number['low'], number['high'])}."
        )
    words = class_words(found["low"], found["high"], scheme)
    return [*lines, f"So: class {words}; {number_words(one, goal, scheme)}."]


def number_words(one: Mapping[str, Any], goal: str, scheme: Mapping[str, Any]) -> str:
    """Return the number of an observation for one goal: the last line of how it was worked out.

    Parameters
    ----------
    one : mapping
        One of ``graded`` of ``run_grading``, with a class for the goal.

    Examples
    --------
    >>> number = {"recorded_low": 200, "recorded_high": 200, "low": 200, "high": 260}
    >>> one = {"numbers": {"stability": number}, "points": {"missing": []}}
    >>> number_words(one, "stability", {"extra_points": []})
    '200 points'
    """
    number, missing = one["numbers"][goal], one["points"]["missing"]
    if any(_matters(name, goal, scheme) for name in missing):
        return f"{_span(number['low'], number['high'])} points"
    return f"{_span(number['recorded_low'], number['recorded_high'])} points"


def missing_words(names: Sequence[str]) -> str:
    """Return the inputs that are not recorded, in words.

    Parameters
    ----------
    names : sequence of str
        ``missing`` of ``extra_points``.

    Examples
    --------
    >>> missing_words(["soil", "clock"])
    'the soil around the pipe, the clock position'
    """
    return ", ".join(INPUT_WORDS[name] for name in names)


def object_words(summary: Mapping[str, Any], scheme: Mapping[str, Any]) -> list[str]:
    """Return the object number of a stretch or a run, its class and its damage-length number.

    Parameters
    ----------
    summary : mapping
        ``run`` or one of ``stretches`` of ``run_grading`` [points, points times m].

    References
    ----------
    BFR Abwasser, Annex A-3; the step back from number to class is our own rule.

    Examples
    --------
    >>> object_words({"number_low": None}, {})
    ['Nothing was graded, so there is no number.']
    """
    if summary["number_low"] is None:
        return ["Nothing was graded, so there is no number."]
    number = _span(summary["number_low"], summary["number_high"])
    words = class_words(summary["class_low"], summary["class_high"], scheme)
    meaning = scheme["classes"][summary["class_high"]]["meaning"]
    lines = [f"Greatest number, from what is recorded: {number}. That is class {words}: {meaning}."]
    if (summary["bound_low"], summary["bound_high"]) != (summary["number_low"], summary["number_high"]):
        bounds = _span(summary["bound_low"], summary["bound_high"])
        lines.append(f"With what is not recorded it may be {bounds} (bounded).")
    low, high = summary["length_number_low"], summary["length_number_high"]
    if high is None:
        lines.append(
            f"Damage-length number: at least {decimal_text(low, 0)} points m; a length is not known."
        )
    else:
        span = span_text(decimal_text(low, 0), decimal_text(high, 0))
        lines.append(f"Damage-length number: {span} points m (computed).")
    return lines


def _span(low: float, high: float) -> str:
    return span_text(size_text(low), size_text(high))


def _signed(value: float) -> str:
    return f"+{size_text(value)}" if value > 0 else size_text(value)


def _matters(name: str, goal: str, scheme: Mapping[str, Any]) -> bool:
    return goal in GOALS and any(
        row["input"] == name and row[goal] is not None for row in scheme["extra_points"]
    )
