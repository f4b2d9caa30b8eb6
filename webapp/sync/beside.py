"""How much is held back beside the entries: a sender with a credential must not fill the disk with it."""

from sqlalchemy import Connection

from ..budgets import BUDGETS
from ..store import aside_rows, held_back_rows
from ..store.rows import HeldBackRow

FULL = "held_back_full"


class Beside:
    """What one transaction adds to what is held back."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._counts: dict[tuple[str, str, int] | str, int] = {}

    def has_room(self, row: HeldBackRow) -> bool:
        """Say whether something may be held back; it counts from then on.  What is there already may."""
        if held_back_rows.is_held_back(self._connection, row):
            return True
        identity = row["job_id"], row["writer"], row["number"]
        if identity not in self._counts:
            self._counts[identity] = aside_rows.count_held_back(self._connection, *identity)
        if row["job_id"] not in self._counts:
            self._counts[row["job_id"]] = aside_rows.count_held_back(self._connection, row["job_id"])
        full = (
            self._counts[identity] >= BUDGETS.held_back_an_entry
            or self._counts[row["job_id"]] >= BUDGETS.held_back_a_job
        )
        if not full:
            self._counts[identity] += 1
            self._counts[row["job_id"]] += 1
        return not full
