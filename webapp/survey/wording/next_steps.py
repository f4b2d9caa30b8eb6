"""What to do next, and what must not be done, in words."""

import math
from collections.abc import Sequence

from .condition import Item
from .messages import Words, clauses, message
from .quantities import fixed_text, span_text
from .sight import hazard_line


def action_words(words: Words, action: str, urgency: str | None, table: Item, most: str | None = None) -> str:
    """Return an action with its urgency, and the one that it may have at worst."""
    labels = {row["action"]: row["label"] for row in table["actions"]}
    terms = {row["urgency"]: row["label"] for row in table["urgencies"]}
    label = str(labels.get(action, action))
    if urgency is None or (urgency == "no_term" and most in (None, urgency)):
        return label
    values = {"action": label, "term": terms.get(urgency, urgency)}
    if most is None or most == urgency:
        return message(words, "survey.action.term", values)
    return message(words, "survey.action.term_at_worst", {**values, "most": terms.get(most, most)})


def chosen_words(words: Words, steps: Item | None, table: Item) -> list[str]:
    """Return what the surveyor chose to do next, and why."""
    if not steps:
        return []
    chosen = [row["action"] for row in table["actions"] if row["action"] in steps]
    lines = [action_words(words, action, steps[action], table) for action in chosen]
    if steps.get("no_action"):
        lines.append(action_words(words, "none", None, table))
    if steps.get("why"):
        lines.append(message(words, "survey.action.quoted", {"text": steps["why"]}))
    return lines


def action_reason_words(words: Words, reason: Item, what: str, scheme: Item) -> str:
    """Return why an action is suggested; ``what`` names the observation behind it."""
    values, why = reason["values"], reason["why"]
    if why == "unseen":
        return message(words, "survey.action.unseen", {"m": fixed_text(words, values["unseen_m"], 2)})
    if why == "immediate":
        rows = scheme["immediate"]
        condition = next(row["words"] for row in rows if row["condition"] == values["condition"])
        return message(words, "survey.action.immediate", {"what": what, "condition": condition})
    if why in ("narrows", "damage"):
        goal = "operation" if why == "narrows" else values["goal"]
        span = span_text(words, str(values["low"]), str(values["high"]))
        return message(words, f"survey.action.{goal}", {"what": what, "class": span})
    if why == "hazard":
        return message(words, "survey.action.hazard", {"hazard": _hazard(words, values)})
    if why == "long":
        share = {"class": str(values["from_class"]), "share_pct": fixed_text(words, values["share_pct"], 0)}
        return message(words, "survey.action.long", share)
    if why == "many":
        return message(
            words, "survey.action.many", {"class": str(values["from_class"]), "n": values["places"]}
        )
    if why in ("nothing", "ungraded", "no_extent"):
        return message(words, f"survey.action.{why}", {})
    return _level_words(words, why, values)


def _level_words(words: Words, why: str, values: Item) -> str:
    if why == "place_loose":
        radius = fixed_text(words, math.ceil(values["radius_m"] - 1e-9), 0)
        return message(words, "survey.action.place_loose", {"radius_m": radius})
    which = "both_ends" if values["both_ends"] else "far_end"
    sizes = {
        "far_m": fixed_text(words, values["far_m"], 2),
        "then_m": fixed_text(words, values["then_sd_m"], 3),
    }
    if why == "levels_bounded":
        gaps = {**sizes, "gap_m": fixed_text(words, values["gap_m"], 2), "n": values["gaps"]}
        more = "" if values["gaps"] == 1 else "_more"
        return message(words, f"survey.action.bounded_{which}{more}", gaps)
    sizes["now_m"] = fixed_text(words, values["now_sd_m"], 3)
    return message(words, f"survey.action.loose_{which}", sizes)


def forbidden_words(words: Words, forbidden: Sequence[Item], table: Item) -> list[str]:
    """Return what must not be done, each with the hazards that forbid it."""
    lines = []
    for act in table["acts"]:
        whys = dict.fromkeys(_hazard(words, one["values"]) for one in forbidden if one["act"] == act["act"])
        if whys:
            why = clauses(words, (message(words, "survey.action.because", {"why": one}) for one in whys))
            lines.append(message(words, "survey.action.forbidden", {"act": act["words"], "why": why}))
    return lines


def _hazard(words: Words, values: Item) -> str:
    return hazard_line(words, values["label"], values["from_m"], values["to_m"], values["sure"])
