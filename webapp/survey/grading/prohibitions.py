"""What a hazard forbids, and the plan of a stretch under it: a "do not" outranks every "do"."""

from collections.abc import Sequence
from typing import TypedDict

from ..instruments.counter import chainage_m
from ..table_types.condition import Act, Actions, HazardRow
from .actions import ORDER, Suggested, Suggestion
from .hazards import Hazard


class HazardPlace(TypedDict):
    """A hazard as a sentence names it, and from where to where it lies by chainage [m]."""

    label: str
    from_m: float | None
    to_m: float | None
    sure: bool


class Forbidden(TypedDict):
    """An act that a hazard forbids there; not sure where the hazard only may be one."""

    act: Act
    row: int
    record_id: str
    values: HazardPlace
    sure: bool


class Plan(Suggested):
    """What is suggested under the hazards: what waits until one is settled, and what is forbidden."""

    waiting: list[Suggestion]
    forbidden: list[Forbidden]


def with_prohibitions(
    suggested: Sequence[Suggested], hazards: Sequence[Hazard], rows: Sequence[HazardRow],
    table: Actions, zero_m: float, scale: float,
) -> list[Plan]:  # fmt: skip
    """Return the suggested actions of a run, with what its hazards forbid and ask for.

    Parameters
    ----------
    zero_m : float
        Counter reading at chainage zero [m].

    Returns
    -------
    list of dict
        The same objects: ``actions`` without any that needs what is forbidden there, what the hazards ask
        for first; ``waiting``: the actions taken out, each until the hazard is settled; ``forbidden``:
        ``act``, ``row`` (of the hazards), ``record_id``, ``values`` (its label and place), ``sure``.

    References
    ----------
    What each hazard forbids: common practice, no source; the rows say so.

    Examples
    --------
    >>> with_prohibitions([], [], [], {"acts": [], "actions": [], "urgencies": []}, 0.0, 1.0)
    []
    """
    needs = {row["action"]: row["acts"] for row in table["actions"]}
    found: list[Plan] = []
    for one in suggested:
        here = [h for h in hazards if _touches(one, h, suggested)]
        forbidden = _forbidden(hazards, here, rows, table, (zero_m, scale))
        acts = {ban["act"] for ban in forbidden}
        waiting = [a for a in one["actions"] if acts & set(needs[a["action"]])]
        actions = [a for a in one["actions"] if a not in waiting]
        required = _required_by(here, rows, table, (zero_m, scale))
        if required or waiting:
            actions = [a for a in actions if a["action"] != "none"]
        ordered = sorted([*required, *actions], key=lambda a: ORDER.index(a["action"]))
        found.append({**one, "actions": ordered, "waiting": waiting, "forbidden": forbidden})
    return found


def _touches(one: Suggested, hazard: Hazard, suggested: Sequence[Suggested]) -> bool:
    """Whether a hazard lies in a stretch; one that lies in none belongs to all."""
    return _inside(one, hazard) or not any(_inside(other, hazard) for other in suggested)


def _inside(one: Suggested, hazard: Hazard) -> bool:
    from_m, to_m = hazard["from_counter_m"], hazard["to_counter_m"]
    if from_m is None:
        return False
    ends = sorted((from_m, from_m if to_m is None else to_m))
    start, end = one["from_counter_m"], one["to_counter_m"]
    return (start is None or ends[1] >= start) and (end is None or ends[0] <= end)


def _forbidden(
    hazards: Sequence[Hazard], here: Sequence[Hazard],
    rows: Sequence[HazardRow], table: Actions, frame: tuple[float, float],
) -> list[Forbidden]:  # fmt: skip
    found: list[Forbidden] = []
    for act in table["acts"]:
        for hazard in hazards if act["whole_run"] else here:
            if act["act"] in rows[hazard["row"]]["do_not"]:
                found.append(
                    {
                        "act": act["act"], "row": hazard["row"], "record_id": hazard["record_id"],
                        "values": _values(hazard, rows, frame), "sure": hazard["sure"],
                    }
                )  # fmt: skip
    return found


def _required_by(
    here: Sequence[Hazard], rows: Sequence[HazardRow], table: Actions,
    frame: tuple[float, float],
) -> list[Suggestion]:  # fmt: skip
    """What the hazards ask for, at once: one action each, with every hazard that asks for it."""
    first = table["urgencies"][0]["urgency"]
    found: dict[str, Suggestion] = {}
    for hazard in here:
        action = rows[hazard["row"]]["do"]
        if action is None:
            continue
        made = found.setdefault(
            action,
            {"action": action, "urgency": first, "urgency_most": first, "sure": False, "reasons": []},
        )
        made["sure"] = made["sure"] or hazard["sure"]
        values = _values(hazard, rows, frame)
        made["reasons"].append({"why": "hazard", "graded": None, "values": dict(values)})
    return list(found.values())


def _values(hazard: Hazard, rows: Sequence[HazardRow], frame: tuple[float, float]) -> HazardPlace:
    """What a sentence about a hazard needs: its label, and from where to where it lies by chainage [m]."""
    counters_m = hazard["from_counter_m"], hazard["to_counter_m"]
    from_m, to_m = (None if at_m is None else chainage_m(at_m, *frame) for at_m in counters_m)
    return {"label": rows[hazard["row"]]["label"], "from_m": from_m, "to_m": to_m, "sure": hazard["sure"]}
