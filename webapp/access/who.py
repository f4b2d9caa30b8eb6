"""Who sends a request: this machine, a device that was let in, a script, a client with a link, or nobody."""

import re
from dataclasses import dataclass

from flask import Request, current_app
from sqlalchemy import Connection

from ..addresses import LOCAL_HOSTS
from ..store import access_rows
from .hosts import name_of
from .moments import age_s, link_refused
from .secret import hash_of, is_secret
from .terms import CLIENT, NOBODY, OFFICE

DEVICE_COOKIE = "__Host-fallbook"
CLIENT_COOKIE = "__Host-fallbook-client"
MAX_LINKS = 32
LOCAL_MARK = "fallbook.local"  # put there by our own listener on the loopback address, never by a header
# What a proxy or a tunnel says of itself: it speaks from the loopback address, but for anybody.
PROXY_HEADERS = re.compile(
    r"(x-)?forward(ed)?(-.*)?|via|x-real-ip|client-ip|.*-client-ip|.*-connecting-ip|x-original-.*|x-proxy.*"
    r"|x-scheme|x-url-scheme|x-remote-.*|remote-addr|front-end-https|cdn-loop|cf-.*|fly-.*|x-(envoy|amzn|azure|arr)-.*"
    r"|tailscale-.*|ngrok-.*",
    re.IGNORECASE,
)
THIS_MACHINE = "this machine"
COOKIE, BEARER = "cookie", "bearer"  # how a device shows its secret


@dataclass(frozen=True)
class Who:
    """One sender.  ``jobs`` None: all jobs; ``refused`` is the code where a credential is not good."""

    role: str
    name: str
    address: str
    device_id: str | None = None
    jobs: frozenset[str] | None = None
    refused: str | None = None
    last_seen_at: str | None = None
    way: str = ""

    @property
    def local(self) -> bool:
        """Say whether this is the machine that the server runs on, open to itself."""
        return self.role == OFFICE and self.device_id is None

    def may_see(self, job_id: str) -> bool:
        """Say whether a job is one of this sender's."""
        return self.role != NOBODY and (self.jobs is None or job_id in self.jobs)


def is_local(request: Request) -> bool:
    """Say whether a request came by a way that only this machine has."""
    return by_loopback(request) and bool(request.environ.get(LOCAL_MARK) or not current_app.config["ACCESS"])


def by_loopback(request: Request) -> bool:
    """Say whether a request came from this machine to a loopback name, through no proxy that says so."""
    if name_of(request) not in LOCAL_HOSTS or not _is_loopback(request.remote_addr or ""):
        return False
    return not any(PROXY_HEADERS.fullmatch(name) for name in request.headers.keys())


def _is_loopback(address: str) -> bool:
    return address == "::1" or address.startswith(("127.", "::ffff:127."))


def this_machine(request: Request) -> Who | None:
    """Return the machine that the server runs on, if the request is its own."""
    return Who(OFFICE, THIS_MACHINE, request.remote_addr or "") if is_local(request) else None


def identify(request: Request, connection: Connection, now: str) -> Who:
    """Return whose cookie a request carries; a device's goes before a client's."""
    address = request.remote_addr or ""
    nobody = Who(NOBODY, "", address, refused="access_needed")
    secret = request.cookies.get(DEVICE_COOKIE, "")
    found = _device(connection, secret, address) if is_secret(secret) else None
    if found and found.refused is None:
        return found
    client = _client(connection, request.cookies.get(CLIENT_COOKIE, ""), address, now)
    if client and client.refused is None:
        return client
    return found or client or nobody


def _device(connection: Connection, secret: str, address: str) -> Who | None:
    row = access_rows.device(connection, secret_sha256=hash_of(secret))
    if row is None or row["way"] != COOKIE:
        return None
    if row["revoked_at"] is not None:
        return Who(NOBODY, row["name"], address, row["id"], refused="access_revoked")
    seen = row["last_seen_at"]
    if row["role"] == OFFICE and age_s(seen or row["created_at"]) > current_app.config["OFFICE_IDLE_S"]:
        return Who(NOBODY, row["name"], address, row["id"], refused="access_idle")
    jobs = access_rows.jobs_of(connection, row)
    return Who(row["role"], row["name"], address, row["id"], jobs, last_seen_at=seen, way=COOKIE)


def _client(connection: Connection, cookie: str, address: str, now: str) -> Who | None:
    secrets = [s for s in cookie.split(".")[:MAX_LINKS] if is_secret(s)]
    found = [access_rows.link(connection, secret_sha256=hash_of(s)) for s in secrets]
    known = [row for row in found if row]
    codes = [link_refused(row, now) for row in known]
    good = [row for row, code in zip(known, codes, strict=True) if code is None]
    if good:
        name = ", ".join(row["name"] for row in good)
        return Who(CLIENT, name, address, jobs=frozenset(row["job_id"] for row in good))
    refused = "made_ahead" if "made_ahead" in codes else "access_expired"
    return Who(NOBODY, "", address, refused=refused) if known else None
