"""A length surveyed in pieces, as the pack says it: once."""

from collections.abc import Iterable

from ..report_model.contents import LengthRun, PipeLength, Run
from ..report_model.section import Section
from ..survey.wording.figure_words import place_text

PASSED_M = 0.5  # a run that went further than this beyond the end of another found it open
FIRST = {
    "obstruction": "remove the obstruction at {places}",
    "view_lost": "clean the pipe",
    "water": "lower the water",
}


def listed(names: Iterable[str]) -> str:
    """Return names as one list: a, b and c."""
    all_names = list(names)
    if len(all_names) < 2:
        return "".join(all_names)
    return f"{', '.join(all_names[:-1])} and {all_names[-1]}"


def is_told(run: Run) -> bool:
    """Whether a run is told of with an earlier run of its length, of which it is not known how they join."""
    length = run.length
    return length is not None and not length.joined and length.runs[0].record_id != run.record_id


def withheld_line(length: PipeLength) -> str:
    """Return why no capacity is given of a length of which part was not surveyed."""
    if length.joined:
        return f"Of the length {place_text(length.not_surveyed_m or 0.0)} m were not surveyed."
    names = listed(one.ref for one in length.runs)
    return f"How much of the length lies between the runs {names} is not known."


def next_of_length(name: str, length: PipeLength) -> str:
    """Return what has to be done before the rest can be surveyed; empty where nothing has to."""
    stops = _stops(length)
    gap_m = length.not_surveyed_m or 0.0
    reason = next((one.end_reason for one in stops if one.end_reason in FIRST), "")
    if not length.joined:
        places = listed(f"{place_text(one.surveyed_m or 0.0)} m in run {one.ref}" for one in stops)
    else:
        places = listed(dict.fromkeys(f"{place_text(one.at_m or 0.0)} m" for one in _apart(stops)))
    first = FIRST.get(reason, "").format(places=places)
    rest = ""
    if not length.joined:
        rest = "survey what lies between"
    elif gap_m > 0:
        rest = f"survey the {place_text(gap_m)} m between"
    if first and rest:
        return f"{name}: {first}, then {rest}."
    if reason == "obstruction" or rest:
        return f"{name}: {first or rest}."
    return ""


def _stops(length: PipeLength) -> list[LengthRun]:
    """The runs whose end no other run went beyond; all of those that ended short where each did."""
    short = [one for one in length.runs if one.end_reason != "node_reached" and one.surveyed_m is not None]
    if not length.joined:
        return short
    left = [one for one in short if not any(_passed(one, other) for other in length.runs)]
    whole = any(one.end_reason == "node_reached" for one in length.runs)
    return left if left or whole else short


def _passed(one: LengthRun, other: LengthRun) -> bool:
    if one is other or one.at_m is None or other.at_m is None:
        return False
    beyond_m = one.at_m - other.at_m if other.from_other_end else other.at_m - one.at_m
    return beyond_m > PASSED_M


def _apart(stops: list[LengthRun]) -> list[LengthRun]:
    """Those of the obstructions, each place once."""
    found: list[LengthRun] = []
    for one in stops:
        at_m = one.at_m or 0.0
        if one.end_reason == "obstruction" and all(abs((f.at_m or 0.0) - at_m) > PASSED_M for f in found):
            found.append(one)
    return found


def length_section(run: Run) -> Section:
    """Return how the runs of a length join, and each of them; empty for a run of its own."""
    length = run.length
    header = ("Run", "From", "Surveyed, m", "Ended by", "At, m")
    if length is None:
        return Section("length", "Surveyed in pieces", header)
    rows = tuple(
        (
            one.ref,
            "the other end" if one.from_other_end else "the start",
            "" if one.surveyed_m is None else place_text(one.surveyed_m),
            one.end_reason_label,
            "" if one.at_m is None else place_text(one.at_m),
        )
        for one in length.runs
    )
    note = ""
    if length.joined and any(one.from_other_end for one in length.runs):
        note = (
            "Chainages, clock positions and gradients here are those of the whole length, looking from its "
            "start; what a run from the other end recorded is turned round. Counters are as they were read."
        )
    return Section("length", "Surveyed in pieces", header, rows, (2, 4), 3, (), length.words, note)
