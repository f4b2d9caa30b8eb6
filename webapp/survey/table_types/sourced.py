"""What many rows of the tables say of themselves."""

from typing import TypedDict


class Sourced(TypedDict):
    """Where a row comes from, and how sure that is."""

    source: str
    certainty: str
