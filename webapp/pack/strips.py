"""A crowded run is drawn in strips, so that every observation is named; bars lie in lanes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..report_model.run import Observation

MAX_LABELS = 44  # names that stand side by side above a drawing
MIN_SHARE = 1 / 40  # of the run that a strip shows at least
LANE_GAP_PX = 4.0


@dataclass(frozen=True)
class Strip:
    """A length of a run that is drawn by itself, and the observations that are named in it."""

    from_m: float
    to_m: float
    named: tuple[Observation, ...]
    number: int = 1
    of: int = 1

    @property
    def whole(self) -> bool:
        """Say whether it is the whole run."""
        return self.of == 1

    def holds(self, chainage_m: float) -> bool:
        """Say whether a place is in it."""
        return self.from_m <= chainage_m <= self.to_m


def placed(observations: Sequence[Observation], to_m: float) -> list[Observation]:
    """Return the observations that have a place on the drawing, along the run."""
    seen = [o for o in observations if o.chainage_m is not None and 0 <= o.chainage_m <= to_m]
    return sorted(seen, key=lambda o: o.chainage_m or 0.0)


def strips(observations: Sequence[Observation], to_m: float) -> list[Strip]:
    """Return the strips of a run: as few as name everything, each with about as many names."""
    seen = placed(observations, to_m)
    count = max(1, -(-len(seen) // MAX_LABELS))
    if count == 1:
        return [Strip(0.0, to_m, tuple(seen))]
    cuts = [round(n * len(seen) / count) for n in range(count + 1)]
    groups = [seen[a:b] for a, b in pairwise(cuts)]
    edges = [0.0, *(_between(a[-1], b[0]) for a, b in pairwise(groups)), to_m]
    found = []
    for number, group in enumerate(groups):
        low, high = _at_least(edges[number], edges[number + 1], to_m)
        found.append(Strip(low, high, tuple(group), number + 1, count))
    return found


def _between(before: Observation, after: Observation) -> float:
    return ((before.chainage_m or 0.0) + (after.chainage_m or 0.0)) / 2


def _at_least(low: float, high: float, to_m: float) -> tuple[float, float]:
    """Widen a strip that would be too short to read, inside the run."""
    missing = max(0.0, to_m * MIN_SHARE - (high - low))
    low = max(0.0, low - missing / 2)
    high = min(to_m, max(high + missing / 2, low + to_m * MIN_SHARE))
    return min(low, high - to_m * MIN_SHARE), high


def lanes(bars: Sequence[tuple[float, float]]) -> list[int]:
    """Return the lane of each bar (its ends across the drawing): bars of one lane never touch."""
    ends: list[float] = []
    found = [0] * len(bars)
    for index in sorted(range(len(bars)), key=lambda i: bars[i]):
        left, right = bars[index]
        lane = next((n for n, end in enumerate(ends) if left >= end + LANE_GAP_PX), len(ends))
        if lane == len(ends):
            ends.append(right)
        ends[lane] = right
        found[index] = lane
    return found
