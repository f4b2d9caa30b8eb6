"""What to do next: suggestions for a competent person, by rule, from the classes and the levels."""

from collections.abc import Sequence
from typing import Any, Literal, TypedDict

from ..records import Urgency
from ..table_types.condition import ActionName, Actions, Goal
from .grading import GOALS
from .run_grading import Graded, Grading, Summary

ObjectKind = Literal["stretch", "run"]
ORDER: tuple[ActionName, ...] = (
    "report_air", "find_owner", "check_ground", "dig_expose", "clean", "survey_again", "repair_point",
    "renew", "level_far_end", "none",
)  # fmt: skip
MIN_M = 0.005  # less is nothing at two decimals


class Reason(TypedDict):
    """Why an action is suggested: by which graded observation, with the values of its sentence."""

    why: str
    graded: int | None
    values: dict[str, Any]


class Suggestion(TypedDict):
    """An action: how urgent as far as is sure, and at most."""

    action: ActionName
    urgency: Urgency
    urgency_most: Urgency
    sure: bool
    reasons: list[Reason]


class Suggested(TypedDict):
    """What is suggested for a stretch, or for what lies outside all of them [m, counter]."""

    kind: ObjectKind
    id: str | None
    from_counter_m: float | None
    to_counter_m: float | None
    actions: list[Suggestion]


class LevelFacts(TypedDict, total=False):
    """What of the levels and of the trace would be settled at the far end [m]."""

    far_m: float
    now_sd_m: float | None
    then_sd_m: float | None
    both_ends: bool
    gaps_m: list[float]
    radius_m: float | None


def suggested_actions(grading: Grading, levels: LevelFacts, table: Actions, scale: float) -> list[Suggested]:
    """Return the suggested actions for each stretch of a run, and for what lies outside all of them.

    Parameters
    ----------
    levels : mapping
        ``far_m`` [m] where the surveyed run ends, ``now_sd_m`` [m] of its level (None: only bounded),
        ``then_sd_m`` [m] with a level taken there, ``both_ends``: no level is known at the start either,
        ``gaps_m`` [m]: places of readings beyond the range that no tie settles, ``radius_m`` [m] to search
        for the far end; None for what is not known or settled.

    Returns
    -------
    list of dict
        ``kind`` (stretch or run), ``id``, ``from_counter_m``, ``to_counter_m`` [m], ``actions`` in the order
        in which they are done: ``action``, ``urgency``, ``urgency_most`` (equal where all is settled),
        ``sure`` (False where it only may be needed), ``reasons``: ``why``, ``graded`` (index or None),
        ``values``. The run itself only where something graded or unseen lies outside every stretch, or
        there is none.

    References
    ----------
    Our own rules, in the table; the urgencies are those of BFR Abwasser, Annex A-3, Tab. A-3-9.

    Examples
    --------
    >>> table = {"urgencies": [{"urgency": "no_term", "from_class": 0}], "level_sd_m": 0.05,
    ...          "unseen_class": 3}
    >>> grading = {"graded": [], "stretches": [], "ungraded": [], "run": {"id": None, "graded": [],
    ...            "from_counter_m": None, "to_counter_m": None}}
    >>> suggested_actions(grading, {}, table, 1.0)[0]["actions"][0]["action"]
    'none'
    """
    outside = [k for k, one in enumerate(grading["graded"]) if one["stretch_id"] is None]
    objects: list[tuple[ObjectKind, Summary]] = [("stretch", one) for one in grading["stretches"]]
    unseen_m = _unseen_outside(grading)
    if outside or not objects or (unseen_m is not None and unseen_m > MIN_M):
        objects.append(("run", {**grading["run"], "graded": outside, "unseen_m": unseen_m}))
    last = _last(objects)
    found: list[Suggested] = []
    for place, (kind, summary) in enumerate(objects):
        actions = _for_one(summary, grading["graded"], table, scale) + _again(summary, table)
        if place == last:
            actions += _level(levels, table)
        why = "ungraded" if grading["ungraded"] else "nothing"
        actions = actions or [_suggestion("none", (0, 0), [_reason(why, None)], table)]
        found.append(
            {
                "kind": kind,
                "id": summary["id"],
                "from_counter_m": summary["from_counter_m"],
                "to_counter_m": summary["to_counter_m"],
                "actions": sorted(actions, key=lambda one: ORDER.index(one["action"])),
            }
        )
    return found


