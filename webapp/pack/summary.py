"""Page one of the report: sentences that a busy client can act on, from what is recorded."""

from collections.abc import Iterable
from typing import Any

from ..report_model.contents import Observation, PackContents, Run
from ..report_model.figures import Capacity
from ..report_model.plain_values import short_text
from ..survey.wording.figure_words import place_text
from ..survey.wording.reasons import code_words
from .condition_report import condition_line, urgent_actions
from .figure_words import (
    backfall_text,
    blunder_text,
    capacity_text,
    known_text,
    rise_text,
    sag_text,
    water_text,
    whole_run_lines,
)
from .length_text import is_told, listed, next_of_length, withheld_line
from .sight_section import lined_line
from .texts import clock, node_names, number
from .trace_table import look_text
from .worst import worst_first

MAX_CARDS, MAX_RUNS, MAX_FINDINGS, MAX_LINES = 3, 8, 8, 6
# Which observations come to page one first when there are too many: an order, not a grade.
URGENT = ("BAC", "BAO", "BAP", "BBE", "BAD", "BAA", "BAB", "BAJ", "BBD", "BBF", "BBA", "BBB", "BBC", "BAF")
DEFECTS = ("fabric", "operation")
MAX_REF = 24
NO_START, NO_END = "its start was not recorded", "it goes on, and its finish was not recorded"
NOT_LOOKED = "bore_not_looked_at"
LEVEL_ITEMS = ("rise_needs_far_level", "rise_needs_start_level", "rise_needs_both_levels")


def summary(contents: PackContents, missing: int) -> dict[str, Any]:
    """Return page one's parts."""
    order = worst_first(contents)
    runs = [_run(r) for r in order[:MAX_RUNS]]
    found = [(run, o) for run in order for o in run.observations if _is_defect(o)]
    many_runs = len(order) > MAX_CARDS
    most = MAX_LINES if many_runs else MAX_FINDINGS
    listed = sorted(found, key=lambda pair: _urgency(pair[1]))[:most]
    numbers = [line for run in order[:MAX_RUNS] for line in _numbers(run)]
    return {
        "runs": runs,
        "as_table": many_runs,
        "runs_more": _runs_more(len(order) - len(runs)),
        "findings": [_finding(run, o) for run, o in listed],
        "findings_note": _findings_note(len(found), len(listed)) if found else "",
        "seen": _seen(order),
        "numbers": _most(numbers) if many_runs else numbers,
        "unseen": _most(list(_unseen(contents, order, missing))),
        "next": _most([line for _, line in sorted(_next(contents, order, missing), key=lambda one: one[0])]),
    }


def _runs_more(count: int) -> str:
    if not count:
        return ""
    follow = "1 more run follows" if count == 1 else f"{count} more runs follow"
    return f"The worst stand here first; {follow} in this report."


def _seen(order: list[Run]) -> list[str]:
    """How much of each run could be seen; of many, those of which most was not come first."""
    if len(order) == 1:
        return [order[0].sight.words]
    many = len(order) > MAX_CARDS
    if many:
        order = sorted(order, key=lambda run: (run.sight.looked, -_blind_m(run)))
    lines = [f"Run {short(r.ref)}: {r.sight.words[:1].lower()}{r.sight.words[1:]}" for r in order]
    return _most(lines, MAX_CARDS) if many else lines


def _blind_m(run: Run) -> float:
    return (run.sight.hidden_m or 0.0) + (run.sight.part_m or 0.0)


def short(ref: str) -> str:
    """Return a reference that leaves room for the rest of a line."""
    return ref if len(ref) <= MAX_REF else f"{ref[: MAX_REF - 1]}…"


def _most(lines: list[str], most: int = MAX_LINES) -> list[str]:
    if len(lines) <= most:
        return lines
    return [*lines[:most], f"And {len(lines) - most} more; see the runs."]


def way(run: Run) -> str:
    """Return from where to where, and how the flow goes."""
    start, finish = node_names(run)
    flow = {"with_flow": "with the flow", "against_flow": "against the flow"}
    joint = "to" if run.end_reason == "node_reached" else "towards"
    pieces = f", in {len(run.length.runs)} runs" if run.length is not None and run.length.joined else ""
    return f"from {start} {joint} {finish}, {flow.get(run.direction, 'flow direction not known')}{pieces}"


