"""The one row that a word means: by its id, the beginning of its id, or its name."""

from collections.abc import Sequence
from typing import TypedDict, TypeVar

from ...errors import AppError
from ...messages import t


class Named(TypedDict):
    """What a row is known by."""

    id: str
    name: str


N = TypeVar("N", bound=Named)
MIN_ID_CHARACTERS = 4  # of an id, as it may be given
SHOWN = 8


def one_of(rows: Sequence[N], text: str, code: str) -> N:
    """Return the row that is meant; AppError ``code`` if there is none, or if it may be several."""
    whole = [row for row in rows if row["id"] == text.lower()]
    found = whole or [
        row
        for row in rows
        if row["name"].casefold() == text.casefold()
        or (len(text) >= MIN_ID_CHARACTERS and row["id"].startswith(text.lower()))
    ]
    if len(found) == 1:
        return found[0]
    if not found:
        raise AppError(code, f"({text[:60]})")
    candidates = "; ".join(f"{row['id']} {row['name']}" for row in found[:SHOWN])
    raise AppError(code, t("cli.may_be_one_of", number=len(found), rows=candidates))