def _unseen_outside(grading: Grading) -> float | None:
    """How much of what could not be seen lies in no stretch [m]; None where nothing says how far."""
    whole: float | None = grading["run"].get("unseen_m", 0.0)
    if whole is None:
        return None
    return whole - sum(one.get("unseen_m") or 0.0 for one in grading["stretches"])


def _again(summary: Summary, table: Actions) -> list[Suggestion]:
    """What was not seen is surveyed again: nothing can be ruled out there."""
    unseen_m = summary.get("unseen_m", 0.0)
    as_class = table["unseen_class"], table["unseen_class"]
    if unseen_m is None:
        return [_suggestion("survey_again", as_class, [_reason("no_extent", None)], table) | {"sure": False}]
    if unseen_m <= MIN_M:
        return []
    reasons = [_reason("unseen", None, unseen_m=unseen_m)]
    return [_suggestion("survey_again", as_class, reasons, table)]


def _last(objects: Sequence[tuple[ObjectKind, Summary]]) -> int:
    """The object at whose end the surveyed run ends."""
    best, furthest = len(objects) - 1, -1.0
    for place, (kind, one) in enumerate(objects):
        if kind == "stretch" and one["from_counter_m"] is not None and one["from_counter_m"] > furthest:
            best, furthest = place, one["from_counter_m"]
    return best


def _for_one(summary: Summary, graded: Sequence[Graded], table: Actions, scale: float) -> list[Suggestion]:
    mine = [(k, graded[k]) for k in summary["graded"]]
    if not mine:
        return []
    dig, dug = _dig(mine, table)
    clean, mend = _clean(mine, table), _mend(summary, mine, dug, table, scale)
    if clean and mend and mend["action"] == "renew" and _presses(mend, clean, table):
        clean = None  # cleaning is part of renewing, and no sooner needed
    return [one for one in (dig, clean, mend) if one is not None]


def _presses(one: Suggestion, other: Suggestion, table: Actions) -> bool:
    """Whether the first presses at least as much as the second, at its surest and at its worst."""
    order = [row["urgency"] for row in table["urgencies"]]
    surest = order.index(one["urgency"]) <= order.index(other["urgency"])
    return surest and order.index(one["urgency_most"]) <= order.index(other["urgency_most"])


def _dig(mine: Sequence[tuple[int, Graded]], table: Actions) -> tuple[Suggestion | None, set[int]]:
    """Where the ground is opened, and what is mended there with it."""
    reasons, dug = [], set()
    sure = False
    for k, one in mine:
        for condition in one["immediate"]:
            if condition["condition"] in table["dig_conditions"]:
                reasons.append(_reason("immediate", k, condition=condition["condition"]))
                sure = sure or condition["sure"]
                dug |= {k} if condition["sure"] else set()
    if not reasons:
        return None, dug
    return _suggestion("dig_expose", (5, 5), reasons, table) | {"sure": sure}, dug


def _clean(mine: Sequence[tuple[int, Graded]], table: Actions) -> Suggestion | None:
    reasons, worst = [], (0, 0)
    for k, one in mine:
        found = one["classes"]["operation"]
        if one["code"] not in table["clean_codes"] or found is None:
            continue
        if found["high"] >= table["clean_from_class"]:
            reasons.append(_reason("narrows", k, low=found["low"], high=found["high"]))
            worst = max(worst[0], found["low"]), max(worst[1], found["high"])
    return _from_class("clean", worst, table["clean_from_class"], reasons, table)


