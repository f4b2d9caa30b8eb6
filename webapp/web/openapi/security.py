"""The ways of showing who one is, and which of them an operation takes: from the rules of access."""

from ...access.permissions import ANYBODY, RULES
from ...access.terms import INVITED_ROLES, SCRIPT_ROLES
from ...access.who import CLIENT_COOKIE, DEVICE_COOKIE

SCHEMES: dict[str, object] = {
    "device": {
        "type": "apiKey",
        "in": "cookie",
        "name": DEVICE_COOKIE,
        "description": f"A phone or browser that used an invitation. Roles: {', '.join(INVITED_ROLES)}.",
    },
    "client": {
        "type": "apiKey",
        "in": "cookie",
        "name": CLIENT_COOKIE,
        "description": "A browser that opened a client's link: it reads that job, and has its pack.",
    },
    "script": {
        "type": "http",
        "scheme": "bearer",
        "description": f"A script's credential (fallbook credential add). Roles: {', '.join(SCRIPT_ROLES)}. "
        "Taken over HTTPS, or on the server's own machine, and in this header only. Where it is shown "
        "nothing else counts.",
    },
}


def asks(endpoint: str) -> bool:
    """Say whether an endpoint asks for a credential."""
    return RULES[endpoint] != ANYBODY


def security(endpoint: str) -> dict[str, object]:
    """Return what an endpoint asks for: the schemes it takes, and the roles that it is for."""
    if not asks(endpoint):
        return {"security": []}
    roles = RULES[endpoint]
    ways = ["device", "script", *(["client"] if "client" in roles else [])]
    return {"security": [{way: []} for way in ways], "x-roles": sorted(roles)}
