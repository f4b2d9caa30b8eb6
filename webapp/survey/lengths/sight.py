"""One account of what was seen along a length that was surveyed in pieces."""

from collections.abc import Sequence
from itertools import pairwise

from ..coding.visibility import Visibility, VisiblePart
from .records import LengthFrame, length_counter

RANK = {"clear": 0, "part": 1, "hidden": 2}
MIN_M = 1e-6  # two places nearer than this are one


def length_sight(
    accounts: Sequence[Visibility], frames: Sequence[LengthFrame], spans: Sequence[tuple[float, float]]
) -> Visibility:
    """Return what was seen along a length, by whichever run saw it best.

    Parameters
    ----------
    accounts : sequence of mapping
        From ``visibility``, one a piece, by its own counter [m].
    spans : sequence of tuple of float
        From where to where each piece looked, by its own counter [m].

    Returns
    -------
    dict
        As ``visibility``, by the counter of the first run [m], over the whole length. What no run surveyed
        is ``hidden`` and has no record behind it. A run that looked at nothing saw nothing.

    Examples
    --------
    >>> frames = [LengthFrame(0.0, 1.0, False, 45.0, 0.0, 1.0, 0.0)]
    >>> part = {"sight": "clear", "from_counter_m": 0.0, "to_counter_m": 28.0, "record_ids": [],
    ...         "depth_pct": None, "hour_from": None, "hour_to": None, "known": "measured"}
    >>> length_sight([{"looked": True, "parts": [part]}], frames, [(0.0, 28.0)])["hidden_m"]
    17.0
    """
    onto = frames[0]
    start_m, end_m = onto.onto_zero_m, onto.onto_zero_m + onto.length_m / onto.onto_scale
    placed = [
        part
        for account, frame, span in zip(accounts, frames, spans, strict=True)
        for part in _placed(account, frame, span)
    ]
    marks = {start_m, end_m}
    for one in placed:
        marks |= {m for m in (one["from_counter_m"], one["to_counter_m"]) if start_m < m < end_m}
    parts: list[VisiblePart] = []
    for from_m, to_m in pairwise(_apart(sorted(marks))):
        part = _best(placed, from_m, to_m)
        last = parts[-1] if parts else None
        if last is not None and _seen_alike(last, part):
            last["to_counter_m"] = to_m
        else:
            parts.append(part)
    sums = {"clear": 0.0, "part": 0.0, "hidden": 0.0}
    for part in parts:
        part["length_m"] = (part["to_counter_m"] - part["from_counter_m"]) * onto.onto_scale
        sums[part["sight"]] += part["length_m"]
    return {
        "looked": any(one["looked"] for one in accounts), "from_counter_m": start_m, "to_counter_m": end_m,
        "clear_m": sums["clear"], "part_m": sums["part"], "hidden_m": sums["hidden"],
        "total_m": onto.length_m, "parts": parts,
    }  # fmt: skip


def _apart(marks: Sequence[float]) -> list[float]:
    """The marks that are not the same place as the one before; the last always."""
    found = [marks[0]]
    for mark in marks[1:-1]:
        if mark - found[-1] > MIN_M and marks[-1] - mark > MIN_M:
            found.append(mark)
    return [*found, marks[-1]] if len(marks) > 1 else found


def _placed(account: Visibility, frame: LengthFrame, span: tuple[float, float]) -> list[VisiblePart]:
    """The parts of a piece within what it looked at; hours below water are the same from either end."""
    if not account["looked"]:
        return []
    found: list[VisiblePart] = []
    for part in account["parts"]:
        from_m, to_m = max(part["from_counter_m"], span[0]), min(part["to_counter_m"], span[1])
        if to_m - from_m <= MIN_M:
            continue
        ends = sorted((length_counter(from_m, frame), length_counter(to_m, frame)))
        found.append(
            {
                "sight": part["sight"], "from_counter_m": ends[0], "to_counter_m": ends[1],
                "record_ids": list(part["record_ids"]), "depth_pct": part["depth_pct"],
                "hour_from": part["hour_from"], "hour_to": part["hour_to"], "known": part["known"],
                "length_m": to_m - from_m,
            }
        )  # fmt: skip
    return found


def _seen_alike(one: VisiblePart, other: VisiblePart) -> bool:
    """Whether two parts differ in their places alone."""
    return {**one, "from_counter_m": 0.0, "to_counter_m": 0.0, "length_m": 0.0} == {
        **other, "from_counter_m": 0.0, "to_counter_m": 0.0, "length_m": 0.0,
    }  # fmt: skip


def _best(placed: Sequence[VisiblePart], from_m: float, to_m: float) -> VisiblePart:
    """What the run that saw it best saw there, of equals the first. Its length is filled in later."""
    best: VisiblePart | None = None
    at_m = (from_m + to_m) / 2
    for one in placed:
        if one["from_counter_m"] <= at_m <= one["to_counter_m"]:
            if best is None or RANK[one["sight"]] < RANK[best["sight"]]:
                best = one
    if best is None:
        return {
            "sight": "hidden", "record_ids": [], "depth_pct": None, "hour_from": None, "hour_to": None,
            "known": "measured", "from_counter_m": from_m, "to_counter_m": to_m, "length_m": 0.0,
        }  # fmt: skip
    return {
        "sight": best["sight"], "record_ids": best["record_ids"], "depth_pct": best["depth_pct"],
        "hour_from": best["hour_from"], "hour_to": best["hour_to"], "known": best["known"],
        "from_counter_m": from_m, "to_counter_m": to_m, "length_m": 0.0,
    }  # fmt: skip
