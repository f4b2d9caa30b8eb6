"""What a cell of the coverage comes to: its figures, and which of its limits are not met."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from .cell import Cell
from .judge import Judged

LEAST, MOST = 0.93, 0.97  # of the places inside the band, unless the product says that something is wrong
SAYS = 0.90  # of the surveys at least
RMS = 1.02  # the error over that of the simple estimator
FALSE_BOUNDS, WRONG = 0.005, 0.02
SLIPS = ("alone", "among", "wrong", "silent")  # what may become of a wrong level
SLACK = 2.0  # standard errors of the simulation beyond a limit that are still chance


@dataclass(frozen=True)
class CellResult:
    """The figures of a cell: shares of its surveys, or of their places; errors and widths [mm].

    ``inside`` with ``inside_se``, its standard error; ``silent_inside``: of the surveys of which nothing was
    said. ``slip``: what was said of a wrong level; ``fits``: that it fits. ``codes``: what was said at
    all. None where there is nothing to tell. ``missed``: the limits that are not met.
    """

    what: str
    surveys: int
    inside: float | None
    inside_se: float
    silent_inside: float | None
    rms_mm: float
    width_mm: float
    simple_inside: float | None
    simple_rms_mm: float | None
    said: float
    false_bounds: float | None
    unstated: float
    slip: dict[str, float]
    fits: float | None
    codes: dict[str, float]
    missed: tuple[str, ...] = ()

    @property
    def ok(self) -> bool:
        """Say whether every limit is met."""
        return not self.missed


def result_of(cell: Cell, rows: Sequence[Judged]) -> CellResult:
    """Return the figures of a cell from what became of its surveys."""
    levelled = [one for one in rows if one.inside is not None]
    inside, error = _mean_and_error([one.inside or 0.0 for one in levelled])
    silent = [one.inside for one in levelled if not one.said and one.inside is not None]
    simple = [one.simple_inside for one in rows if one.simple_inside is not None]
    bounds = [one.false_bound for one in rows if one.false_bound is not None]
    found = CellResult(
        what=cell.name,
        surveys=len(rows),
        inside=inside,
        inside_se=error,
        silent_inside=_mean_and_error(silent)[0],
        rms_mm=1000 * math.sqrt(sum(one.square_m2 for one in levelled) / max(len(levelled), 1)),
        width_mm=1000 * sum(one.width_m for one in levelled) / max(len(levelled), 1),
        simple_inside=_mean_and_error(simple)[0],
        simple_rms_mm=1000 * math.sqrt(sum(one.simple_m2 for one in rows) / len(rows)) if simple else None,
        said=_share([bool(one.said) for one in rows]),
        false_bounds=_share(bounds) if bounds else None,
        unstated=sum(one.unstated for one in rows) / len(rows),
        slip={s: _share([one.slip == s for one in rows]) for s in SLIPS} if cell.wrong_by else {},
        fits=_share([one.fits for one in rows]) if cell.wrong_by else None,
        codes={code: _share([code in one.said for one in rows]) for code in _codes(rows)},
    )
    return replace(found, missed=_missed(cell, found, rows, len(bounds)))


def _missed(cell: Cell, found: CellResult, rows: Sequence[Judged], bounded: int) -> tuple[str, ...]:
    """Limits beyond which a figure lies by more than chance."""
    missed = []
    if cell.wrong_by:
        return ("wrong",) if _beyond(found.slip["wrong"], WRONG, found.surveys) else ()
    low, high = LEAST - SLACK * found.inside_se, MOST + SLACK * found.inside_se
    if found.inside is not None and not low <= found.inside <= high and found.said < SAYS:
        missed.append("inside")
    further = [one.square_m2 - RMS * RMS * one.simple_m2 for one in rows if one.simple_inside is not None]
    if further:
        mean, error = _mean_and_error(further)
        if mean is not None and mean > SLACK * error:
            missed.append("rms")
    if _beyond(found.false_bounds, FALSE_BOUNDS, bounded):
        missed.append("bounds")
    if cell.alarms is not None and _beyond(found.said, cell.alarms, found.surveys):
        missed.append("alarms")
    if found.unstated > 0:
        missed.append("unstated")
    return tuple(missed)


def _beyond(share: float | None, limit: float, count: int) -> bool:
    """Is a share above its limit by more than chance?"""
    return share is not None and share > limit + SLACK * math.sqrt(limit * (1 - limit) / max(count, 1))


def _share(values: Sequence[bool]) -> float:
    return sum(values) / len(values)


def _codes(rows: Sequence[Judged]) -> list[str]:
    return sorted({code for one in rows for code in one.said})


def _mean_and_error(values: Sequence[float]) -> tuple[float | None, float]:
    """The mean and its standard error; None of nothing."""
    if not values:
        return None, 0.0
    mean = sum(values) / len(values)
    spread = sum((v - mean) ** 2 for v in values) / max(len(values) - 1, 1)
    return mean, math.sqrt(spread / len(values))