def _run(run: Run) -> dict[str, Any]:
    of = f" of {number(run.expected_m, 2, 'm')} expected" if run.expected_m is not None else ""
    surveyed = number(run.surveyed_m, 2, "m") or "not known"
    rise = run.figures.rise
    fall, _, spread = rise_text(rise).partition(", ")
    defects = sum(1 for o in run.observations if _is_defect(o))
    return {
        "ref": short(run.ref),
        "way": way(run),
        "condition": condition_line(run),
        "tiles": [
            ["Surveyed", surveyed, f"{run.surveyed_known.split(':')[0]}{of}"],
            [
                "Ended by",
                *ended_by(run),
            ],
            [
                "Invert, start to end",
                fall[:1].upper() + fall[1:],
                ", ".join(p for p in (spread, known_text(rise.known) if rise else "") if p),
            ],
            ["Observations", str(len(run.observations)), f"{defects} of them defects"],
        ],
    }


def _lower(words: str) -> str:
    return f"{words[:1].lower()}{words[1:]}"


def ended_by(run: Run) -> tuple[str, str]:
    """Return how it ended and where; a length that was surveyed from both ends has none."""
    if run.length is not None and run.length.joined and any(r.from_other_end for r in run.length.runs):
        return "Surveyed from both ends", f"length {number(run.end_m, 2, 'm')}"
    surveyed = number(run.surveyed_m, 2, "m")
    return run.end_reason_label, f"at chainage {surveyed}" if surveyed else ""


def _is_defect(observation: Observation) -> bool:
    repeated = bool(observation.same_as)  # of two runs that saw the same, one counts
    return observation.group in DEFECTS and not observation.part_of and not repeated


def _urgency(observation: Observation) -> tuple[int, float]:
    place = URGENT.index(observation.code) if observation.code in URGENT else len(URGENT)
    return place, -(observation.quantification_1 or 0.0)


def _finding(run: Run, o: Observation) -> dict[str, str]:
    sizes = [f"{short_text(value)} {unit}" for _, value, unit in o.sizes]
    parts = [o.title, *(w.lower() if w[1:2].islower() else w for w in o.words), *sizes, clock(o)]
    at = number(o.chainage_m, 2)
    if o.finish_m is not None:
        at = f"{at} to {number(o.finish_m, 2)}"
    elif o.continuous_role and not o.part_of:
        parts.append(NO_END if o.continuous_role == "start" else NO_START)
    words = ", ".join(p for p in parts if p) + (" (not settled)" if o.disputed else "")
    return {"run": short(run.ref), "at": f"{at} m" if at else "", "code": o.compact, "words": words}


def _findings_note(found: int, listed: int) -> str:
    more = f"{found - listed} further defects are listed under their runs. " if found > listed else ""
    return f"{more}Sizes are estimates from the camera's view. The classes are preliminary."


def _numbers(run: Run) -> Iterable[str]:
    """What the figures of a run say: fall, backfalls, water, choke, where to look for the far end."""
    name, figures = f"Run {short(run.ref)}", run.figures
    if run.length is not None and not is_told(run):
        words = [line for line in run.length.words if not line.startswith("Not surveyed")]
        yield f"{name}: {words[0][:1].lower()}{' '.join(words)[1:]}"
    if figures.blunders:
        yield f"{name}: levels and readings contradict each other. {blunder_text(figures.blunders[0])}"
    if figures.rise is not None and figures.levels:
        far = place_text(figures.levels[-1].chainage_m)
        yield f"{name}: over {far} m the invert {rise_text(figures.rise)} ({known_text(figures.rise.known)})."
    bad = [backfall_text(b) for b in figures.backfalls if b.sure or b.at_least]
    bad = bad or [sag_text(s) for s in figures.sags if s.sure or s.at_least]
    if bad:
        more = f" And {len(bad) - 1} more." if len(bad) > 1 else ""
        yield f"{name}: {bad[0][:1].lower()}{bad[0][1:]}{more}"
    if water := _water(run):
        yield f"{name}: {water[:1].lower()}{water[1:]}"
    yield from _bottleneck(name, run)
    if run.end_reason != "node_reached" and (look := look_text(run)):
        yield f"{name}: {look[:1].lower()}{look[1:]}"


