"""What the readings say of the instrument and of themselves: how far they may be trusted."""

import math
from collections.abc import Sequence
from typing import TypedDict

from .levels import LevelProfile

SURE_SDS = 3.09  # one in a thousand, on one side
SUSPECT_AT = 6.0  # robust spreads from the course


class LevelFinding(TypedDict):
    """``code``; ``m`` where [m], ``times`` as much as usual, ``deg`` step of the display [deg]; else 0."""

    code: str
    m: float
    times: float
    deg: float


def level_findings(profile: LevelProfile | None, places_m: Sequence[float]) -> list[LevelFinding]:
    """Return what the readings of a profile say of themselves.

    Parameters
    ----------
    places_m : sequence of float
        Where each reading was taken [m].

    Returns
    -------
    list of dict
        ``readings_noisier`` (within single pipes they scatter more than is stated, surer than one in a
        thousand), ``readings_on_grid`` (the display is coarser than what is stated of a reading),
        ``reading_suspect`` (it stands out by more than six robust spreads). The bands follow each of them.

    References
    ----------
    Chi-squared by its cube root: E. B. Wilson and M. M. Hilferty, Proceedings of the National Academy of
    Sciences 17, 1931 (from memory).

    Examples
    --------
    >>> level_findings(None, [])
    []
    """
    walk = profile.solution.walk if profile is not None else None
    if walk is None or walk.noise is None:
        return []
    noise, found = walk.noise, list[LevelFinding]()
    if noise.freedom > 0:
        part = 2 / (9 * noise.freedom)
        cube = (noise.squares / noise.freedom) ** (1 / 3)
        if (cube - (1 - part)) / math.sqrt(part) > SURE_SDS:
            times = math.sqrt(noise.squares / noise.freedom)
            found.append({"code": "readings_noisier", "m": 0.0, "times": times, "deg": 0.0})
    if noise.step_deg > 0:
        found.append({"code": "readings_on_grid", "m": 0.0, "times": 0.0, "deg": noise.step_deg})
    for one in walk.odd or []:
        if abs(one.spreads) > SUSPECT_AT:
            at = places_m[one.reading]
            found.append({"code": "reading_suspect", "m": at, "times": abs(one.spreads), "deg": 0.0})
    return found
