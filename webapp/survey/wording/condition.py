"""Condition classes and how they came about, in words."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..grading.grading import GOALS
from .messages import Words, listed, message
from .quantities import fixed_text, size_text, span_text, unit_text
from .sight import MIN_M

Item = Mapping[str, Any]


def goal_word(words: Words, goal: str) -> str:
    """Return the name of a goal."""
    return message(words, f"survey.grading.goal.{goal}", {})


def goal_letter(words: Words, goal: str) -> str:
    """Return the letter that stands for a goal where there is no room for its name."""
    return message(words, f"survey.grading.letter.{goal}", {})


def class_words(words: Words, low: int, high: int, scheme: Item) -> str:
    """Return a class with its word, or the two that it lies between."""
    names = [one["word"] for one in scheme["classes"]]
    if high == 0:
        return str(names[0])
    if low == high:
        return message(words, "survey.grading.class", {"class": str(high), "word": names[high]})
    values = {"low": str(low), "low_word": names[low], "high": str(high), "high_word": names[high]}
    return message(words, "survey.grading.class_between", values)


def known_class_words(
    words: Words, low: int, high: int, unseen_m: float | None, length_m: float | None, scheme: Item
) -> str:
    """Return a class beside the length [m] of which it is not known, since it was not seen."""
    found = class_words(words, low, high, scheme)
    not_known = message(words, "survey.not_known", {})
    if unseen_m is None:
        return not_known if high == 0 else message(words, "survey.grading.as_recorded", {"class": found})
    if unseen_m <= MIN_M:
        return found
    values = {"class": found, "unseen_m": fixed_text(words, unseen_m, 2)}
    if high != 0:
        return message(words, "survey.grading.not_known_over", values)
    whole = length_m is not None and length_m - unseen_m <= MIN_M
    return not_known if whole else message(words, "survey.grading.in_what_was_seen", values)


def basis_words(words: Words, one: Item, scheme: Item) -> str:
    """Return whose limits a class rests on."""
    row = scheme["rows"][one["row"]]
    basis, source, certainty = row["basis"], row["source"], row["certainty"]
    if one["rule"] == "capacity":
        basis, source = scheme["narrowing_basis"], scheme["narrowing_source"]
        certainty = scheme["narrowing_certainty"]
    if basis == "indicative":
        return message(words, "survey.grading.indicative", {})
    return message(words, "survey.grading.basis", {"source": source, "certainty": certainty})


def reason_words(words: Words, one: Item, scheme: Item) -> list[str]:
    """Return how a class came about, sentence by sentence."""
    values = {
        "class": class_words(words, one["low"], one["high"], scheme),
        "basis": basis_words(words, one, scheme),
    }
    lines = [_reached(words, one, values)]
    if one["left_of"] == "capacity":
        lines.append(message(words, "survey.grading.as_if_along", {}))
    for code in one["findings"]:
        key = f"survey.grading.finding.{code}"
        other = "survey.grading.not_computed"
        lines.append(message(words, key, {}) if key in words else message(words, other, {"code": code}))
    note = scheme["rows"][one["row"]].get("note")
    if note:
        lines.append(note)
    if one["review"]:
        lines.append(message(words, "survey.grading.review", {}))
    return lines


def _reached(words: Words, one: Item, values: Mapping[str, str]) -> str:
    if one["left_of"] is not None:
        low, high = (fixed_text(words, one[name], 1) for name in ("left_low_pct", "left_high_pct"))
        of = "capacity" if one["left_of"] == "capacity" else "area"
        key = f"survey.grading.leaves_{of}{'' if low == high else '_bounded'}"
        return message(words, key, {**values, "left": span_text(words, low, high)})
    if one["low"] != one["high"] or one["findings"]:
        return message(words, "survey.grading.class_basis", values)
    if one["rule"] == "limits":
        sizes = {
            "size": size_text(words, one["quantity"]),
            "limit": size_text(words, one["limit"]),
            "unit": unit_text(words, one["unit"]),
        }
        return message(words, "survey.grading.from_limit", {**values, **sizes})
    return message(words, "survey.grading.whatever_size", values)


def step_words(words: Words, one: Item, goal: str, scheme: Item) -> list[str]:
    """Return how the number of an observation was worked out, step by step; empty without a class."""
    found = one["classes"][goal]
    if found is None:
        return []
    number, points = one["numbers"][goal], one["points"]
    least, most = (scheme["classes"][found[end]]["number"] for end in ("low", "high"))
    lines = reason_words(words, found, scheme)
    lines.append(message(words, "survey.grading.to_number", {"points": _span(words, least, most)}))
    for index in points["parts"]:
        row = scheme["extra_points"][index]
        if row[goal] is not None:
            values = {"points": _signed(words, row[goal]), "label": row["label"], "source": row["source"]}
            lines.append(message(words, "survey.grading.extra", values))
    recorded = _span(words, number["recorded_low"], number["recorded_high"])
    lines.append(message(words, "survey.grading.recorded", {"number": recorded}))
    open_inputs = [name for name in points["missing"] if _matters(name, goal, scheme)]
    if open_inputs:
        values = {
            "missing": missing_words(words, open_inputs),
            "number": _span(words, number["low"], number["high"]),
        }
        lines.append(message(words, "survey.grading.missing", values))
    values = {
        "class": class_words(words, found["low"], found["high"], scheme),
        "number": number_words(words, one, goal, scheme),
    }
    return [*lines, message(words, "survey.grading.so", values)]


def number_words(words: Words, one: Item, goal: str, scheme: Item) -> str:
    """Return the number of an observation in points, with its bounds where inputs are missing."""
    number, missing = one["numbers"][goal], one["points"]["missing"]
    ends = (
        ("low", "high")
        if any(_matters(n, goal, scheme) for n in missing)
        else ("recorded_low", "recorded_high")
    )
    points = _span(words, number[ends[0]], number[ends[1]])
    return message(words, "survey.grading.points", {"points": points})


def missing_words(words: Words, names: Sequence[str]) -> str:
    """Return the inputs that are not recorded, as a list."""
    return listed(words, (message(words, f"survey.grading.input.{name}", {}) for name in names))


def object_words(words: Words, summary: Item, scheme: Item) -> list[str]:
    """Return the numbers of a run in the frame of the guideline."""
    if summary["number_low"] is None:
        return [message(words, "survey.grading.no_number", {})]
    values = {
        "number": _span(words, summary["number_low"], summary["number_high"]),
        "class": class_words(words, summary["class_low"], summary["class_high"], scheme),
        "meaning": scheme["classes"][summary["class_high"]]["meaning"],
    }
    lines = [message(words, "survey.grading.greatest", values)]
    if (summary["bound_low"], summary["bound_high"]) != (summary["number_low"], summary["number_high"]):
        bounds = _span(words, summary["bound_low"], summary["bound_high"])
        lines.append(message(words, "survey.grading.may_be", {"number": bounds}))
    low, high = summary["length_number_low"], summary["length_number_high"]
    if high is None:
        lines.append(message(words, "survey.grading.length_at_least", {"number": fixed_text(words, low, 0)}))
    else:
        span = span_text(words, fixed_text(words, low, 0), fixed_text(words, high, 0))
        lines.append(message(words, "survey.grading.length", {"number": span}))
    return lines


def _span(words: Words, low: float, high: float) -> str:
    return span_text(words, size_text(words, low), size_text(words, high))


def _signed(words: Words, value: float) -> str:
    return f"+{size_text(words, value)}" if value > 0 else size_text(words, value)


def _matters(name: str, goal: str, scheme: Item) -> bool:
    return goal in GOALS and any(
        row["input"] == name and row[goal] is not None for row in scheme["extra_points"]
    )
