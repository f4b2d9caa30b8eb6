"""A length surveyed in pieces, as the pack says it: once."""

from ..messages import all_of
from ..report_model.run import LengthRun, PipeLength, Run
from ..report_model.section import Section, heads
from ..survey.wording.messages import Words, message
from ..survey.wording.quantities import place_text

PASSED_M = 0.5  # a run that went further than this beyond the end of another found it open
FIRST = ("obstruction", "view_lost", "water")  # what has to be done before the rest can be surveyed


def is_reported(run: Run) -> bool:
    """Whether a run is told of with an earlier run of its length, of which it is not known how they join."""
    length = run.length
    return length is not None and not length.joined and length.runs[0].record_id != run.record_id


def withheld_line(words: Words, length: PipeLength) -> str:
    """Return why no capacity is given of a length of which part was not surveyed."""
    if length.joined:
        values = {"m": place_text(words, length.not_surveyed_m or 0.0)}
        return message(words, "pack.length.not_surveyed", values)
    runs = all_of(words, (one.ref for one in length.runs))
    return message(words, "pack.length.between_not_known", {"runs": runs})


def next_of_length(words: Words, name: str, length: PipeLength) -> str:
    """Return what has to be done before the rest can be surveyed; empty where nothing has to."""
    stops = _stops(length)
    gap_m = length.not_surveyed_m or 0.0
    first = next((one.end_reason for one in stops if one.end_reason in FIRST), "")
    rest = "rest" if not length.joined else "gap" if gap_m > 0 else ""
    if not rest and first != "obstruction":
        return ""
    if length.joined:
        ends = dict.fromkeys(one.at_m or 0.0 for one in _apart(stops))
        places = [message(words, "pack.length.place", {"m": place_text(words, at_m)}) for at_m in ends]
    else:
        places = [
            message(
                words,
                "pack.length.place_in_run",
                {"m": place_text(words, one.surveyed_m or 0.0), "run": one.ref},
            )
            for one in stops
        ]
    values = {"name": name, "places": all_of(words, dict.fromkeys(places)), "m": place_text(words, gap_m)}
    key = "_".join(part for part in (first, rest) if part)
    return message(words, f"pack.length.next_{key}", values)


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


def length_section(words: Words, run: Run) -> Section:
    """Return how the runs of a length join, and each of them; empty for a run of its own."""
    length = run.length
    title = message(words, "pack.length.title", {})
    header = heads(words, "run", "from_end", "surveyed", "ended_by", "at")
    if length is None:
        return Section("length", title, header)
    rows = tuple(
        (
            one.ref,
            message(words, f"pack.length.from_{'other_end' if one.from_other_end else 'start'}", {}),
            "" if one.surveyed_m is None else place_text(words, one.surveyed_m),
            one.end_reason_label,
            "" if one.at_m is None else place_text(words, one.at_m),
        )
        for one in length.runs
    )
    turned = length.joined and any(one.from_other_end for one in length.runs)
    note = message(words, "pack.length.note", {}) if turned else ""
    return Section("length", title, header, rows, (2, 4), 3, (), length.words, note)