def _water(run: Run) -> str:
    """The water seen that the levels explain least, in words; empty where they agree."""
    against = [one for one in run.figures.water if one.verdict != "agrees"]
    if not against:
        return ""
    return water_text(max(against, key=lambda one: abs(one.difference_m) / max(one.sd_m, 1e-6)))


def _bottleneck(name: str, run: Run) -> Iterable[str]:
    bottleneck = run.figures.bottleneck
    if run.length is not None and (run.length.between or not run.length.joined):
        if not is_told(run):
            yield f"{name}: what it carries is not given. {withheld_line(run.length)}"
        return
    limits = run.figures.limits
    if bottleneck is None or bottleneck.index is None:
        each = [one for c in run.figures.capacities for one in _whys(c)]
        whys = list(dict.fromkeys(code_words(one) for one in (*limits, *each))) if each else []
        if whys:
            yield f"{name}: what it carries is not given. {' '.join(whys)}"
        return
    whole = run.figures.whole_run
    if whole is not None:
        lines = " ".join(whole_run_lines(run.figures))
        yield (
            f"{name}: the run carries {capacity_text(whole)} full ({whole.known}; an indication for a "
            f"competent engineer). {lines}{_not_looked(run)}".rstrip()
        )
        return
    row = run.figures.capacities[bottleneck.index]
    least = "carries least of those with a number" if bottleneck.no_number else "carries least"
    withheld = [*map(code_words, limits), *_without_number(run)]
    if withheld:
        yield f"{name}: what the run carries as a whole is not given. {' '.join(withheld)}"
    only = len(run.figures.capacities) == 1 and not limits
    what = "the run carries" if only else f"stretch {bottleneck.index + 1} {least},"
    if limits and len(run.figures.capacities) == 1:
        ends = f"{place_text(row.from_m or 0.0)} to {place_text(row.to_m or 0.0)} m"
        what = f"by itself stretch 1, {ends}, carries"
    yield (
        f"{name}: {what} {capacity_text(row)} full ({row.known}; an indication for a competent "
        f"engineer). {_not_looked(run)}".rstrip()
    )


def _without_number(run: Run) -> Iterable[str]:
    """Which stretches have no number, and why."""
    rows, bottleneck = run.figures.capacities, run.figures.bottleneck
    for k in bottleneck.no_number if bottleneck is not None else ():
        yield f"Stretch {k + 1} may carry less: {_first_low(' '.join(map(code_words, _whys(rows[k]))))}"


def _first_low(words: str) -> str:
    return f"{words[:1].lower()}{words[1:]}"


def _not_looked(run: Run) -> str:
    return code_words(NOT_LOOKED) if any(NOT_LOOKED in c.findings for c in run.figures.capacities) else ""


def _whys(row: Capacity) -> tuple[str, ...]:
    """Why a stretch has no number."""
    return (row.left_out,) if row.left_out else row.findings


def _blind(run: Run) -> Iterable[str]:
    """The lengths that could not be seen, the worst first; all of it in one line where nothing was."""
    name = f"Run {short(run.ref)}"
    if not run.sight.looked or run.sight.total_m is None:
        yield f"{name}: {run.sight.words[:1].lower()}{run.sight.words[1:]}"
        return
    for sight in ("hidden", "part"):
        for one in run.sight.parts:
            if one.sight == sight:
                yield f"{name}: {one.words[:1].lower()}{one.words[1:]}"


