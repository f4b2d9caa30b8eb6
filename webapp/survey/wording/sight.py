"""What the camera could see, hazards to people, and how the runs of one length join, in sentences."""

import math
from collections.abc import Sequence

from ..coding.hidden_spans import ERASED
from ..coding.visibility import Visibility, VisiblePart
from ..lengths.pipe_length import JoinFacts
from .messages import Words, message
from .quantities import fixed_text, place_text

MIN_M = 0.005  # less is nothing at two decimals


def seen_line(words: Words, account: Visibility, defects: int) -> str:
    """Return how much of a run could be seen, and that no defect was, where none was."""
    total_m, clear_m, part_m, hidden_m = (
        account["total_m"], account["clear_m"], account["part_m"], account["hidden_m"]
    )  # fmt: skip
    if total_m is None or clear_m is None or part_m is None or hidden_m is None:
        which = "no_extent" if account["to_counter_m"] is None else "ends_where_it_begins"
        return message(words, f"survey.sight.{which}", {})
    values = {"total_m": fixed_text(words, total_m, 2)}
    if not account["looked"]:
        return message(words, "survey.sight.not_looked", values)
    seen_m = clear_m + part_m
    if seen_m <= MIN_M:
        return message(words, "survey.sight.nothing", values)
    values |= {"seen_m": fixed_text(words, seen_m, 2), "part_m": fixed_text(words, part_m, 2)}
    which = "all" if hidden_m <= MIN_M else "some"
    what = "" if defects else "_no_defect"
    part = "_part" if part_m > MIN_M else ""
    return message(words, f"survey.sight.{which}{what}{part}", values)


def part_line(words: Words, part: VisiblePart, from_m: float, to_m: float, why: str) -> str:
    """Return why a length [m] was seen in part or not at all."""
    if part["depth_pct"] is not None:
        depth = {"why": why, "depth_pct": fixed_text(words, part["depth_pct"], 0)}
        why = message(words, "survey.sight.why_depth", depth)
    values = {"from_m": place_text(words, from_m), "to_m": place_text(words, to_m), "why": why}
    assumed = "_assumed" if part["known"] == "assumed" else ""
    if any(one.startswith(ERASED) for one in part["record_ids"]):
        return message(words, "survey.sight.not_known", values)
    if part["sight"] == "hidden":
        return message(words, f"survey.sight.hidden{assumed}", values)
    if part["hour_from"] is None or part["hour_to"] is None:
        return message(words, f"survey.sight.part{assumed}", values)
    first, last = math.floor(part["hour_from"]), math.ceil(part["hour_to"])
    which = "part_round" if last - first >= 12 else "part_hours"
    return message(
        words, f"survey.sight.{which}{assumed}", {**values, "first": str(first), "last": str(last)}
    )


def unseen_why(
    words: Words, part: VisiblePart, between: Sequence[Sequence[float]], from_m: float, to_m: float,
    disputed: bool,
) -> str:  # fmt: skip
    """Return why a length [m] that no record hides was not seen; empty where a record says it."""
    if part["sight"] != "hidden" or part["record_ids"]:
        return ""
    middle_m = (from_m + to_m) / 2
    if any(a <= middle_m <= b for a, b in between):
        return message(words, "survey.sight.not_surveyed", {})
    return message(words, "survey.sight.end_disputed" if disputed else "survey.sight.not_shown", {})


def hazard_line(words: Words, label: str, from_m: float | None, to_m: float | None, sure: bool) -> str:
    """Return a hazard and from where to where [m] it lies."""
    what = label if sure else message(words, "survey.hazard.may_be", {"label": label})
    if from_m is None:
        return message(words, "survey.hazard.no_place", {"what": what})
    if to_m is None:
        return message(words, "survey.hazard.from", {"what": what, "m": place_text(words, from_m)})
    if to_m == from_m:
        return message(words, "survey.hazard.at", {"what": what, "m": place_text(words, from_m)})
    ends = {"from_m": place_text(words, min(from_m, to_m)), "to_m": place_text(words, max(from_m, to_m))}
    return message(words, "survey.hazard.from_to", {"what": what, **ends})


def join_lines(words: Words, join: JoinFacts, perhaps: int) -> list[str]:
    """Return how the runs of a length join, what differs, and what was not surveyed or surveyed twice."""
    length = "" if join["length_m"] is None else place_text(words, join["length_m"])
    lines = [message(words, f"survey.length.{join['how']}", {"m": length})]
    if join["closing_m"] is not None:
        lines.append(message(words, "survey.length.closing", {"m": fixed_text(words, join["closing_m"], 2)}))
    if join["how"] == "expected" and (join["closing_m"] or 0.0) <= -MIN_M:
        lines.append(message(words, "survey.length.overlap", {}))
    if join["off_m"] is not None and abs(join["off_m"]) >= MIN_M:
        way = "longer" if join["off_m"] > 0 else "shorter"
        lines.append(message(words, f"survey.length.{way}", {"m": place_text(words, abs(join["off_m"]))}))
    if join["apart_m"] >= MIN_M:
        lines.append(message(words, "survey.length.apart", {"m": place_text(words, join["apart_m"])}))
    for from_m, to_m in join["between"]:
        ends = {"from_m": place_text(words, from_m), "to_m": place_text(words, to_m)}
        lines.append(message(words, "survey.length.between", ends))
    if join["twice_m"] >= MIN_M:
        lines.append(message(words, "survey.length.twice", {"m": place_text(words, join["twice_m"])}))
    return [*lines, perhaps_line(words, perhaps)] if perhaps else lines


def perhaps_line(words: Words, count: int) -> str:
    """Return that some defects may have been recorded in two runs."""
    return message(words, "survey.length.perhaps", {"n": count})
