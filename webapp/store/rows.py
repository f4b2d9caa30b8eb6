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


class Identity(TypedDict):
    """What an entry is known by."""

    job_id: str
    writer: str
    number: int


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


class DeviceRow(TypedDict):
    """A phone, a browser or a script that was let in; its secrets are hashes."""

    id: str
    name: str
    role: str
    job_id: str | None
    secret_sha256: str
    created_at: str
    last_seen_at: str | None
    last_address: str | None
    revoked_at: str | None
    way: str
    expires_at: str | None
    phone_sha256: str | None


class InvitationRow(TypedDict):
    """A code that lets one device in, once."""

    code_sha256: str
    name: str
    role: str
    job_id: str | None
    made_at: str
    expires_at: str
    used_at: str | None
    device_id: str | None


class LinkRow(TypedDict):
    """A client's link to one job; its secret is a hash."""

    id: str
    name: str
    job_id: str
    secret_sha256: str
    made_at: str
    expires_at: str
    last_seen_at: str | None
    revoked_at: str | None


class AuditRow(TypedDict):
    """A line of the audit log, its ``detail`` parsed."""

    id: int
    at: str
    device_id: str | None
    who: str
    address: str
    action: str
    job_id: str | None
    detail: dict[str, object]
