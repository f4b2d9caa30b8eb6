"""One length surveyed in pieces, in sentences."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..numbers.decimals import decimal_text
from .figure_words import place_text

SHOWN_M = 0.005  # less is nothing at two decimals
RESTS_ON = {
    "seen_from_both": "The chainages join at what both runs saw: {length} m from end to end.",
    "counter": "The chainages join by the counter of the run that went all the way: {length} m from end "
    "to end.",
    "expected": "The chainages join by the length expected: {length} m from end to end.",
    "obstruction": "The chainages join at what stopped both runs: at least {length} m from end to end. "
    "How much pipe it fills is not known.",
    "same_start": "The runs start at the same end, so their chainages are the same: surveyed to {length} m.",
    "unknown": "How the runs lie to each other is not known, so what lies between them is not known either. "
    "Record the length expected, or mark something that both runs saw as the same.",
}  # fmt: skip


def join_lines(join: Mapping[str, Any], perhaps: int) -> list[str]:
    """Return how the runs of a length join, what lies between them, and what was surveyed twice.

    Parameters
    ----------
    join : mapping
        Fields of ``LengthJoin`` [m].

    Examples
    --------
    >>> join_lines({"how": "same_start", "length_m": 30.0, "closing_m": None, "off_m": None, "apart_m": 0.0,
    ...             "between": [], "twice_m": 0.0}, 0)
    ['The runs start at the same end, so their chainages are the same: surveyed to 30.00 m.']
    """
    length = "" if join["length_m"] is None else place_text(join["length_m"])
    lines = [RESTS_ON[join["how"]].format(length=length)]
    if join["closing_m"] is not None:
        lines.append(
            f"Closing difference, the length expected less what was surveyed from either end: "
            f"{decimal_text(join['closing_m'], 2)} m."
        )
    if join["how"] == "expected" and (join["closing_m"] or 0.0) <= -SHOWN_M:
        lines.append("Either the runs overlap, or a counter or the length expected is wrong.")
    if join["off_m"] is not None and abs(join["off_m"]) >= SHOWN_M:
        way = "longer" if join["off_m"] > 0 else "shorter"
        lines.append(f"The length expected is {place_text(abs(join['off_m']))} m {way}.")
    if join["apart_m"] >= SHOWN_M:
        lines.append(f"What the join rests on differs by {place_text(join['apart_m'])} m.")
    lines += [
        f"Not surveyed: from {place_text(from_m)} m to {place_text(to_m)} m."
        for from_m, to_m in join["between"]
    ]
    if join["twice_m"] >= SHOWN_M:
        lines.append(f"Surveyed by more than one run: {place_text(join['twice_m'])} m.")
    if perhaps:
        lines.append(perhaps_line(perhaps))
    return lines


def perhaps_line(count: int) -> str:
    """Return that observations of two runs may be the same object.

    >>> perhaps_line(1)
    '1 defect may have been recorded in two runs and counted twice. Mark it as the same if it is.'
    """
    if count == 1:
        return "1 defect may have been recorded in two runs and counted twice. Mark it as the same if it is."
    return (
        f"{count} defects may have been recorded in two runs and counted twice. Mark those that are the same."
    )


def unseen_why(
    part: Mapping[str, Any], between: Sequence[Sequence[float]], from_m: float, to_m: float, disputed: bool
) -> str:
    """Return why a length without a record behind it was not seen.

    Parameters
    ----------
    part : mapping
        A part of ``length_sight``.
    between : sequence of sequence of float
        What was not surveyed, from where to where [m].
    from_m, to_m : float
        Chainages of the part [m].

    Examples
    --------
    >>> unseen_why({"sight": "hidden", "record_ids": []}, [(3.0, 5.0)], 3.0, 5.0, False)
    'not surveyed'
    """
    if part["sight"] != "hidden" or part["record_ids"]:
        return ""
    middle_m = (from_m + to_m) / 2
    if any(a <= middle_m <= b for a, b in between):
        return "not surveyed"
    if disputed:
        return "where the run ended is in dispute"
    return "nothing recorded shows that the camera looked at the wall"
