"""Page one of the report: sentences that a busy client can act on, from what is recorded."""

from collections.abc import Iterable

from ..messages import all_of
from ..report_model.contents import PackContents
from ..report_model.run import Node, Observation, Run
from ..survey.wording.messages import Words, listed, message, sentences
from ..survey.wording.recorded import sized
from .condition_report import condition_line, urgent_actions
from .figure_words import (
    known_text,
    rise_parts,
)
from .length_text import is_reported, next_of_length
from .sight_section import lined_line
from .summary_figures import numbers_of
from .summary_text import MAX_CARDS, MAX_FINDINGS, MAX_LINES, MAX_RUNS, most_of, of_run, short
from .texts import clock, node_names, number
from .worst import worst_first

DEFECTS = ("fabric", "operation")
LEVEL_ITEMS = ("rise_needs_far_level", "rise_needs_start_level", "rise_needs_both_levels")
HIDDEN_NODES = ("buried", "unknown")
STOPPED = ("obstruction", "end_of_cable", "view_lost", "water")  # ends after which there is something to do


def summary(contents: PackContents, missing: int) -> dict[str, object]:
    """Return page one's parts."""
    words, order = contents.words, worst_first(contents)
    runs = [_run(words, r) for r in order[:MAX_RUNS]]
    found = [(run, o) for run in order for o in run.observations if _is_defect(o)]
    many_runs = len(order) > MAX_CARDS
    most = MAX_LINES if many_runs else MAX_FINDINGS
    listed_first = sorted(found, key=lambda pair: _urgency(pair[1]))[:most]
    numbers = [line for run in order[:MAX_RUNS] for line in numbers_of(words, run)]
    wanted = sorted(_next(contents, order, missing), key=lambda one: one[0])
    return {
        "runs": runs,
        "as_table": many_runs,
        "runs_more": _runs_more(words, len(order) - len(runs)),
        "findings": [_finding(words, run, o) for run, o in listed_first],
        "findings_note": _findings_note(words, len(found), len(listed_first)) if found else "",
        "seen": _seen(words, order),
        "numbers": most_of(words, numbers) if many_runs else numbers,
        "unseen": most_of(words, list(_unseen(contents, order, missing))),
        "next": most_of(words, [line for _, line in wanted]),
    }


def _runs_more(words: Words, count: int) -> str:
    return message(words, "pack.one.runs_more", {"n": count}) if count else ""


def _seen(words: Words, order: list[Run]) -> list[str]:
    """How much of each run could be seen; of many, those of which most was not come first."""
    if not order:
        return [message(words, "pack.one.no_run", {})]
    if len(order) == 1:
        return [order[0].sight.words]
    many = len(order) > MAX_CARDS
    if many:
        order = sorted(order, key=lambda run: (run.sight.looked, -_blind_m(run)))
    lines = [of_run(words, run, run.sight.words) for run in order]
    return most_of(words, lines, MAX_CARDS) if many else lines


def _blind_m(run: Run) -> float:
    return (run.sight.hidden_m or 0.0) + (run.sight.part_m or 0.0)


def way(words: Words, run: Run) -> str:
    """Return from where to where, and how the flow goes."""
    start, finish = node_names(words, run)
    flow = run.direction if run.direction in ("with_flow", "against_flow") else "not_known"
    ends = {"start": start, "finish": finish, "flow": message(words, f"pack.way.{flow}", {})}
    key = "to" if run.end_reason == "node_reached" else "towards"
    if run.length is not None and run.length.joined:
        return message(words, f"pack.way.{key}_in_runs", {**ends, "n": len(run.length.runs)})
    return message(words, f"pack.way.{key}", ends)


