"""Ways in: who the sender is, invitations and clients' links as they are used."""

from ...access.terms import CLIENT, NOBODY, SCRIPT_ROLES
from ...schemas.examples import JOB_ID
from .access_parts import CODE, DEVICE_ID, JOBS, LATER, NAME, ROLE
from .parts import FLAG, MAYBE, MOMENT, NOTHING, TEXT, TRUE, UUID, Operation, Schema, answer, body, obj

_SECRET: Schema = {"type": "string", "pattern": "^[A-Za-z0-9_-]{43}$"}
_PHONE_SECRET: Schema = _SECRET | {
    "description": "Made by the phone and kept: the same again is the same device, however often it is sent."
}
_INSTEAD: Schema = {
    "type": "boolean",
    "default": False,
    "description": "In place of what this browser may do now, even if that is more.",
}
_WAY_IN = "access_off access_insecure too_many_requests"
_INVITATION = f"{_WAY_IN} invitation_unknown invitation_used invitation_expired made_ahead"
_ME = obj(
    "*",
    ok=TRUE,
    release=TEXT,
    access={"enum": ["on", "this_machine_only"]},
    role={"enum": [NOBODY, CLIENT, *SCRIPT_ROLES]},
    name=TEXT,
    device_id=MAYBE,
    jobs=JOBS,
    refused=MAYBE | {"description": "The code, where what was shown is not good."},
    message=TEXT,
)

OPERATIONS = (
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
                    "device_id": DEVICE_ID,
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
                obj("*", ok=TRUE, role=ROLE, name=TEXT, job_id=MAYBE, expires_at=MOMENT),
                {"ok": True, "role": "surveyor", "name": "Van 2", "job_id": None, "expires_at": LATER},
            )
        },
        "access",
        _INVITATION,
        body=body(obj("code", code=_SECRET), {"code": CODE}),
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
                obj("*", ok=TRUE, device_id=UUID, role=ROLE, name=TEXT, job_id=MAYBE, jobs=JOBS),
                {
                    "ok": True,
                    "device_id": DEVICE_ID,
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
            obj("code", code=_SECRET, name=NAME, secret=_PHONE_SECRET, instead=_INSTEAD),
            {"code": CODE, "name": "Van 2", "secret": "y" * 43},
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
                {"ok": True, "job_id": JOB_ID, "expires_at": LATER},
                headers={"Set-Cookie": {"description": "The credential", "schema": TEXT}},
            )
        },
        "access",
        f"{_WAY_IN} client_link_unknown access_expired made_ahead link_lowers",
        body=body(obj("secret", secret=_SECRET, instead=_INSTEAD), {"secret": CODE}),
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
