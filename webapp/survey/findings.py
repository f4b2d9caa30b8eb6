"""What a check says of a field or a record: a code, and the values that its sentence needs."""

from collections.abc import Mapping, Sequence
from typing import TypedDict

Shown = str | float | bool | None | Sequence[str]  # what a sentence can show
Values = Mapping[str, Shown]  # by the name that stands in the sentence


class Finding(TypedDict):
    """A finding on a field."""

    code: str
    field: str
    values: Values


class RecordFinding(Finding):
    """A finding on a field of a record."""

    record_id: str
