"""The part of the OpenAPI description that tells of access: ways in, devices, client links, audit log."""

from typing import Any

from .access.granting import INVITATION_HOURS, LINK_DAYS, MOST_DAYS, MOST_NAME, ROLES

Schema = dict[str, Any]
_UUID: Schema = {"type": "string", "format": "uuid"}
_TEXT: Schema = {"type": "string"}
_MOMENT: Schema = {"type": "string", "format": "date-time"}
_MAYBE: Schema = {"type": ["string", "null"]}
_NAME: Schema = {"type": "string", "maxLength": MOST_NAME}
_ROLE: Schema = {"enum": list(ROLES)}
_SECRET: Schema = {"type": "string", "pattern": "^[A-Za-z0-9_-]{43}$"}


def _object(required: str, **properties: Schema) -> Schema:
    return {"type": "object", "properties": properties, "required": required.split()}


def _operation(name: str, summary: str, schema: Schema, status: str = "200", **more: Any) -> Schema:
    error = {"$ref": "#/components/schemas/Error"}
    return {
        "operationId": name,
        "summary": summary,
        "responses": {
            status: {"description": summary, "content": {"application/json": {"schema": schema}}},
            "default": {"description": "Refused", "content": {"application/json": {"schema": error}}},
        },
        **more,
    }


def _body(schema: Schema) -> Schema:
    return {"required": True, "content": {"application/json": {"schema": schema}}}


def _in_path(name: str) -> list[Schema]:
    return [{"name": name, "in": "path", "required": True, "schema": _UUID}]


_DONE = _object("ok", ok={"const": True})
_NOTHING = _body({"type": "object"})


def paths() -> Schema:
    """Return the addresses."""
    return _ways_in() | _devices() | _links() | _told()


def _ways_in() -> Schema:
    me = _object(
        "ok access role name device_id jobs refused message",
        ok={"const": True},
        access={"enum": ["on", "this_machine_only"]},
        role={"enum": ["none", "client", *ROLES]},
        name=_TEXT,
        device_id=_MAYBE,
        jobs={"type": ["array", "null"], "items": _UUID},
        refused=_MAYBE,
        message=_TEXT,
        release=_TEXT,
    )
    shown = _object("role name", ok={}, role=_ROLE, name=_TEXT, job_id=_MAYBE, expires_at=_MOMENT)
    joined = _object("device_id role name", ok={}, device_id=_UUID, role=_ROLE, name=_TEXT, job_id=_MAYBE)
    code = _body(_object("code", code=_SECRET))
    taken = _body(_object("code", code=_SECRET, name=_NAME))
    opened = _object("job_id expires_at", ok={}, job_id=_UUID, expires_at=_MOMENT)
    secret = _body(_object("secret", secret=_SECRET))
    look = _operation("lookAtInvitation", "What an invitation is for.", shown, requestBody=code)
    join = _operation("join", "Use an invitation; the credential is a cookie.", joined, requestBody=taken)
    link = _operation("openClientLink", "Open a client's link.", opened, requestBody=secret)
    return {
        "/api/me": {"get": _operation("me", "Who the sender is to this server.", me)},
        "/api/join/look": {"post": look},
        "/api/join": {"post": join},
        "/api/client-links/open": {"post": link},
    }


def _devices() -> Schema:
    device = _object(
        "id name role created_at",
        id=_UUID,
        name=_TEXT,
        role=_ROLE,
        job_id=_MAYBE,
        created_at=_MOMENT,
        last_seen_at=_MAYBE,
        last_address=_MAYBE,
        revoked_at=_MAYBE,
    )
    listed = _object("ok devices", ok={}, devices={"type": "array", "items": device})
    hours: Schema = {"type": "number", "exclusiveMinimum": 0, "maximum": MOST_DAYS * 24}
    by_default = hours | {"default": INVITATION_HOURS}
    asked = _object(
        "role",
        role=_ROLE,
        name=_NAME,
        job_id={"type": ["string", "null"]},
        hours=by_default,
    )
    made = _object("ok link qr hours", ok={}, link=_TEXT, qr=_TEXT, hours=hours)
    invite = _operation("invite", "Make an invitation.", made, "201", requestBody=_body(asked))
    end = _operation("revokeDevice", "End a device's credential.", _DONE, requestBody=_NOTHING)
    return {
        "/api/invitations": {"post": invite},
        "/api/devices": {"get": _operation("devices", "Who was let in.", listed)},
        "/api/devices/{device_id}/revoke": {"parameters": _in_path("device_id"), "post": end},
    }


def _links() -> Schema:
    link = _object("id name job_id expires_at", id=_UUID, name=_TEXT, job_id=_UUID, expires_at=_MOMENT)
    listed = _object("ok links", ok={}, links={"type": "array", "items": link})
    days: Schema = {"type": "number", "exclusiveMinimum": 0, "maximum": MOST_DAYS, "default": LINK_DAYS}
    asked = _body({"type": "object", "properties": {"name": _NAME, "days": days}})
    made = _object("ok link id expires_at", ok={}, link=_TEXT, id=_UUID, expires_at=_MOMENT)
    make = _operation("makeClientLink", "Make a client's link to one job.", made, "201", requestBody=asked)
    end = _operation("revokeClientLink", "End a client's link.", _DONE, requestBody=_NOTHING)
    return {
        "/api/client-links": {"get": _operation("clientLinks", "Clients' links.", listed)},
        "/api/jobs/{job_id}/client-links": {"parameters": _in_path("job_id"), "post": make},
        "/api/client-links/{link_id}/revoke": {"parameters": _in_path("link_id"), "post": end},
    }


def _told() -> Schema:
    count: Schema = {"type": "integer", "minimum": 0}
    counts = {name: count for name in ("kept", "kept_already", "set_aside", "not_taken")}
    taken = _object("ok kept", ok={}, **counts)
    accept = _operation(
        "acceptBeside",
        "Take what one phone brought under another's writer.",
        taken,
        requestBody=_NOTHING,
    )
    line = _object(
        "id at who address action detail",
        id=count,
        at=_MOMENT,
        who=_TEXT,
        address=_TEXT,
        action=_TEXT,
        device_id=_MAYBE,
        job_id=_MAYBE,
        detail={"type": "object"},
    )
    lines = _object("ok lines", ok={}, lines={"type": "array", "items": line})
    last: Schema = {"type": "integer", "minimum": 1, "maximum": 1000}
    asked = [
        {"name": "last", "in": "query", "schema": last},
        {"name": "job_id", "in": "query", "schema": _UUID},
    ]
    audit = _operation("audit", "Who did what, newest first.", lines, parameters=asked)
    return {
        "/api/jobs/{job_id}/beside/accept": {"parameters": _in_path("job_id"), "post": accept},
        "/api/audit": {"get": audit},
    }
