"""Condition classes in words: the class, what it rests on, how it was worked out."""

from collections.abc import Mapping
from typing import Any

from ..numbers.decimals import decimal_text

PRELIMINARY = "Preliminary until an engineer confirms it."
GOAL_WORDS = {"tightness": "Tightness", "stability": "Stability", "operation": "Operation"}
FINDING_WORDS = {
    "size_not_recorded": "Its size was not recorded.",
    "kind_not_recorded": "Its kind was not recorded.",
    "pattern_not_recorded": "Whether it is one crack or several was not recorded.",
    "pipe_not_known": "Whether the pipe is rigid or flexible is not known: its material was not recorded.",
    "size_not_known": "The size of the pipe is not known.",
    "shape_not_known": "The shape of the pipe is not known.",
    "only_round_pipes": "For a pipe that is not round the capacity left cannot be computed.",
    "beyond_half": "Beyond half the diameter nothing can be computed.",
    "step_as_deposit": "The step was taken as a bar across the invert.",
    "width_of_it_not_known": "How wide it is was not recorded: at worst it reaches from wall to wall.",
    "disputed": "Two values stand in dispute; the class spans both.",
    "rests_on_area": "Judged by the area alone.",
    "gradient_assumed": "The fall is not known; 1 in 100 was assumed, which hardly matters for a share.",
}


def class_words(low: int, high: int, scheme: Mapping[str, Any]) -> str:
    """Return a class, or an interval of classes, with its word.

    Returns
    -------
    str
        ``3, marked`` or ``between 2, minor, and 4, serious``; no unit.

    Examples
    --------
    >>> class_words(0, 0, {"classes": [{"word": "nothing found"}]})
    'nothing found'
    """
    words = [one["word"] for one in scheme["classes"]]
    if high == 0:
        return str(words[0])
    if low == high:
        return f"{high}, {words[high]}"
    return f"between {low}, {words[low]}, and {high}, {words[high]}"


def basis_words(one: Mapping[str, Any], scheme: Mapping[str, Any]) -> str:
    """Return whose limit a class rests on.

    Parameters
    ----------
    one : mapping
        A class of ``classes_of``; of a share left [%] the limits are those of the scheme for shares.

    Returns
    -------
    str
        ``indicative, limits of this project``, or the source with how sure it is.

    Examples
    --------
    >>> row = {"basis": "indicative", "source": "", "certainty": ""}
    >>> basis_words({"row": 0, "rule": "flat"}, {"rows": [row]})
    'indicative, limits of this project'
    """
    row = scheme["rows"][one["row"]]
    basis, source, certainty = row["basis"], row["source"], row["certainty"]
    if one["rule"] == "capacity":
        basis, source = scheme["narrowing_basis"], scheme["narrowing_source"]
        certainty = scheme["narrowing_certainty"]
    if basis == "indicative":
        return "indicative, limits of this project"
    return f"{source} ({certainty})"


def reason_words(one: Mapping[str, Any], scheme: Mapping[str, Any]) -> list[str]:
    """Return why an observation has its class.

    Parameters
    ----------
    one : mapping
        A class of ``classes_of`` [its quantity in its unit, shares in %].

    Examples
    --------
    >>> row = {"basis": "indicative", "source": "", "certainty": "", "note": ""}
    >>> scheme = {"rows": [row], "classes": [{"word": w} for w in "abcdef"]}
    >>> one = {"row": 0, "rule": "flat", "low": 4, "high": 4, "quantity": None, "review": True,
    ...        "findings": [], "left_of": None}
    >>> reason_words(one, scheme)[0]
    'Class 4, e, for what it is, whatever its size (indicative, limits of this project).'
    """
    words = class_words(one["low"], one["high"], scheme)
    basis = basis_words(one, scheme)
    if one["left_of"] is not None:
        left = _share_words(one)
        lines = [f"It leaves {left}: class {words} ({basis})."]
        if one["left_of"] == "capacity":
            lines.append("Computed as if it went on along the pipe, at the roughness of the wall.")
    elif one["low"] != one["high"] or one["findings"]:
        lines = [f"Class {words} ({basis})."]
    elif one["rule"] == "limits":
        size, limit = size_text(one["quantity"]), size_text(one["limit"])
        reached = f"class {words}, from {limit} {one['unit']}"
        lines = [f"{size} {one['unit']}: {reached} ({basis})."]
    else:
        lines = [f"Class {words}, for what it is, whatever its size ({basis})."]
    lines += [FINDING_WORDS.get(code, f"It could not be computed ({code}).") for code in one["findings"]]
    note = scheme["rows"][one["row"]].get("note")
    if note:
        lines.append(note)
    if one["review"]:
        lines.append("The code says too little for more: to be reviewed by an engineer.")
    return lines


def _share_words(one: Mapping[str, Any]) -> str:
    low, high = (decimal_text(one[name], 1) for name in ("left_low_pct", "left_high_pct"))
    of = "of the clean full-bore capacity" if one["left_of"] == "capacity" else "of the clean area"
    known = "computed" if low == high else "bounded"
    return f"{span_text(low, high)} % {of} ({known})"


def span_text(low: str, high: str) -> str:
    """Return a number, or an interval of two.

    >>> span_text("3", "3"), span_text("3", "4")
    ('3', '3 to 4')
    """
    return low if low == high else f"{low} to {high}"


def size_text(value: float) -> str:
    """Return a number with as many decimals as it has, at most two.

    >>> size_text(25.0), size_text(2.5), size_text(0.125)
    ('25', '2.5', '0.13')
    """
    for places in (0, 1):
        if value * 10**places == int(value * 10**places):
            return decimal_text(value, places)
    return decimal_text(value, 2)
