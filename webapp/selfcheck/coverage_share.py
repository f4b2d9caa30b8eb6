"""One line of ``selfcheck --coverage``: how often a simulated truth lay inside what the product states."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Share:
    """How often the truth lay inside: ``share`` of ``count``, asked to lie between two bounds.

    ``broken``: an assumption is broken on purpose; the share is reported and nothing is asked of it.
    """

    what: str
    count: int
    share: float
    least: float
    most: float
    broken: bool = False

    @property
    def ok(self) -> bool:
        """Say whether the share is what was asked."""
        return self.broken or self.least <= self.share <= self.most
