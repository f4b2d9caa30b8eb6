"""The rows of the tables, as queries take and give them."""

from typing import TypedDict


class EntryRow(TypedDict):
    """An entry, kept or set aside: then ``aside`` holds code and reasons as JSON."""

    job_id: str
    writer: str
    number: int
    record_id: str
    kind: str
    body: str
    sha256: str
    aside: str | None
    received_at: str


class HeldBackRow(TypedDict):
    """An entry whose identity was taken; ``reasons`` is JSON."""

    job_id: str
    writer: str
    number: int
    sha256: str
    body: str
    reasons: str
    received_at: str


class PhotoRow(TypedDict):
    """A photo whose bytes are whole in their place."""

    sha256: str
    size_bytes: int
    media_type: str
    received_at: str