def _mend(
    summary: Summary, mine: Sequence[tuple[int, Graded]], dug: set[int],
    table: Actions, scale: float,
) -> Suggestion | None:  # fmt: skip
    """Repair where damage is rare, renew where it is long or at many places; not what the digging mends."""
    from_class = table["repair_from_class"]
    hurt = [(k, one, _damage(one, table)) for k, one in mine]
    hurt = [(k, one, damage) for k, one, damage in hurt if damage[1] >= from_class]
    places = {one["record_id"] for _, one, _ in hurt}
    share = _share(summary, sum(one["length_m"] or 0.0 for _, one, _ in hurt), scale)
    long = share is not None and share >= table["renew_from_share_pct"]
    many = long or len(places) >= table["renew_from_places"]
    if not many:
        hurt = [one for one in hurt if one[0] not in dug]
    reasons = []
    if long:
        reasons.append(_reason("long", None, share_pct=share, from_class=from_class))
    elif many:
        reasons.append(_reason("many", None, places=len(places), from_class=from_class))
    for k, one, (_, high, goal) in hurt:
        found = one["classes"][goal] if goal is not None else None
        reasons.append(_reason("damage", k, goal=goal, low=found["low"] if found else 0, high=high))
    low = max((damage[0] for _, _, damage in hurt), default=0)
    high = max((damage[1] for _, _, damage in hurt), default=0)
    return _from_class("renew" if many else "repair_point", (low, high), from_class, reasons, table)


def _from_class(
    action: ActionName, worst: tuple[int, int], from_class: int, reasons: list[Reason],
    table: Actions,
) -> Suggestion | None:  # fmt: skip
    """As urgent as what is sure makes it, and at most as what may be; None without a reason."""
    if not reasons:
        return None
    sure = worst[0] >= from_class
    return _suggestion(action, (max(worst[0], from_class), worst[1]), reasons, table) | {"sure": sure}


def _damage(one: Graded, table: Actions) -> tuple[int, int, Goal | None]:
    """The worst class that cleaning alone does not mend, and the goal it is of."""
    low, high = 0, 0
    goal: Goal | None = None
    for name in GOALS:
        found = one["classes"][name]
        if found is None or (name == "operation" and one["code"] in table["clean_codes"]):
            continue
        low = max(low, found["low"])
        if found["high"] > high:
            high, goal = found["high"], name
    return low, high, goal


def _share(summary: Summary, long_m: float, scale: float) -> float | None:
    start, end = summary["from_counter_m"], summary["to_counter_m"]
    if start is None or end is None or end <= start:
        return None
    return float(100 * long_m / ((end - start) * scale))


def _level(levels: LevelFacts, table: Actions) -> list[Suggestion]:
    """Level the far end where the levels or the place of it are not known well enough."""
    reasons = []
    far_m, then_m = levels.get("far_m"), levels.get("then_sd_m")
    values = {"far_m": far_m, "then_sd_m": then_m, "both_ends": bool(levels.get("both_ends"))}
    gaps = levels.get("gaps_m") or []
    if gaps and then_m is not None:
        reasons.append(_reason("levels_bounded", None, gap_m=gaps[0], gaps=len(gaps), **values))
    now_m = levels.get("now_sd_m")
    if not gaps and now_m is not None and then_m is not None and now_m > table["level_sd_m"]:
        reasons.append(_reason("levels_loose", None, now_sd_m=now_m, **values))
    radius_m = levels.get("radius_m")
    if radius_m is not None and radius_m > table["search_radius_m"]:
        reasons.append(_reason("place_loose", None, radius_m=radius_m))
    return [_suggestion("level_far_end", (2, 2), reasons, table)] if reasons else []


def _reason(why: str, graded: int | None, **values: Any) -> Reason:
    return {"why": why, "graded": graded, "values": values}


def _suggestion(
    action: ActionName, worst: tuple[int, int], reasons: list[Reason], table: Actions
) -> Suggestion:
    least, most = (
        next(row["urgency"] for row in table["urgencies"] if one >= row["from_class"]) for one in worst
    )
    return {"action": action, "urgency": least, "urgency_most": most, "sure": True, "reasons": reasons}
