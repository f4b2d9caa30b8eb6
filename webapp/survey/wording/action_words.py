"""Suggested actions in words, and those that the surveyor chose."""

import math
from collections.abc import Mapping
from typing import Any

from ..numbers.decimals import decimal_text
from .grading_words import span_text

SUGGESTION = "A suggestion for a competent person."


def action_words(action: str, urgency: str | None, table: Mapping[str, Any], most: str | None = None) -> str:
    """Return an action with its urgency.

    Parameters
    ----------
    urgency : str or None
        As there; None or ``no_term`` is not said.

    Returns
    -------
    str
        ``Repair at a point, medium term``; no unit.

    Examples
    --------
    >>> table = {"actions": [{"action": "clean", "label": "Clean"}], "urgencies": []}
    >>> action_words("clean", None, table)
    'Clean'
    """
    labels = {row["action"]: row["label"] for row in table["actions"]}
    terms = {row["urgency"]: row["label"] for row in table["urgencies"]}
    label = str(labels.get(action, action))
    if urgency is None or (urgency == "no_term" and most in (None, urgency)):
        return label
    term = terms.get(urgency, urgency)
    if most is None or most == urgency:
        return f"{label}, {term}"
    return f"{label}, {term}, {terms.get(most, most)} at worst"


def chosen_words(steps: Mapping[str, Any] | None, table: Mapping[str, Any]) -> list[str]:
    """Return what the surveyor chose.

    Parameters
    ----------
    steps : mapping or None
        The field ``next_steps``: an urgency for each action chosen, or ``no_action``; ``why``.

    Examples
    --------
    >>> table = {"actions": [{"action": "none", "label": "No action"}], "urgencies": []}
    >>> chosen_words({"no_action": True}, table)
    ['No action']
    """
    if not steps:
        return []
    chosen = [row["action"] for row in table["actions"] if row["action"] in steps]
    lines = [action_words(action, steps[action], table) for action in chosen]
    if steps.get("no_action"):
        lines.append(action_words("none", None, table))
    if steps.get("why"):
        lines.append(f"“{steps['why']}”")
    return lines


def action_reason_words(reason: Mapping[str, Any], what: str, scheme: Mapping[str, Any]) -> str:
    """Return why an action is suggested.

    Parameters
    ----------
    reason : mapping
        From ``suggested_actions`` [m, %].

    Examples
    --------
    >>> action_reason_words({"why": "many", "values": {"places": 5, "from_class": 3}}, "", {})
    'Damage from class 3 at 5 places.'
    """
    values = reason["values"]
    why = reason["why"]
    if why == "nothing":
        return "Nothing recorded there calls for more."
    if why == "ungraded":
        return "Nothing with a class calls for more; what has none is for an engineer to judge."
    if why == "unseen":
        return f"{decimal_text(values['unseen_m'], 2)} m of it could not be seen."
    if why == "no_extent":
        return "How far it was surveyed is not recorded."
    if why == "immediate":
        rows = scheme["immediate"]
        words = next(row["words"] for row in rows if row["condition"] == values["condition"])
        return f"{what}: {words[:1].lower()}{words[1:]}."
    if why == "narrows":
        return f"{what}: operation, class {_span(values)}."
    if why == "damage":
        return f"{what}: {values['goal']}, class {_span(values)}."
    if why == "hazard":
        return f"{values['words']}."
    if why == "long":
        share = decimal_text(values["share_pct"], 0)
        return f"Damage from class {values['from_class']} takes {share} % of the length (computed)."
    if why == "many":
        return f"Damage from class {values['from_class']} at {values['places']} places."
    return _level_words(why, values)


def _span(values: Mapping[str, Any]) -> str:
    return span_text(str(values["low"]), str(values["high"]))


def _level_words(why: str, values: Mapping[str, Any]) -> str:
    if why == "place_loose":
        radius = decimal_text(math.ceil(values["radius_m"] - 1e-9), 0)
        return f"The far end is known only within {radius} m (computed); a position taken there settles it."
    there = f"A level at the far end, chainage {decimal_text(values['far_m'], 2)} m,"
    if values["both_ends"]:
        there = f"Levels at the start and at the far end, chainage {decimal_text(values['far_m'], 2)} m,"
    then = f"sd {decimal_text(values['then_sd_m'], 3)} m (computed)"
    if why == "levels_bounded":
        gap = decimal_text(values["gap_m"], 2)
        if values["gaps"] == 1:
            return f"From {gap} m on the levels are only bounds. {there} would settle the fall, to {then}."
        return (
            f"From {gap} m on the levels are only bounds, for {values['gaps']} readings beyond the range. "
            f"{there} would settle the whole fall, to {then}; between them bounds remain."
        )
    now = decimal_text(values["now_sd_m"], 3)
    return f"The level of the end is known to sd {now} m (computed). {there} would bring it to {then}."
