"""Where chainages and levels lie on the drawing of a run, and its words."""

from collections.abc import Callable
from dataclasses import dataclass

from ..report_model.levels import Level
from ..survey.wording.messages import Words, message

WIDTH, HEIGHT = 780, 408


LEFT, RIGHT, TOP, BOTTOM = 74, 750, 108, 318


@dataclass(frozen=True)
class Labels:
    """Words for a drawing, as its font can show them."""

    words: Words
    clean: Callable[[str], str]

    def __call__(self, key: str, **values: str) -> str:
        return self.clean(message(self.words, f"pack.drawn.{key}", values))


@dataclass(frozen=True)
class Frame:
    """Chainage and level to places on the drawing."""

    from_m: float
    to_m: float
    low_m: float
    high_m: float

    def x(self, chainage_m: float) -> float:
        """Return the place across."""
        return LEFT + (RIGHT - LEFT) * (chainage_m - self.from_m) / (self.to_m - self.from_m)

    def y(self, level_m: float) -> float:
        """Return the place down."""
        share = (level_m - self.low_m) / (self.high_m - self.low_m)
        return BOTTOM - (BOTTOM - TOP) * min(1.15, max(-0.15, share))


def shown_m(level: Level) -> float:
    """Return the side of a level that means something."""
    shown = (
        level.high_m if level.sense == "at_most" else level.low_m if level.level_m is None else level.level_m
    )
    return 0.0 if shown is None else shown  # never None: stations without any bound are not drawn
