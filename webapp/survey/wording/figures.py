"""Levels, water and flow of a run in sentences."""

from ..levels.ponding import Backfall, Sag
from ..levels.reading_findings import LevelFinding
from .messages import Words, message
from .quantities import degrees_text, fixed_text, litres_text, metres, place_text, spread_text, times_text

VERDICTS = ("agrees", "deeper", "shallower")


def reason_text(words: Words, code: str, flow_m3_s: float) -> str:
    """Return what a stretch would carry [m3/s] without what narrows it."""
    key = f"survey.flow.without.{code}"
    return message(
        words, key if key in words else "survey.flow.without.other", {"flow": litres_text(words, flow_m3_s)}
    )


def crown_text(words: Words, chainage_m: float) -> str:
    """Return where [m] the water reaches the crown first when the flow grows."""
    return message(words, "survey.flow.crown", {"m": place_text(words, chainage_m)})


def surcharge_text(
    words: Words, flow_m3_s: float, low_m3_s: float, high_m3_s: float, node: str, level_m: float
) -> str:
    """Return at which flow [m3/s], with its band, the water at the upper end stands at its cover [m]."""
    flow, low, high = (
        litres_text(words, flow_m3_s),
        litres_text(words, low_m3_s),
        litres_text(words, high_m3_s),
    )
    values = {"flow": flow, "low": low, "high": high, "node": node, "m": fixed_text(words, level_m, 3)}
    return message(words, "survey.flow.surcharge", values)


def suspect_text(
    words: Words, kind: str, from_m: float, to_m: float, size_m: float, standardised: float
) -> str:
    """Return what most looks like a slip, where [m] and by how much [m]; each kind has its sentence."""
    values = {"size": metres(words, abs(size_m), None), "times": times_text(words, standardised)}
    values |= {"from_m": place_text(words, from_m), "to_m": place_text(words, to_m)}
    return message(words, f"survey.levels.suspect_{kind}", values)


def level_finding_text(words: Words, one: LevelFinding) -> str:
    """Return what the readings say of themselves."""
    values = {"m": place_text(words, one["m"]), "times": fixed_text(words, one["times"], 1)}
    values["deg"] = degrees_text(words, one["deg"])
    return message(words, f"survey.levels.{one['code']}", values)


def gap_text(words: Words, chainage_m: float, deg: float | None) -> str:
    """Return that the ties do not fit a reading beyond the range at a place [m]; ``deg`` would be needed."""
    values = {"m": place_text(words, chainage_m), "deg": degrees_text(words, deg)}
    return message(words, "survey.levels.gap", values)


def settle_text(
    words: Words, tie_sd_m: float, now_sd_m: float | None, then_sd_m: float, both_ends: bool
) -> str:
    """Return what a level at the far end, or at each end, taken to ``tie_sd_m`` would settle."""
    values = {"now": spread_text(words, now_sd_m), "tie": spread_text(words, tie_sd_m)}
    values["after"] = spread_text(words, then_sd_m)
    which = "both_ends" if both_ends else "far_end"
    bounds = "_bounds" if now_sd_m is None else ""
    return message(words, f"survey.levels.settle_{which}{bounds}", values)


def backfall_text(words: Words, one: Backfall) -> str:
    """Return a backfall as a sentence: from where to where [m] the invert rises with the flow."""
    ends = {"from_m": place_text(words, one.from_m), "to_m": place_text(words, one.to_m)}
    values = {**ends, "size": metres(words, one.rise_m, one.sd_m)}
    return message(words, f"survey.water.backfall{_certainty(one.sure, one.at_least)}", values)


def sag_text(words: Words, one: Sag) -> str:
    """Return a sag as a sentence: from where to where [m] water would stand, and where deepest [m]."""
    ends = {
        "from_m": place_text(words, one.from_m),
        "to_m": place_text(words, one.to_m),
        "low_m": place_text(words, one.low_m),
    }
    values = {**ends, "size": metres(words, one.depth_m, one.sd_m)}
    return message(words, f"survey.water.sag{_certainty(one.sure, one.at_least)}", values)


def _certainty(sure: bool, at_least: bool) -> str:
    return "_at_least" if at_least else "" if sure else "_possible"


def seen_text(
    words: Words, chainage_m: float, observed_m: float, sd_m: float | None, computed_m: float
) -> str:
    """Return a depth of water that was seen [m] beside the one that the levels explain [m]."""
    seen = metres(words, observed_m, sd_m)
    values = {
        "seen": seen,
        "m": place_text(words, chainage_m),
        "computed_m": fixed_text(words, computed_m, 3),
    }
    return message(words, "survey.water.seen", values)


def water_verdict(words: Words, verdict: str) -> str:
    """Return what the water seen says of the levels; empty for another verdict."""
    return message(words, f"survey.water.{verdict}", {}) if verdict in VERDICTS else ""


def code_reason(words: Words, code: str) -> str:
    """Return why something could not be computed, or what stands beside a number, by its code."""
    key = f"survey.reason.{code}"
    return message(words, key, {}) if key in words else message(words, "survey.not_computed", {"code": code})
