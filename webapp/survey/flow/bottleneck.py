"""Which stretch of a run carries least, and what it would carry without what limits it."""

from collections.abc import Sequence

from ..errors import SurveyError
from ..section.bore import Bore, BoreSizes
from .open_flow import full_flow
from .resistance import Resistance
from .types import (
    Capacity,
    LimitedRow,
    Narrowing,
    Reason,
    RunBottleneck,
)

MATTERS = 1.02  # a cause is named when without it the stretch would carry at least 2 % more
CAUSES = {"deposit_depth": "deposit", "deformation": "deformation"}


def bottleneck(rows: Sequence[LimitedRow]) -> RunBottleneck:
    """Return the row that carries least; those without a number may carry less.

    Parameters
    ----------
    rows : sequence of mapping
        Each with ``capacity`` [m3/s], None where there is no number; compared by the middle, without one by
        the lower end.

    Returns
    -------
    dict
        ``index``, None where no row has a number; ``rivals``: rows whose bands reach as low; ``no_number``;
        ``reasons``, empty here.

    Examples
    --------
    >>> bottleneck([{"capacity": None}])["no_number"]
    [0]
    """
    weights = [_weight(row) for row in rows]
    no_number = [k for k, weight in enumerate(weights) if weight is None]
    counted = [(weight, k) for k, weight in enumerate(weights) if weight is not None]
    if not counted:
        return {"index": None, "reasons": [], "rivals": [], "no_number": no_number}
    _, index = min(counted)
    least = rows[index]["capacity"]
    rivals = [k for _, k in counted if k != index and _reaches(rows[k]["capacity"], least)]
    return {"index": index, "reasons": [], "rivals": rivals, "no_number": no_number}


def _reaches(one: Capacity | None, least: Capacity | None) -> bool:
    """Whether the lower end of one band lies at or below the upper end of another."""
    low, top = one and one["low_m3_s"], least and least["high_m3_s"]
    return low is not None and top is not None and low <= top


def with_reasons(found: RunBottleneck, rows: Sequence[LimitedRow]) -> RunBottleneck:
    """Return a bottleneck of these rows with what it would carry without each thing that limits it [m3/s]."""
    return found if found["index"] is None else {**found, "reasons": _reasons(rows, found["index"])}


def _reasons(rows: Sequence[LimitedRow], index: int) -> list[Reason]:
    """What the bottleneck would carry without its worst narrowing, with another fall, the largest bore."""
    here = rows[index]
    mean = here["capacity"]["mean_m3_s"] if here["capacity"] else None
    laid, rough_mm, own = here["laid"], here["roughness_mm"], here["carries"]["gradient"]
    if mean is None or laid is None or rough_mm is None or own is None:
        return []
    trials: list[tuple[str, float | None]] = []
    taken, share = here["narrowings"], 1.0
    if taken:
        share = _least_left(taken)
        cause = CAUSES.get(taken[0]["form"], "narrowing")
        trials.append((cause, None if share <= 0 else mean / share * _least_left(taken[1:])))
    clean = mean / share if share > 0 else 0.0
    trials.append(("even_fall", None if here["even_m3_s"] is None else here["even_m3_s"] * share))
    best = max(fall for row in rows if (fall := row["carries"]["gradient"]) is not None)
    if best > own:
        trials.append(("fall", _even(laid, best, rough_mm, share)))
    mine = _even(laid, own, rough_mm, 1.0)
    bores = [_even(row["laid"], own, rough_mm, share) for row in rows if row["laid"]]
    largest = max((one for one in bores if one is not None), default=None)
    trials.append(("bore", None if largest is None or not mine else largest / mine * clean))
    named: list[Reason] = [
        {"code": c, "without_m3_s": q} for c, q in trials if q is not None and q > mean * MATTERS
    ]
    return sorted(named, key=_most_first)


def _least_left(taken: Sequence[Narrowing]) -> float:
    """The least share that they leave, at the sizes shown."""
    return min([100.0, *(one["left_pct"] for one in taken if one["left_pct"] is not None)]) / 100


def _most_first(one: Reason) -> float:
    return -one["without_m3_s"]


def _even(laid: BoreSizes, gradient: float, roughness_mm: float, share: float) -> float | None:
    """Full-bore flow at an even fall; None where the law or the shape has none."""
    bore = Bore(laid["kind"], laid["height_m"], laid["width_m"])
    try:
        wall = Resistance("colebrook_white", roughness_mm / 1000)
        return full_flow(bore, gradient, wall)["discharge_m3_s"] * share
    except SurveyError:
        return None


def _weight(row: LimitedRow) -> float | None:
    one = row["capacity"]
    if one is None:
        return None
    return one["mean_m3_s"] if one["mean_m3_s"] is not None else one["low_m3_s"]