def _run(words: Words, run: Run) -> dict[str, object]:
    expected = {"known": run.surveyed_word, "m": number(words, run.expected_m, 2)}
    of = "surveyed_of" if run.expected_m is not None else "surveyed_known"
    surveyed = number(words, run.surveyed_m, 2, "m") or message(words, "survey.not_known", {})
    rise = run.figures.rise
    fall, spread = rise_parts(words, rise)
    defects = sum(1 for o in run.observations if _is_defect(o))
    tiles = [
        ("surveyed", surveyed, message(words, f"pack.tile.{of}", expected)),
        ("ended_by", *ended_by(words, run)),
        (
            "invert",
            fall[:1].upper() + fall[1:],
            listed(words, (p for p in (spread, known_text(words, rise.known) if rise else "") if p)),
        ),
        ("observations", str(len(run.observations)), message(words, "pack.tile.defects", {"n": defects})),
    ]
    return {
        "ref": short(run.ref),
        "title": message(words, "pack.run", {"run": short(run.ref)}),
        "way": way(words, run),
        "condition": condition_line(words, run),
        "tiles": [
            [message(words, f"pack.tile.{name}", {}), value, provenance] for name, value, provenance in tiles
        ],
    }


def ended_by(words: Words, run: Run) -> tuple[str, str]:
    """Return how it ended and where; a length that was surveyed from both ends has none."""
    if run.length is not None and run.length.joined and any(r.from_other_end for r in run.length.runs):
        length = {"m": number(words, run.end_m, 2, "m")}
        return message(words, "pack.ended.both_ends", {}), message(words, "pack.ended.length", length)
    surveyed = number(words, run.surveyed_m, 2, "m")
    at = message(words, "pack.ended.at", {"m": surveyed}) if surveyed else ""
    return run.end_reason_label, at


def _is_defect(observation: Observation) -> bool:
    repeated = bool(observation.same_as)  # of two runs that saw the same, one counts
    return observation.group in DEFECTS and not observation.part_of and not repeated


def _urgency(observation: Observation) -> tuple[float, float]:
    """Its code's place on page one, as the code table has it; a code without one comes last."""
    place = float("inf") if observation.page_one is None else observation.page_one
    return place, -(observation.quantification_1 or 0.0)


def _finding(words: Words, run: Run, o: Observation) -> dict[str, str]:
    sizes = [sized(words, value, unit) for _, value, unit in o.sizes]
    parts = [
        o.title,
        *(message(words, "pack.one.kind", {"kind": w}) if w[1:2].islower() else w for w in o.words),
        *sizes,
        clock(words, o),
    ]
    at = number(words, o.chainage_m, 2)
    if o.finish_m is not None:
        at = message(words, "survey.span", {"low": at, "high": number(words, o.finish_m, 2)})
    elif o.continuous_role and not o.part_of:
        which = "no_end" if o.continuous_role == "start" else "no_start"
        parts.append(message(words, f"pack.finding.{which}", {}))
    what = listed(words, (p for p in parts if p))
    if o.disputed:
        what = message(words, "pack.finding.not_settled", {"what": what})
    where = message(words, "survey.metres", {"m": at}) if at else ""
    return {"run": short(run.ref), "at": where, "code": o.compact, "words": what}


def _findings_note(words: Words, found: int, shown: int) -> str:
    note = message(words, "pack.one.findings_note", {})
    more = message(words, "pack.one.findings_more", {"n": found - shown}) if found > shown else ""
    return sentences(words, (more, note))


def _blind(words: Words, run: Run) -> Iterable[str]:
    """The lengths that could not be seen, the worst first; all of it in one line where nothing was."""
    if not run.sight.looked or run.sight.total_m is None:
        yield of_run(words, run, run.sight.words)
        return
    for sight in ("hidden", "part"):
        for one in run.sight.parts:
            if one.sight == sight:
                yield of_run(words, run, one.words)


def _runs(words: Words, run: Run) -> str:
    """The names of the runs of a length."""
    refs = [] if run.length is None else [short(one.ref) for one in run.length.runs]
    return message(words, "pack.runs", {"runs": all_of(words, refs)})


