"""Do the ties agree with the readings? Misclosures, and which tie or reading looks like a blunder."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..numbers.linear_algebra import dot, solve_lower
from .solution import LevelSolution
from .walk import LevelWalk

BLUNDER_AT = 3.29  # Baarda: two-sided, one in a thousand
MIN_CHECK = 1e-4  # with less redundancy than this an observation is not checked by the others
EQUAL = 1e-6


@dataclass(frozen=True)
class TieCheck:
    """``tie``: its place in the input. ``before_m``: tied level less that from the readings alone.

    None where an unknown rise lies before it. ``after_m``: what is left after the adjustment.
    ``rest_m``: tied level less what all else says of it; None if nothing else checks it.
    """

    tie: int
    station: int
    before_m: float | None
    before_sd_m: float | None
    before_standardised: float | None
    after_m: float
    rest_m: float | None
    rest_sd_m: float | None
    standardised: float | None


@dataclass(frozen=True)
class Suspect:
    """An observation and how far it is out in standard deviations, by how much [m] if it alone is.

    ``kind``: ``tie`` (``index``: the tie), ``start`` (the start level) or ``readings`` (``index``: of
    those between two ties, which alone cannot be told apart, the one that acts over the longest).
    """

    kind: str
    index: int | None
    from_m: float
    to_m: float
    size_m: float
    standardised: float


def tie_checks(solution: LevelSolution) -> list[TieCheck]:
    """Return for every tie the misclosure before and after, and how it stands against all else.

    Returns
    -------
    list of TieCheck, length m
        By chainage. Misclosures and standard deviations [m].

    References
    ----------
    Standardised residual: W. Baarda, A testing procedure for use in geodetic networks, Netherlands Geodetic
    Commission, Publications on Geodesy, New Series 2(5), Delft 1968 (from memory).

    Examples
    --------
    >>> from .input import LevelReading, LevelSetup, LevelTie
    >>> from .model import walk_levels
    >>> from .solution import solve_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> ties = [LevelTie(9.0, 5.1, 0.01)]
    >>> walk = walk_levels([LevelReading(0.0, 0.0)], ties, setup)
    >>> round(tie_checks(solve_levels(walk, ties, setup))[0].standardised, 3)
    5.37
    """
    pull, weights = _pull_and_weights(solution)
    checks = []
    start = solution.start_sd_m * solution.start_sd_m
    for i, station in enumerate(solution.stations):
        before = sd = None
        if solution.walk.gaps_done[station] == 0 and not solution.walk.gap_parts[station]:
            before = solution.before_m[i]
            sd = math.sqrt(dot(solution.lower[i], solution.lower[i]) + start)
        found = _test(pull, weights, [1.0 if j == i else 0.0 for j in range(len(pull))], solution)
        checks.append(
            TieCheck(
                solution.order[i], station, before, sd,
                before / sd if before is not None and sd else None,
                solution.sd_m[i] * solution.sd_m[i] * pull[i],
                *(found or (None, None, None)),
            )
        )  # fmt: skip
    return checks


def suspects(solution: LevelSolution) -> list[Suspect]:
    """Return every tie, the start level and the readings between ties, with how far each is out.

    >>> from .input import LevelReading, LevelSetup, LevelTie
    >>> from .model import walk_levels
    >>> from .solution import solve_levels
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.0, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> ties = [LevelTie(9.0, 5.1, 0.01)]
    >>> walk = walk_levels([LevelReading(0.0, 0.0)], ties, setup)
    >>> [s.kind for s in suspects(solve_levels(walk, ties, setup))]
    ['tie', 'start', 'readings']
    """
    walk, count = solution.walk, len(solution.stations)
    pull, weights = _pull_and_weights(solution)
    found: list[Suspect] = []

    def add(kind: str, index: int | None, first: int, last: int, pattern: Sequence[float]) -> None:
        tested = _test(pull, weights, pattern, solution)
        if tested is not None:
            at, to = walk.chainage_m[first], walk.chainage_m[last]
            found.append(Suspect(kind, index, at, to, tested[0], tested[2]))

    for i, station in enumerate(solution.stations):
        pattern = [1.0 if j == i else 0.0 for j in range(count)]
        add("tie", solution.order[i], station, station, pattern)
    if solution.setup.start_level_m is not None:
        add("start", None, 0, 0, [-1.0] * count)
    before = 0
    for i, station in enumerate(solution.stations):
        index = _heaviest(walk, walk.done_count[before], walk.done_count[station])
        if index is not None:
            add("readings", index, before, station, [-1.0 if j >= i else 0.0 for j in range(count)])
        before = station
    return found


def most_suspicious(found: Sequence[Suspect]) -> list[Suspect]:
    """Return those that are furthest out, if beyond 3.29 standard deviations.

    References
    ----------
    Critical value 3.29 (two-sided 0.1 %): W. Baarda, A testing procedure for use in geodetic networks,
    Netherlands Geodetic Commission, Publications on Geodesy, New Series 2(5), Delft 1968 (from memory).

    Examples
    --------
    >>> most_suspicious([Suspect("tie", 0, 9.0, 9.0, 0.02, 1.9)])
    []
    """
    worst = BLUNDER_AT
    for one in found:
        if abs(one.standardised) > worst:
            worst = abs(one.standardised)
    return [s for s in found if abs(s.standardised) > max(BLUNDER_AT, worst * (1 - EQUAL))]


def _pull_and_weights(solution: LevelSolution) -> tuple[list[float], list[list[float]]]:
    """Misclosures divided by their covariance, after the adjustment, and the rows behind them.

    Row i of the second: the inverse triangle's column i with the unknowns taken out, so that
    the covariance of two pulls is the product of their rows.
    """
    count = len(solution.stations)
    columns = [
        solve_lower(solution.lower, [1.0 if i == j else 0.0 for j in range(count)]) for i in range(count)
    ]
    return [dot(column, solution.rest) for column in columns], columns


def _test(
    pull: Sequence[float],
    columns: Sequence[Sequence[float]],
    pattern: Sequence[float],
    solution: LevelSolution,
) -> tuple[float, float, float] | None:
    """Size, its standard deviation and the ratio of a blunder with this pattern in the ties."""
    mixed = [0.0] * len(pull)
    for factor, column in zip(pattern, columns, strict=True):
        mixed = [a + factor * b for a, b in zip(mixed, column, strict=True)]
    whole = dot(mixed, mixed)
    seen = [dot(mixed, column) for column in solution.white]
    checked = whole - dot(seen, [dot(row, seen) for row in solution.spread])
    if not checked > MIN_CHECK * whole:
        return None
    size = dot(pattern, pull) / checked
    return size, 1 / math.sqrt(checked), size * math.sqrt(checked)


def _heaviest(walk: LevelWalk, first: int, last: int) -> int | None:
    """Of the known readings that end in a section, the one with the largest effect on its end."""
    best, index = 0.0, None
    for i in range(first, last):
        effect = walk.acts_m[i] * walk.acts_m[i] * walk.var[i]
        if walk.kept[i] >= 0 and effect > best * (1 + EQUAL):
            best, index = effect, walk.kept[i]
    return index
