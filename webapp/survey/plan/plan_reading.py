"""A reading as the plan needs it: where, and how steep; for levels see ``levels``."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """One reading at a chainage: ``deg`` [deg, + rises ahead], or ``over`` +1 or -1 and no deg."""

    chainage_m: float
    deg: float | None
    over: int = 0
