"""Who was let in: invitations, devices, clients' links, the audit log."""

from ...access.granting import INVITATION_HOURS, LINK_DAYS, MAX_DAYS
from ...access.terms import SURVEYOR
from ...schemas.examples import JOB_ID
from .access_parts import ANY_ROLE, AT, CODE, DEVICE_ID, JOBS, LATER, NAME, ROLE
from .jobs import JOB_IN_PATH
from .parts import (
    COUNT,
    MAYBE,
    MOMENT,
    NOTHING,
    TEXT,
    TRUE,
    UUID,
    Operation,
    Schema,
    answer,
    array,
    body,
    given,
    in_path,
    obj,
)

_BOOK = "https://book.example"
_HOURS: Schema = {"type": "number", "exclusiveMinimum": 0, "maximum": MAX_DAYS * 24}
_DAYS: Schema = {"type": "number", "exclusiveMinimum": 0, "maximum": MAX_DAYS, "default": LINK_DAYS}
_DONE = answer("Done", obj("*", ok=TRUE), {"ok": True})
_COUNTS = {name: COUNT for name in ("kept", "kept_already", "set_aside", "not_taken")}
_DEVICE = obj(
    "*",
    id=UUID,
    name=TEXT,
    role=ANY_ROLE,
    job_id=MAYBE,
    jobs=JOBS,
    created_at=MOMENT,
    last_seen_at=MAYBE,
    last_address=MAYBE,
    revoked_at=MAYBE,
    way={"enum": ["cookie", "bearer"], "description": "A phone or browser, or a script."},
    expires_at=MAYBE,
)
_DEVICE_EXAMPLE = {
    "id": DEVICE_ID,
    "name": "Van 2",
    "role": "surveyor",
    "job_id": None,
    "jobs": None,
    "created_at": AT,
    "last_seen_at": AT,
    "last_address": "192.0.2.7",
    "revoked_at": None,
    "way": "cookie",
    "expires_at": None,
}
_LINK = obj(
    "*",
    id=UUID,
    name=TEXT,
    job_id=UUID,
    made_at=MOMENT,
    expires_at=MOMENT,
    last_seen_at=MAYBE,
    revoked_at=MAYBE,
)
_LINK_EXAMPLE = {
    "id": DEVICE_ID,
    "name": "Council",
    "job_id": JOB_ID,
    "made_at": AT,
    "expires_at": LATER,
    "last_seen_at": None,
    "revoked_at": None,
}
_LINE = obj(
    "*",
    id=COUNT,
    at=MOMENT,
    device_id=MAYBE,
    who=TEXT,
    address=TEXT,
    action=TEXT,
    job_id=MAYBE,
    detail={"type": "object"},
)
_LINE_EXAMPLE = {
    "id": 7,
    "at": AT,
    "device_id": DEVICE_ID,
    "who": "Van 2",
    "address": "192.0.2.7",
    "action": "sent",
    "job_id": JOB_ID,
    "detail": {"entries": 10, "writers": {"example-writer": [1, 10]}},
}
_INVITE = obj(
    "",
    role=ROLE | {"default": SURVEYOR},
    name=NAME,
    job_id=MAYBE,
    hours=_HOURS | {"default": INVITATION_HOURS},
)


def _listed(name: str, row: Schema, example: Schema) -> dict[str, Schema]:
    return {
        "200": answer("All of them", obj("*", ok=TRUE, **{name: array(row)}), {"ok": True, name: [example]})
    }


OPERATIONS = (
    Operation(
        "letting_in.invite",
        "post",
        "/api/invitations",
        "invite",
        "Make an invitation.",
        {
            "201": answer(
                "Made; the link is shown this once",
                obj("*", ok=TRUE, link=TEXT, qr=TEXT, hours=_HOURS),
                {"ok": True, "link": f"{_BOOK}/join#{CODE}", "qr": "data:image/svg+xml;...", "hours": 24},
            )
        },
        "access",
        "access_off access_insecure job_not_found url_unknown",
        body=body(_INVITE, {"role": "surveyor", "name": "Van 2"}),
    ),
    Operation(
        "letting_in.devices",
        "get",
        "/api/devices",
        "devices",
        "Phones, browsers and scripts that were let in.",
        _listed("devices", _DEVICE, _DEVICE_EXAMPLE),
        "access",
    ),
    Operation(
        "letting_in.revoke",
        "post",
        "/api/devices/{device_id}/revoke",
        "revokeDevice",
        "End the access of a phone, a browser or a script.",
        {"200": _DONE},
        "access",
        "device_unknown",
        in_path=(in_path("device_id", UUID, DEVICE_ID),),
        body=NOTHING,
    ),
    Operation(
        "letting_in.client_links",
        "get",
        "/api/client-links",
        "clientLinks",
        "Clients' links.",
        _listed("links", _LINK, _LINK_EXAMPLE),
        "access",
    ),
    Operation(
        "letting_in.make_client_link",
        "post",
        "/api/jobs/{job_id}/client-links",
        "makeClientLink",
        "Make a client's link to one job.",
        {
            "201": answer(
                "Made; the link is shown this once",
                obj("*", ok=TRUE, link=TEXT, id=UUID, expires_at=MOMENT),
                {"ok": True, "link": f"{_BOOK}/office/open#{CODE}", "id": DEVICE_ID, "expires_at": LATER},
            )
        },
        "access",
        "access_off access_insecure url_unknown",
        in_path=JOB_IN_PATH,
        body=body(obj("", name=NAME, days=_DAYS), {"name": "Council", "days": 30}),
    ),
    Operation(
        "letting_in.revoke_client_link",
        "post",
        "/api/client-links/{link_id}/revoke",
        "revokeClientLink",
        "End a client's link.",
        {"200": _DONE},
        "access",
        "client_link_unknown",
        in_path=(in_path("link_id", UUID, DEVICE_ID),),
        body=NOTHING,
    ),
    Operation(
        "letting_in.accept_beside",
        "post",
        "/api/jobs/{job_id}/beside/accept",
        "acceptBeside",
        "Take what one phone brought under another's writer.",
        {
            "200": answer(
                "Taken",
                obj("*", ok=TRUE, **_COUNTS),
                {"ok": True, "kept": 3, "kept_already": 0, "set_aside": 0, "not_taken": 0},
            )
        },
        "access",
        in_path=JOB_IN_PATH,
        body=NOTHING,
    ),
    Operation(
        "letting_in.audit",
        "get",
        "/api/audit",
        "audit",
        "Who did what, newest first.",
        _listed("lines", _LINE, _LINE_EXAMPLE),
        "access",
        "job_not_found",
        parameters=(
            given(
                "query", "last", {"type": "integer", "minimum": 1, "maximum": 1000, "default": 100}, 20, False
            ),
            given("query", "job_id", UUID, JOB_ID, False),
        ),
    ),
)