def _unseen(contents: PackContents, order: list[Run], missing: int) -> Iterable[str]:
    for run in order:
        yield from _blind(run)
        for ends in run.sight.lined:
            line = lined_line(*ends)
            yield f"Run {short(run.ref)}: {line[:1].lower()}{line[1:]}"
        if run.length is not None and not run.length.joined:
            if not is_told(run):
                yield f"Runs {listed(short(r.ref) for r in run.length.runs)}: {_lower(run.length.words[0])}"
        elif run.remaining_m is not None:
            yield (
                f"Run {short(run.ref)}: about {number(run.remaining_m, 1, 'm')} beyond "
                f"{number(run.surveyed_m, 2, 'm')} (expected length less surveyed length)."
            )
        elif run.end_reason and run.end_reason != "node_reached":
            yield f"Run {short(run.ref)}: everything beyond {number(run.surveyed_m, 2, 'm') or 'its end'}."
        if run.over_range:
            place = _places(run.over_range)
            yield (
                f"Run {short(run.ref)}: the gradient from {place}, beyond the inclinometer's range. "
                'Levels beyond it are "at least" or "at most" only.'
            )
    for node in contents.nodes:
        if node.type_label in ("Buried chamber", "Unknown end") and node.position is None:
            yield f"{node.ref}: its place is not known."
    if missing:
        photos = "1 photo is" if missing == 1 else f"{missing} photos are"
        yield f"{photos} not in this pack yet."


def _next(contents: PackContents, order: list[Run], missing: int) -> Iterable[tuple[int, str]]:
    """What is needed, each with how much it presses: 0 what must not be done, 1 at once, to 4."""
    if contents.conflicts:
        yield 2, "Settle what two people recorded differently (see the last section)."
    left = sum(1 for one in contents.not_closed.items if one.severity == "site")
    if left:
        yield 2, f"See what was not closed on site and cannot be mended later ({left}; near the end)."
    for run in order:
        yield from ((2, line) for line in _next_of_run(run))
        yield from ((3, line) for line in _levels_wanted(contents, run))
        for rank, line in urgent_actions(run):
            yield rank, f"Run {short(run.ref)}, {line[:1].lower()}{line[1:]}"
    for node in contents.nodes:
        if node.type_label in ("Buried chamber", "Unknown end") and node.position is None:
            yield 3, f"Find {node.ref} from above ground."
    if any(_is_defect(o) for run in contents.runs for o in run.observations):
        yield 4, "Have a competent engineer confirm the classes: they are preliminary."
    if missing:
        yield 2, "Sync the phones that hold the missing photos, then make the pack again."


def _levels_wanted(contents: PackContents, run: Run) -> Iterable[str]:
    """Which level would turn bounds into values: in the words of the open item, if there is one."""
    for item in contents.not_closed.items:
        if item.code in LEVEL_ITEMS and item.run_ref == run.ref:
            yield f"Run {short(run.ref)}: {item.sentence[:1].lower()}{item.sentence[1:]}"


def _places(spans: tuple[tuple[float, float], ...]) -> str:
    start, end = spans[0]
    first = f"{number(start, 2)} to {number(end, 2, 'm')}"
    more = "1 further length" if len(spans) == 2 else f"{len(spans) - 1} further lengths"
    return first if len(spans) == 1 else f"{first} and {more}"


def _next_of_run(run: Run) -> Iterable[str]:
    if run.length is not None and (run.end_reason == "node_reached" or not run.length.joined):
        many = f"Runs {listed(short(r.ref) for r in run.length.runs)}"
        line = next_of_length(f"Run {short(run.ref)}" if run.length.joined else many, run.length)
        if line and not is_told(run):
            yield line
    else:
        yield from _next_of_end(run)
    if run.figures.blunders:
        yield f"Run {short(run.ref)}: check the level ties; something in them looks like a slip."


def _next_of_end(run: Run) -> Iterable[str]:
    at = number(run.surveyed_m, 2, "m")
    sentence = {
        "obstruction": f"Run {short(run.ref)}: remove the obstruction at {at}, then survey the rest.",
        "end_of_cable": f"Run {short(run.ref)}: survey the rest from the other end, or with a longer cable.",
        "view_lost": f"Run {short(run.ref)}: clean the pipe, then survey on from {at}.",
        "water": f"Run {short(run.ref)}: lower the water, then survey on from {at}.",
    }.get(run.end_reason)
    if sentence:
        yield sentence
