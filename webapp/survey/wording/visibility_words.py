"""What the camera could see, in sentences."""

import math
from collections.abc import Mapping
from typing import Any

from ..numbers.decimals import decimal_text
from .figure_words import place_text
from .grading_words import class_words

MIN_M = 0.005  # less is nothing at two decimals


def seen_line(account: Mapping[str, Any], defects: int) -> str:
    """Return what the account says of the whole run, and with no defect recorded over which length.

    Parameters
    ----------
    account : mapping
        From ``visibility`` [m].

    Examples
    --------
    >>> account = {"looked": True, "total_m": 40.0, "clear_m": 2.0, "part_m": 0.0, "hidden_m": 38.0}
    >>> seen_line(account, 0)
    'No defect was seen in the 2.00 m of 40.00 m that could be seen.'
    """
    if account["total_m"] is None and account["to_counter_m"] is not None:
        return "The run is recorded to end where it begins, so what was seen is not known."
    if account["total_m"] is None:
        return "How far the run was surveyed is not recorded, so what was seen is not known."
    total = decimal_text(account["total_m"], 2)
    if not account["looked"]:
        return f"Nothing recorded shows that the camera looked at the wall of the {total} m surveyed."
    seen_m = account["clear_m"] + account["part_m"]
    if seen_m <= MIN_M:
        return f"Nothing of the {total} m surveyed could be seen."
    part = decimal_text(account["part_m"], 2)
    part = f"; {part} m of it was seen only in part" if account["part_m"] > MIN_M else ""
    seen = decimal_text(seen_m, 2)
    if account["hidden_m"] <= MIN_M:
        if defects:
            return f"All of the {total} m surveyed could be seen{part}."
        return f"No defect was seen in the {total} m surveyed{part}."
    if defects:
        return f"{seen} m of {total} m could be seen{part}."
    return f"No defect was seen in the {seen} m of {total} m that could be seen{part}."


def part_line(part: Mapping[str, Any], from_m: float, to_m: float, why: str) -> str:
    """Return what hides a length.

    Parameters
    ----------
    part : mapping
        A part of ``visibility`` that is not clear [%, hours].
    from_m, to_m : float
        Its chainages [m].

    Examples
    --------
    >>> part = {"sight": "hidden", "depth_pct": None, "known": "measured", "hour_from": None}
    >>> part_line(part, 1.0, 39.0, "camera under water")
    'From 1.00 m to 39.00 m nothing could be seen: camera under water.'
    """
    where = f"From {place_text(from_m)} m to {place_text(to_m)} m"
    assumed = " (how far it goes is assumed)" if part["known"] == "assumed" else ""
    depth = "" if part["depth_pct"] is None else f", {decimal_text(part['depth_pct'], 0)} % of the height"
    if part["sight"] == "hidden":
        return f"{where} nothing could be seen: {why}{depth}{assumed}."
    hours = ""
    if part["hour_from"] is not None:
        first, last = math.floor(part["hour_from"]), math.ceil(part["hour_to"])
        hours = f", which hides the wall from {first} to {last} o’clock"
        if last - first >= 12:
            hours = ", which hides the wall all round"
    return f"{where} the wall was seen only in part: {why}{depth}{hours}{assumed}."


def known_class_words(
    low: int, high: int, unseen_m: float | None, length_m: float | None, scheme: Mapping[str, Any]
) -> str:
    """Return a class of a run or stretch, limited to what could be seen.

    Parameters
    ----------
    unseen_m, length_m : float or None
        How much of its length could not be seen [m], and its length [m]; None where not known.

    Returns
    -------
    str
        ``not known`` where nothing was seen or nothing says how far; else the class and what it leaves out.

    Examples
    --------
    >>> known_class_words(0, 0, 38.0, 40.0, {"classes": [{"word": "nothing found"}]})
    'nothing found in what could be seen, not known over 38.00 m'
    """
    words = class_words(low, high, scheme)
    if unseen_m is None:
        return "not known" if high == 0 else f"{words}, as far as recorded"
    if unseen_m <= MIN_M:
        return words
    over = f"not known over {decimal_text(unseen_m, 2)} m"
    if high == 0:
        whole = length_m is not None and length_m - unseen_m <= MIN_M
        return "not known" if whole else f"{words} in what could be seen, {over}"
    return f"{words}, {over}"
