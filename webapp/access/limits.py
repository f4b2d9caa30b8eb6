"""How often: one bucket of tokens for each sender and kind of request, in this process's memory.

With several processes each has buckets of its own, so that the limit of the whole is that of one times
their number.  They keep guessing and runaway clients down; they are no quota.
"""

import threading
from dataclasses import dataclass

from .. import timesource
from ..errors import AppError

MOST_BUCKETS = 10_000


@dataclass(frozen=True)
class Limit:
    """So many at once, and so many more each minute."""

    burst: float
    a_minute: float


LIMITS = {
    "redeem": Limit(10, 10),  # invitations and client links tried, for each address
    "refused": Limit(60, 60),  # requests without a good credential, for each address
    "pack": Limit(10, 6),  # packs asked for, for each credential
    "any": Limit(6000, 6000),  # all requests of one credential: many small photos on a fast network are fine
}


class Buckets:
    """The buckets of one process."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._buckets: dict[tuple[str, str], tuple[float, float]] = {}

    def take(self, kind: str, sender: str) -> None:
        """Take one token; AppError ``too_many_requests`` where none is left."""
        limit, now_s = LIMITS[kind], timesource.monotonic_s()
        with self._guard:
            left, since_s = self._buckets.get((kind, sender), (limit.burst, now_s))
            left = min(limit.burst, left + (now_s - since_s) * limit.a_minute / 60)
            self._buckets[kind, sender] = (max(0.0, left - 1), now_s)
            if len(self._buckets) > MOST_BUCKETS:
                self._forget(now_s)
        if left < 1:
            raise TooMany(max(1, round((1 - left) * 60 / limit.a_minute)))

    def _forget(self, now_s: float) -> None:
        """Drop the buckets that have filled up again; they say nothing."""
        full_after_s = max(limit.burst * 60 / limit.a_minute for limit in LIMITS.values())
        self._buckets = {k: v for k, v in self._buckets.items() if now_s - v[1] < full_after_s}
        while len(self._buckets) > MOST_BUCKETS:
            del self._buckets[next(iter(self._buckets))]


class TooMany(AppError):
    """Too often; says when to come again."""

    def __init__(self, after_s: int) -> None:
        super().__init__("too_many_requests")
        self.after_s = after_s
