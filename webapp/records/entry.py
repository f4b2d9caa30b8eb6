"""What crosses between phone, server and file: entries, why one was set aside, records, a job file."""

from collections.abc import Sequence
from typing import Any, NotRequired, TypedDict


class ErasedPlace(TypedDict):
    """By which act an entry was erased, and where on its run it was."""

    act: str
    run_id: NotRequired[str]
    from_counter_m: NotRequired[float | None]
    to_counter_m: NotRequired[float | None]


class Entry(TypedDict):
    """One change to one record, sound as far as its identity; what ``fields`` hold, its kind says.

    The frame of one that is beyond the budget may lack what describes it, and has no fields.
    """

    job_id: str
    writer: str
    number: int  # 1 for the first of its writer
    device_id: str
    record_id: str
    kind: str
    fields: dict[str, object]
    seen: NotRequired[dict[str, list[str]]]  # by field, the entries whose values it replaces
    recorded_at: str
    too_large: NotRequired[bool]
    erased: NotRequired[ErasedPlace]  # of the frame of one that was erased: by which act, and where it was


class Rejection(TypedDict):
    """Why an entry was set aside: a code, and sentences by field."""

    code: str
    reasons: NotRequired[dict[str, list[str]]]


Aside = dict[str, Rejection]  # by the identity of the entry


class ListedPhoto(TypedDict):
    """A photo as a job file lists it."""

    sha256: str
    size_bytes: int
    media_type: str


class RecordJson(TypedDict):
    """A record as the job file writes it."""

    kind: str
    id: str
    fields: dict[str, Any]
    removed: NotRequired[bool]
    conflicts: NotRequired[dict[str, list[Sequence[Any]]]]  # by field, entries and their values


class JobFileJson(TypedDict):
    """A job file as it is written: records folded, entries in order, photos by hash."""

    format: str
    version: int
    job_id: str
    records: list[RecordJson]
    entries: list[Entry]
    aside: Aside
    photos: list[ListedPhoto]
