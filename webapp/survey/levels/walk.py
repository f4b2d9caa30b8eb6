"""What the levels of a run rest on, station by station."""

from dataclasses import dataclass

from .chain import Chain
from .seen import Noise


@dataclass(frozen=True)
class LevelGap:
    """An unknown rise: the reading's index, the length for which it acts and the limits [m].

    ``way``: +1 or -1 where the instrument showed which way it turns. ``own_m``: for how much of the length
    the instrument itself stood in it [m]; ``flat``: the least rise of the rest per metre, that way.
    """

    reading: int
    length_m: float
    low_m: float
    high_m: float
    way: int
    own_m: float
    flat: float


@dataclass(frozen=True)
class OddReading:
    """A reading that stands out: its index, and by how many robust spreads."""

    reading: int
    spreads: float


@dataclass(frozen=True)
class LevelWalk:
    """The model at every station; see ``walk_levels``.

    ``rise_m``: what the known readings make of the rise since the start. ``common``: its change with
    what is common to all, as columns of variance 1 [m], and ``zero_row`` the zero error in them [deg];
    ``zero_deg``: what the readings alone add to it. ``done_m2``: variance from the readings whose length ends
    before the station; ``parts``: (reading, length so far) of those under way; ``gaps_done``, ``gap_parts``:
    the same for unknown rises, as a count and as (gap, share). ``acts_m``, ``var``: per reading kept.

    In mode ``course`` (``chain``) units stand for readings, and ``done_m2`` is the variance of the level but
    for what is ``common``.
    """

    kept: list[int]
    acts_m: list[float]
    var: list[float]
    gaps: list[LevelGap]
    chainage_m: list[float]
    rise_m: list[float]
    common: list[list[float]]
    done_m2: list[float]
    parts: list[list[tuple[int, float]]]
    gaps_done: list[int]
    gap_parts: list[list[tuple[int, float]]]
    assumed: list[bool]
    done_count: list[int]
    zero_row: list[float]
    zero_deg: float
    chain: Chain | None = None
    noise: Noise | None = None
    odd: list[OddReading] | None = None
