"""What a check says of a field or a record: a code, and the values that its sentence needs."""

from typing import Any, TypedDict


class Finding(TypedDict):
    """A finding on a field."""

    code: str
    field: str
    values: dict[str, Any]


class RecordFinding(Finding):
    """A finding on a field of a record."""

    record_id: str
