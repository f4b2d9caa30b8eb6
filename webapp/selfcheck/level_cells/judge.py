"""Simulated surveys judged one by one: is the truth in the band, is a bound false, what was said?"""

import random
from collections.abc import Sequence
from dataclasses import dataclass

from ...figures.run_figures import RunFigures
from .cell import Cell
from .product import figures_of, said, stated
from .simple import simple_levels
from .survey import Survey, survey_of

SEED = 20261201
PLACES = 10  # at so many random chainages of each survey
SIGMAS_95 = 1.96
FITS_AT = 2.0  # the pack says of a level that it fits up to so many standard deviations from the rest
ROUNDED_M = 1e-6


@dataclass(frozen=True)
class Judged:
    """What became of one survey.

    ``inside``: share of its places inside the band, None where no level has a value; ``square_m2``: mean
    square of the error; ``width_m``: mean width of the band; the same of the simple estimator, None where a
    reading is beyond the range. ``false_bound``: one of its bounds does not hold the truth; None without one.
    ``unstated``: share of places without value and bounds. ``said``: codes of what it said.
    ``slip``: of a wrong level, ``alone``, ``among``, ``wrong`` or ``silent``; ``fits``: it says that it fits.
    """

    inside: float | None
    square_m2: float
    width_m: float
    simple_inside: float | None
    simple_m2: float
    false_bound: bool | None
    unstated: float
    said: frozenset[str]
    slip: str
    fits: bool


def judge_cell(cell: Cell, surveys: int) -> list[Judged]:
    """Return what became of so many surveys of a cell, the same ones every time."""
    draw = random.Random(f"{SEED} {cell.name}")  # noqa: S311 a simulation, not a secret
    return [judge(draw, cell) for _ in range(surveys)]


def judge(draw: random.Random, cell: Cell) -> Judged:
    """Draw one survey of a cell and hold the product's levels against its truth."""
    survey = survey_of(draw, cell)
    places = [draw.uniform(0, survey.end_m) for _ in range(PLACES)]
    found = figures_of(survey)
    held, squares, widths, bounds, unstated = [], [], [], [], 0
    for place in places:
        one, true = stated(found, place), survey.true_m(place)
        within = (one.low_m is None or one.low_m - ROUNDED_M <= true) and (
            one.high_m is None or true <= one.high_m + ROUNDED_M
        )
        if one.level_m is not None and one.low_m is not None and one.high_m is not None:
            held.append(within)
            squares.append((one.level_m - true) ** 2)
            widths.append(one.high_m - one.low_m)
        elif one.low_m is None and one.high_m is None:
            unstated += 1
        else:
            bounds.append(within)
    simple = _simple(survey, places)
    slip = slip_of(found, survey.wrong)
    return Judged(
        _mean(held) if held else None, _mean(squares), _mean(widths), *simple,
        not all(bounds) if bounds else None, unstated / PLACES, frozenset(said(found)), *slip,
    )  # fmt: skip


def _simple(survey: Survey, places: Sequence[float]) -> tuple[float | None, float]:
    """Share of the places inside the simple estimator's band, and its mean square error [m2]."""
    if any(one.deg is None for one in survey.readings):
        return None, 0.0
    off = [
        (level - survey.true_m(place), sd)
        for place, (level, sd) in zip(places, simple_levels(survey, places), strict=True)
    ]
    inside = _mean([abs(error) <= SIGMAS_95 * sd + ROUNDED_M for error, sd in off])
    return inside, _mean([error * error for error, _ in off])


def slip_of(found: RunFigures, wrong: int | None) -> tuple[str, bool]:
    """Return what is said of a wrong level: alone, among others, wrong or silent; and whether it fits."""
    if wrong is None or found.profile is None:
        return "", False
    named = [(one.kind, one.index) for one in found.profile.blunders]
    check = next(one for one in found.profile.ties if one.tie == wrong)
    fits = check.standardised is not None and abs(check.standardised) <= FITS_AT
    if not named:
        return "silent", fits
    if ("tie", wrong) not in named:
        return "wrong", fits
    return ("alone" if len(named) == 1 else "among"), fits


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else 0.0
