"""Which run comes first on page one: the one that asks most of whoever reads it."""

from ..report_model.contents import PackContents
from ..report_model.run import Run


def worst_first(contents: PackContents) -> list[Run]:
    """Return the runs, the worst first; those that are alike as they were recorded."""
    return sorted(contents.runs, key=_rank)


def _rank(run: Run) -> tuple[float, ...]:
    """Hazards to people, then what calls for action at once, then classes, then what was not seen."""
    found = run.condition
    classes = sorted((c.high for c in found.classes), reverse=True) if found else []
    immediate = len(found.immediate) if found else 0
    unseen_m = (run.sight.hidden_m or 0.0) + (run.remaining_m or 0.0)
    worst = [float(-c) for c in (*classes, 0, 0, 0)[:3]]
    return (-len(run.sight.hazards), -immediate, *worst, -unseen_m)