def _not_surveyed(words: Words, run: Run) -> Iterable[str]:
    values = {"run": short(run.ref), "m": number(words, run.surveyed_m, 2, "m")}
    if run.length is not None and not run.length.joined:
        if not is_reported(run):
            line = {"runs": _runs(words, run), "line": run.length.words[0]}
            yield message(words, "pack.unseen.runs", line)
    elif run.remaining_m is not None:
        yield message(words, "pack.unseen.rest", {**values, "rest": number(words, run.remaining_m, 1, "m")})
    elif run.end_reason and run.end_reason != "node_reached":
        yield message(words, f"pack.unseen.{'beyond' if values['m'] else 'beyond_end'}", values)


def _unseen(contents: PackContents, order: list[Run], missing: int) -> Iterable[str]:
    words = contents.words
    if not order:
        yield message(words, "pack.unseen.no_run", {})
    for run in order:
        yield from _blind(words, run)
        for ends in run.sight.lined:
            yield of_run(words, run, lined_line(words, *ends))
        yield from _not_surveyed(words, run)
        if run.over_range:
            yield _beyond_range(words, run)
    for node in _hidden(contents):
        yield message(words, "pack.unseen.node", {"node": node.ref})
    if missing:
        yield message(words, "pack.unseen.photos", {"n": missing})


def _hidden(contents: PackContents) -> Iterable[Node]:
    """Nodes that nobody saw from above and whose place is not known."""
    return (n for n in contents.nodes if n.node_type in HIDDEN_NODES and n.position is None)


def _next(contents: PackContents, order: list[Run], missing: int) -> Iterable[tuple[int, str]]:
    """What is needed, each with how much it presses: 0 what must not be done, 1 at once, to 4."""
    words = contents.words
    if contents.conflicts:
        yield 2, message(words, "pack.next.settle", {})
    left = sum(1 for one in contents.not_closed.items if one.severity == "site")
    if left:
        yield 2, message(words, "pack.next.not_closed", {"n": left})
    for run in order:
        yield from ((2, line) for line in _next_of_run(words, run))
        yield from ((3, line) for line in _levels_wanted(contents, run))
        for rank, line in urgent_actions(words, run):
            values = {"run": short(run.ref), "line": line}
            yield rank, message(words, "pack.next.of_run", values)
    for node in _hidden(contents):
        yield 3, message(words, "pack.next.find", {"node": node.ref})
    if any(_is_defect(o) for run in contents.runs for o in run.observations):
        yield 4, message(words, "pack.next.confirm", {})
    if missing:
        yield 2, message(words, "pack.next.photos", {})


def _levels_wanted(contents: PackContents, run: Run) -> Iterable[str]:
    """Which level would turn bounds into values: in the words of the open item, if there is one."""
    for item in contents.not_closed.items:
        if item.code in LEVEL_ITEMS and item.run_ref == run.ref:
            yield of_run(contents.words, run, item.sentence)


def _beyond_range(words: Words, run: Run) -> str:
    start, end = run.over_range[0]
    values = {"run": short(run.ref), "from_m": number(words, start, 2), "to_m": number(words, end, 2)}
    more = len(run.over_range) - 1
    if not more:
        return message(words, "pack.unseen.gradient", values)
    return message(words, "pack.unseen.gradient_more", {**values, "n": more})


def _next_of_run(words: Words, run: Run) -> Iterable[str]:
    if run.length is not None and (run.end_reason == "node_reached" or not run.length.joined):
        one = message(words, "pack.run", {"run": short(run.ref)})
        line = next_of_length(words, one if run.length.joined else _runs(words, run), run.length)
        if line and not is_reported(run):
            yield line
    elif run.end_reason in STOPPED:
        at = {"run": short(run.ref), "m": number(words, run.surveyed_m, 2, "m")}
        yield message(words, f"pack.next.{run.end_reason}", at)
    if run.figures.blunders:
        yield message(words, "pack.next.ties", {"run": short(run.ref)})
