"""What may be asked of moments in the database, whose clock was perhaps wrong when they were written."""

import datetime

from .. import timesource
from ..store.rows import LinkRow

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


def link_refused(row: LinkRow, now: str) -> str | None:
    """Return the code of why a client's link opens nothing now; None where it is in force."""
    if row["revoked_at"] is not None or row["expires_at"] <= now:
        return "access_expired"
    return "made_ahead" if lies_ahead(row["made_at"]) else None
