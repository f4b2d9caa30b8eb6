"""What may be asked of moments in the database, whose clock was perhaps wrong when they were written."""

import datetime

from .. import timesource
from ..errors import AppError

AHEAD_S = 600.0  # by so much two clocks may differ
LONG_AGO_S = float("inf")


def age_s(moment: str | None) -> float:
    """Return how long ago a moment was: endlessly where there is none, below zero where it is to come."""
    if moment is None:
        return LONG_AGO_S
    return (timesource.now_utc() - datetime.datetime.fromisoformat(moment)).total_seconds()


def lies_ahead(moment: str) -> bool:
    """Say whether the clock was ahead when a moment was written down."""
    return age_s(moment) < -AHEAD_S


def not_ahead(made_at: str) -> None:
    """Refuse what was made while the clock was ahead: it would hold for longer than anybody meant."""
    if lies_ahead(made_at):
        raise AppError("made_ahead")
