"""Where the records of a run lie."""

from dataclasses import dataclass

from ..survey.instruments import counter
from ..survey.records import Inclination


@dataclass(frozen=True)
class Frame:
    """Turns counter readings of a run into chainages."""

    zero_m: float
    scale: float

    def place(self, counter_m: float | None) -> float | None:
        """Return the chainage of a counter reading, None for None."""
        return None if counter_m is None else counter.chainage_m(counter_m, self.zero_m, self.scale)


def over_of(inclination: Inclination) -> int:
    """Return +1 or -1 for a reading beyond the range, else 0."""
    if not inclination.get("over_range"):
        return 0
    return 1 if inclination["sense"] == "rising" else -1
