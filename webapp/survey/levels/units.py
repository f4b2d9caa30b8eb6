"""A run cut into units: single pipes with readings, lengths without any, and unknown rises.

Where the length of the single pipes is known, the joints lie where it puts them. Elsewhere a reading has a
cell, up to the middle to the next reading and no more than half a pipe of a length that is assumed.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from .input import NOT_READ, SAME_PLACE_M, LevelReading, LevelSetup, LevelTie

TRACK_M = 0.5  # a crawler stands on as much; assumed where its kit does not say
PIPES_M = (0.5, 2.5)  # single pipes of unknown length are as long as readings are apart, within this
GAP, UNREAD, READ = 0, 1, 2


@dataclass(frozen=True)
class Unit:
    """A length of the run, chainages [m], with the readings from ``first`` to before ``last``.

    ``kind``: READ, UNREAD or GAP (an unknown rise; ``first`` is its reading). ``pipes_m2``: squares of
    the lengths of its single pipes added up [m2]. ``doubt_m2``: what joints at unknown places make
    of the spread of the pipes [m2], for a cell; None in a pipe whose joints are known. ``own_m``: of
    an unknown rise, where the crawler itself stood [m].
    """

    from_m: float
    to_m: float
    kind: int
    first: int
    last: int
    pipes_m2: float
    doubt_m2: float | None
    own_m: float


@dataclass(frozen=True)
class Span:
    """Chainages [m] and the length of the single pipes in it [m], None where not known."""

    from_m: float
    to_m: float
    unit_m: float | None


def cut_run(chosen: Sequence[LevelReading], ties: Sequence[LevelTie], setup: LevelSetup) -> list[Unit]:
    """Return the units of a run from its start to its end.

    Parameters
    ----------
    chosen : sequence of LevelReading
        In ascending chainage [m], none before the start.

    References
    ----------
    Decision D58.

    Examples
    --------
    >>> from .input import Pipes
    >>> setup = LevelSetup("course", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, pipes=(Pipes(0.0, 9.0, 1.5),))
    >>> units = cut_run([LevelReading(2.0, 1.0), LevelReading(4.0, 1.0)], [], setup)
    >>> [(u.from_m, u.to_m, u.kind) for u in units]
    [(0.0, 1.5, 1), (1.5, 3.0, 2), (3.0, 4.5, 2)]
    """
    spans = _spans(setup)
    end_m = _end(chosen, ties, setup, spans)
    edges = [setup.start_chainage_m]
    for i in range(1, len(chosen)):
        edges.append(max(edges[-1], min(_edge(chosen[i - 1], chosen[i], spans), end_m)))
    edges.append(max(end_m, edges[-1]))
    tied: list[float] = []
    for place in sorted(tie.chainage_m for tie in ties):
        if not tied or place - tied[-1] > SAME_PLACE_M:
            tied.append(place)
    units: list[Unit] = []
    pipe_m = usual_pipe_m(chosen)
    at, i = setup.start_chainage_m, 0
    while i < len(chosen):
        if chosen[i].deg is None:
            from_m, to_m = edges[i], edges[i + 1]
            if chosen[i].over == NOT_READ:
                from_m, to_m = max(at, chosen[i].chainage_m), max(at, min(chosen[i].to_m or at, end_m))
            _land(units, chosen, (i, i), (at, from_m), (spans, pipe_m), tied)
            _gap(units, chosen, i, (max(at, from_m), to_m), tied)
            at, i = max(at, to_m), i + 1
            continue
        first = i
        while i < len(chosen) and chosen[i].deg is not None:
            i += 1
        to_m = end_m
        if i < len(chosen):
            to_m = chosen[i].chainage_m if chosen[i].over == NOT_READ else edges[i]
        _land(units, chosen, (first, i), (at, max(at, min(to_m, end_m))), (spans, pipe_m), tied)
        at = max(at, min(to_m, end_m))
    _land(units, chosen, (i, i), (at, end_m), (spans, pipe_m), tied)
    return units


def span_at(spans: Sequence[Span], place_m: float) -> Span | None:
    """Return the span of pipes of a known length at a place.

    Parameters
    ----------
    place_m : float
        Chainage [m].

    Returns
    -------
    Span or None
        Chainages [m].

    Examples
    --------
    >>> span_at([Span(0.0, 9.0, 1.5)], 9.0) is None
    True
    """
    for span in spans:
        if span.from_m <= place_m < span.to_m:
            return span
    return None


def pipe_at(span: Span, place_m: float) -> tuple[float, float]:
    """Return the ends of the single pipe at a place [m].

    Parameters
    ----------
    place_m : float
        Chainage [m] within the span.

    Returns
    -------
    tuple of float
        Chainages [m].

    Examples
    --------
    >>> pipe_at(Span(0.0, 4.0, 1.5), 3.2)
    (3.0, 4.0)
    """
    if span.unit_m is None:
        return span.from_m, span.to_m
    k = math.floor((place_m - span.from_m) / span.unit_m)
    return span.from_m + k * span.unit_m, min(span.from_m + (k + 1) * span.unit_m, span.to_m)


def usual_pipe_m(chosen: Sequence[LevelReading]) -> float:
    """Return how long single pipes of unknown length are taken to be [m]: as far as readings are apart.

    Returns
    -------
    float
        The median of the distances, from 0.5 to 2.5 [m].

    Examples
    --------
    >>> usual_pipe_m([LevelReading(0.0, 1.0), LevelReading(1.2, 1.0), LevelReading(9.0, 1.0)])
    1.2
    """
    apart = sorted(b.chainage_m - a.chainage_m for a, b in itertools.pairwise(chosen))
    usual = apart[(len(apart) - 1) // 2] if apart else PIPES_M[1]
    return max(PIPES_M[0], min(usual, PIPES_M[1]))


def _spans(setup: LevelSetup) -> list[Span]:
    """Lengths of single pipes of a known length; where two lie over each other, the first."""
    found: list[Span] = []
    for pipes in setup.pipes:
        from_m, to_m = max(pipes.from_m, setup.start_chainage_m), pipes.to_m
        free = not any(one.from_m < to_m and from_m < one.to_m for one in found)
        if pipes.unit_m is not None and to_m > from_m and free:
            found.append(Span(from_m, to_m, pipes.unit_m))
    return sorted(found, key=lambda one: one.from_m)


def _end(
    chosen: Sequence[LevelReading], ties: Sequence[LevelTie], setup: LevelSetup, spans: Sequence[Span]
) -> float:
    far = max([setup.start_chainage_m, *(tie.chainage_m for tie in ties)])
    if setup.end_chainage_m is not None:
        return far if far > setup.end_chainage_m + SAME_PLACE_M else setup.end_chainage_m
    last = chosen[-1]
    span = span_at(spans, last.chainage_m)
    if span is not None and last.deg is not None:
        return max(far, pipe_at(span, last.chainage_m)[1])
    reach = last.to_m if last.deg is None and last.to_m is not None else last.chainage_m
    return max(far, reach)


def _edge(before: LevelReading, behind: LevelReading, spans: Sequence[Span]) -> float:
    """Where an unknown rise gives way to its neighbour; the middle of two that are alike."""
    left, right = before.chainage_m, behind.chainage_m
    if before.deg is None and before.over == NOT_READ and before.to_m is not None:
        return before.to_m
    if behind.deg is None and behind.over == NOT_READ:
        return right
    middle = (left + right) / 2
    if before.deg is not None and behind.deg is None:
        return min(_reach(spans, left, 1), max(middle, right - TRACK_M / 2))
    if before.deg is None and behind.deg is not None:
        return max(_reach(spans, right, -1), min(middle, left + TRACK_M / 2))
    return middle


def _reach(spans: Sequence[Span], place_m: float, way: int) -> float:
    """How far a reading within the range says that the pipe is within the range."""
    span = span_at(spans, place_m)
    if span is None:
        return place_m + way * TRACK_M / 2
    return pipe_at(span, place_m)[1 if way > 0 else 0]


def _gap(
    units: list[Unit],
    chosen: Sequence[LevelReading],
    i: int,
    place: tuple[float, float],
    tied: Sequence[float],
) -> None:
    """An unknown rise, cut where a level was taken within it."""
    at = chosen[i].chainage_m
    cuts = [place[0], *(t for t in tied if place[0] + SAME_PLACE_M < t < place[1] - SAME_PLACE_M), place[1]]
    for from_m, to_m in itertools.pairwise(cuts):
        if to_m - from_m > SAME_PLACE_M:
            own = max(0.0, min(to_m, at + TRACK_M / 2) - max(from_m, at - TRACK_M / 2))
            own = 0.0 if chosen[i].over == NOT_READ else own
            units.append(Unit(from_m, to_m, GAP, i, i, 0.0, None, own))


def _land(
    units: list[Unit], chosen: Sequence[LevelReading], these: tuple[int, int], place: tuple[float, float],
    known: tuple[Sequence[Span], float], tied: Sequence[float],
) -> None:  # fmt: skip
    """A length without unknown rises: span by span, pipe by pipe or cell by cell."""
    (at, end_m), (spans, pipe_m) = place, known
    i, last = these
    pieces: list[Span] = []
    for span in spans:
        from_m, to_m = max(span.from_m, at), min(span.to_m, end_m)
        if to_m - from_m > SAME_PLACE_M:
            if from_m - at > SAME_PLACE_M:
                pieces.append(Span(at, from_m, None))
            pieces.append(Span(span.from_m, to_m, span.unit_m))
            at = to_m
    if end_m - at > SAME_PLACE_M:
        pieces.append(Span(at, end_m, None))
    at = place[0]
    for n, piece in enumerate(pieces):
        first = i
        while i < last and (chosen[i].chainage_m < piece.to_m or n == len(pieces) - 1):
            i += 1
        if piece.unit_m is None:
            _cells(units, chosen, (first, i), (Span(at, piece.to_m, None), pipe_m), tied)
        else:
            _pipes(units, chosen, (first, i), (at, piece), tied)
        at = piece.to_m


def _pipes(
    units: list[Unit], chosen: Sequence[LevelReading], these: tuple[int, int], place: tuple[float, Span],
    tied: Sequence[float],
) -> None:  # fmt: skip
    at, span = place
    i, last = these
    while i < last:
        left, right = pipe_at(span, min(max(chosen[i].chainage_m, at), span.to_m - SAME_PLACE_M))
        left = max(left, at)
        first = i
        while i < last and chosen[i].chainage_m < right:
            i += 1
        i = max(i, first + 1)
        _unread(units, at, left, (span, 0.0), tied)
        units.append(Unit(left, right, READ, first, i, (right - left) * (right - left), None, 0.0))
        at = right
    _unread(units, at, span.to_m, (span, 0.0), tied)


def _cells(
    units: list[Unit], chosen: Sequence[LevelReading], these: tuple[int, int], place: tuple[Span, float],
    tied: Sequence[float],
) -> None:  # fmt: skip
    """Cells of readings between joints at unknown places; readings at one place share one."""
    whole, pipe_m = place
    at, end_m = whole.from_m, whole.to_m
    i, last = these
    while i < last:
        first = i
        while i < last and chosen[i].chainage_m - chosen[first].chainage_m < TRACK_M:
            i += 1
        here = (chosen[first].chainage_m + chosen[i - 1].chainage_m) / 2
        left = max(at, here - pipe_m / 2)
        right = min(end_m, here + pipe_m / 2)
        if i < last:
            right = min(right, (chosen[i - 1].chainage_m + chosen[i].chainage_m) / 2)
        _unread(units, at, left, (whole, pipe_m), tied)
        if right - left > SAME_PLACE_M:
            doubt = 1 / (3 * pipe_m) * (max(here - left, 0.0) ** 3 + max(right - here, 0.0) ** 3)
            units.append(Unit(left, right, READ, first, i, (right - left) * (right - left), doubt, 0.0))
        at = max(right, left)
    _unread(units, at, end_m, (whole, pipe_m), tied)


def _unread(
    units: list[Unit], from_m: float, to_m: float, pipes: tuple[Span, float], tied: Sequence[float]
) -> None:
    """A length without readings as one unit, cut where a level was taken within it."""
    if to_m - from_m <= SAME_PLACE_M:
        return
    cuts = [from_m, *(t for t in tied if from_m + SAME_PLACE_M < t < to_m - SAME_PLACE_M), to_m]
    for a, b in itertools.pairwise(cuts):
        units.append(Unit(a, b, UNREAD, 0, 0, _squares(a, b, *pipes), None, 0.0))


def _squares(from_m: float, to_m: float, span: Span, pipe_m: float) -> float:
    """Squares of the lengths of the single pipes between two places, added up [m2]."""
    if span.unit_m is None:
        return (to_m - from_m) * min(pipe_m, to_m - from_m)
    first, last = pipe_at(span, from_m + SAME_PLACE_M), pipe_at(span, to_m - SAME_PLACE_M)
    if last[0] <= first[0]:
        return (to_m - from_m) * (to_m - from_m)
    ends = (first[1] - from_m) * (first[1] - from_m) + (to_m - last[0]) * (to_m - last[0])
    return ends + max(last[0] - first[1], 0.0) * span.unit_m
