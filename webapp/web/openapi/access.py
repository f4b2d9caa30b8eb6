"""Ways in, who was let in, clients' links, the audit log."""

from ...access.granting import INVITATION_HOURS, LINK_DAYS, MAX_DAYS, MAX_NAME
from ...access.terms import CLIENT, INVITED_ROLES, NOBODY, SCRIPT_ROLES, SURVEYOR
from ...schemas.examples import JOB_ID
from .jobs import JOB_IN_PATH
from .parts import (
    COUNT,
    FLAG,
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

_ID = "0197a1b2-0000-7000-8000-00000000000d"
_CODE, _AT, _LATER = "x" * 43, "2026-11-25T11:02:40.001+00:00", "2026-12-25T11:02:40.001+00:00"
_BOOK = "https://book.example"
_NAME: Schema = {"type": "string", "maxLength": MAX_NAME}
_ROLE: Schema = {"enum": list(INVITED_ROLES)}
_ANY_ROLE: Schema = {"enum": list(SCRIPT_ROLES)}
_SECRET: Schema = {"type": "string", "pattern": "^[A-Za-z0-9_-]{43}$"}
_PHONE_SECRET: Schema = _SECRET | {
    "description": "Made by the phone and kept: the same again is the same device, however often it is sent."
}
_INSTEAD: Schema = {
    "type": "boolean",
    "default": False,
    "description": "In place of what this browser may do now, even if that is more.",
}
_HOURS: Schema = {"type": "number", "exclusiveMinimum": 0, "maximum": MAX_DAYS * 24}
_DAYS: Schema = {"type": "number", "exclusiveMinimum": 0, "maximum": MAX_DAYS, "default": LINK_DAYS}
_DONE = answer("Done", obj("*", ok=TRUE), {"ok": True})
_WAY_IN = "access_off access_insecure too_many_requests"
_INVITATION = f"{_WAY_IN} invitation_unknown invitation_used invitation_expired made_ahead"
_COUNTS = {name: COUNT for name in ("kept", "kept_already", "set_aside", "not_taken")}

_JOBS: Schema = {"type": ["array", "null"], "items": UUID, "description": "null: all jobs."}

_ME = obj(
    "*",
    ok=TRUE,
    release=TEXT,
    access={"enum": ["on", "this_machine_only"]},
    role={"enum": [NOBODY, CLIENT, *SCRIPT_ROLES]},
    name=TEXT,
    device_id=MAYBE,
    jobs=_JOBS,
    refused=MAYBE | {"description": "The code, where what was shown is not good."},
    message=TEXT,
)
_DEVICE = obj(
    "*",
    id=UUID,
    name=TEXT,
    role=_ANY_ROLE,
    job_id=MAYBE,
    jobs=_JOBS,
    created_at=MOMENT,
    last_seen_at=MAYBE,
    last_address=MAYBE,
    revoked_at=MAYBE,
    way={"enum": ["cookie", "bearer"], "description": "A phone or browser, or a script."},
    expires_at=MAYBE,
)
_DEVICE_EXAMPLE = {
    "id": _ID,
    "name": "Van 2",
    "role": "surveyor",
    "job_id": None,
    "jobs": None,
    "created_at": _AT,
    "last_seen_at": _AT,
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
    "id": _ID,
    "name": "Council",
    "job_id": JOB_ID,
    "made_at": _AT,
    "expires_at": _LATER,
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
    "at": _AT,
    "device_id": _ID,
    "who": "Van 2",
    "address": "192.0.2.7",
    "action": "sent",
    "job_id": JOB_ID,
    "detail": {"entries": 10, "writers": {"example-writer": [1, 10]}},
}
_INVITE = obj(
    "",
    role=_ROLE | {"default": SURVEYOR},
    name=_NAME,
    job_id=MAYBE,
    hours=_HOURS | {"default": INVITATION_HOURS},
)


def _listed(name: str, row: Schema, example: Schema) -> dict[str, Schema]:
    return {
        "200": answer("All of them", obj("*", ok=TRUE, **{name: array(row)}), {"ok": True, name: [example]})
    }


WAYS_IN = (
    Operation(
        "joining.me",
        "get",
        "/api/me",
        "me",
        "Who the sender is to this server. Never refused; what is shown and not good is told in refused.",
        {
            "200": answer(
                "Who",
                _ME,
                {
                    "ok": True,
                    "release": "0123456789abcdef",
                    "access": "on",
                    "role": "surveyor",
                    "name": "Van 2",
                    "device_id": _ID,
                    "jobs": None,
                    "refused": None,
                    "message": "",
                },
            )
        },
        "access",
    ),
    Operation(
        "joining.look",
        "post",
        "/api/join/look",
        "lookAtInvitation",
        "What an invitation is for, without using it.",
        {
            "200": answer(
                "A good one",
                obj("*", ok=TRUE, role=_ROLE, name=TEXT, job_id=MAYBE, expires_at=MOMENT),
                {"ok": True, "role": "surveyor", "name": "Van 2", "job_id": None, "expires_at": _LATER},
            )
        },
        "access",
        _INVITATION,
        body=body(obj("code", code=_SECRET), {"code": _CODE}),
    ),
    Operation(
        "joining.join",
        "post",
        "/api/join",
        "join",
        "Use an invitation; the credential is a cookie.",
        {
            "200": answer(
                "Let in",
                obj("*", ok=TRUE, device_id=UUID, role=_ROLE, name=TEXT, job_id=MAYBE, jobs=_JOBS),
                {
                    "ok": True,
                    "device_id": _ID,
                    "role": "surveyor",
                    "name": "Van 2",
                    "job_id": None,
                    "jobs": None,
                },
                headers={"Set-Cookie": {"description": "The credential", "schema": TEXT}},
            )
        },
        "access",
        f"{_INVITATION} join_lowers",
        body=body(
            obj("code", code=_SECRET, name=_NAME, secret=_PHONE_SECRET, instead=_INSTEAD),
            {"code": _CODE, "name": "Van 2", "secret": "y" * 43},
        ),
    ),
    Operation(
        "joining.open_client_link",
        "post",
        "/api/client-links/open",
        "openClientLink",
        "Open a client's link; the credential is a cookie.",
        {
            "200": answer(
                "Opened",
                obj("*", ok=TRUE, job_id=UUID, expires_at=MOMENT),
                {"ok": True, "job_id": JOB_ID, "expires_at": _LATER},
                headers={"Set-Cookie": {"description": "The credential", "schema": TEXT}},
            )
        },
        "access",
        f"{_WAY_IN} client_link_unknown access_expired made_ahead link_lowers",
        body=body(obj("secret", secret=_SECRET, instead=_INSTEAD), {"secret": _CODE}),
    ),
    Operation(
        "joining.sign_out",
        "post",
        "/api/sign-out",
        "signOut",
        "End the credential of this browser.",
        {
            "200": answer(
                "Done; not signed out where there was no credential to end, as on the server's own machine",
                obj("*", ok=TRUE, signed_out=FLAG),
                {"ok": True, "signed_out": True},
            )
        },
        "access",
        body=NOTHING,
    ),
)
LET_IN = (
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
                {"ok": True, "link": f"{_BOOK}/join#{_CODE}", "qr": "data:image/svg+xml;...", "hours": 24},
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
        in_path=(in_path("device_id", UUID, _ID),),
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
                {"ok": True, "link": f"{_BOOK}/office/open#{_CODE}", "id": _ID, "expires_at": _LATER},
            )
        },
        "access",
        "access_off access_insecure url_unknown",
        in_path=JOB_IN_PATH,
        body=body(obj("", name=_NAME, days=_DAYS), {"name": "Council", "days": 30}),
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
        in_path=(in_path("link_id", UUID, _ID),),
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
OPERATIONS = WAYS_IN + LET_IN
