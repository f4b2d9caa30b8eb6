"""What the report prints of a very long run: tables and drawings that a person can still read.

Nothing is left out of the pack: the CSV files, the exchange file and ``job.json`` hold every line.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from ..report_model.figures import Figures
from ..report_model.levels import Level
from ..report_model.run import Reading, Run
from ..survey.wording.messages import Words, message

MAX_ROWS = 500  # of one table
MAX_WORST = 100  # backfalls, sags and findings of one run
MAX_DRAWN = 600  # stations of one drawing, which is 676 px wide

Item = TypeVar("Item")


def spread(items: Sequence[Item], most: int, wanted: Callable[[Item], bool] = lambda _: False) -> list[Item]:
    """Return so many of ``items``, in their order: those wanted first of all, the others evenly spread."""
    if len(items) <= most:
        return list(items)
    chosen = _evenly([n for n, item in enumerate(items) if wanted(item)], most - most // 4)
    rest = _evenly(range(len(items)), most - len(chosen))
    return [items[n] for n in sorted({*chosen, *rest})]


def _evenly(places: Sequence[int], most: int) -> list[int]:
    if len(places) <= most:
        return list(places)
    return [places[n * (len(places) - 1) // (most - 1)] for n in range(most)]


def worst(items: Sequence[Item], most: int, size: Callable[[Item], float]) -> tuple[Item, ...]:
    """Return the largest of ``items``, in their order."""
    if len(items) <= most:
        return tuple(items)
    largest = sorted(range(len(items)), key=lambda n: -size(items[n]))[:most]
    return tuple(items[n] for n in sorted(largest))


def readings(run: Run) -> list[Reading]:
    """Return the readings that the report prints."""
    return spread(run.readings, MAX_ROWS, lambda r: r.disputed or bool(r.over))


def figures(found: Figures) -> Figures:
    """Return the figures of a run as the report prints them."""
    return replace(
        found,
        levels=tuple(spread(found.levels, MAX_ROWS)),
        lengths=tuple(spread(found.lengths, MAX_ROWS)),
        gaps=tuple(spread(found.gaps, MAX_ROWS)),
        ties=tuple(spread(found.ties, MAX_ROWS, lambda t: t.suspect or bool(t.left_out))),
        backfalls=worst(found.backfalls, MAX_WORST, lambda b: b.rise_m),
        sags=worst(found.sags, MAX_WORST, lambda s: s.depth_m),
    )


def note(words: Words, key: str, whole: Sequence[object], printed: Sequence[object]) -> str:
    """Return the sentence that says how many of how many are printed, and where all are."""
    if len(printed) >= len(whole):
        return ""
    return message(words, f"pack.condensed.{key}", {"n": len(printed), "all": str(len(whole))})


def drawn_run(run: Run) -> Run:
    """Return a run with as much as a drawing has room for; its levels are condensed by themselves."""
    found = replace(
        run.figures,
        backfalls=worst(run.figures.backfalls, MAX_WORST, lambda b: b.rise_m),
        sags=worst(run.figures.sags, MAX_WORST, lambda s: s.depth_m),
    )
    dots = spread(run.readings, MAX_DRAWN, lambda r: bool(r.over))
    return replace(run, readings=tuple(dots), figures=found)


def drawn(levels: Sequence[Level], height_of: Callable[[Level], float]) -> list[Level]:
    """Return the stations that a drawing needs to look as if it had all.

    Of each narrow length the first, the highest, the lowest and the last, and wherever it changes how a
    level is known.
    """
    if len(levels) <= MAX_DRAWN:
        return list(levels)
    step = -(-len(levels) * 4 // MAX_DRAWN)
    kept: set[int] = set()
    for first in range(0, len(levels), step):
        part = range(first, min(first + step, len(levels)))
        heights = [height_of(levels[n]) for n in part]
        kept |= {part[0], part[-1], part[heights.index(min(heights))], part[heights.index(max(heights))]}
    changes = (n for n in range(1, len(levels)) if _how_known(levels[n]) != _how_known(levels[n - 1]))
    kept |= _with_the_one_before(_evenly(list(changes), MAX_DRAWN // 4))
    return [levels[n] for n in sorted(kept)]


def _how_known(level: Level) -> tuple[object, ...]:
    return (level.sense, level.known, level.level_m is None)


def _with_the_one_before(places: Iterable[int]) -> set[int]:
    return {near for n in places for near in (n - 1, n)}
