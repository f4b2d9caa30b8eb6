"""``fallbook invite``, ``device``, ``link`` and ``audit``.

They may run beside a server on the same data folder: each is one short transaction.
"""

import json
import sys
from pathlib import Path
from typing import Any

from ... import addresses
from ...access import granting
from ...access.links import client_link, join_link
from ...access.who import COOKIE
from ...errors import AppError
from ...lan.serving import last_address
from ...messages import general, listed, t
from ...store import access_rows
from ...store.engine import reading
from ..output import note, one_line, say, show_json
from .choosing import one_of
from .jobs_here import job_id_of
from .opening import BESIDE, opened
from .qr_code import show


def _base(app: Any, url: str | None) -> str:
    """Return where phones reach the server; AppError, before any secret is made, where that is not known."""
    if url is not None:
        try:
            return addresses.public_url(url)
        except addresses.NoAddress as why:
            raise AppError("url_malformed", t("cli.url_option", why=why)) from why
    found = app.config["PUBLIC_URL"] or last_address(app.config["DATA_FOLDER"])
    if not found:
        raise AppError("url_unknown")
    return str(found)


def _show(link: str) -> None:
    say(link)
    if sys.stdout is not None and sys.stdout.isatty():
        show(link)


def invite(data: Path | None, role: str, name: str, job: str | None, hours: float, url: str | None) -> None:
    """Print an invitation that lets one phone in, once."""
    with opened(data, **BESIDE) as app:
        base = _base(app, url)
        job_id = job_id_of(data, job) if job else None
        code = granting.invite(role, name, job_id, hours, granting.By())
    note(t("cli.invite.good_for", role=role, hours=general(hours)))
    _show(join_link(base, code))


def devices(data: Path | None, as_json: bool) -> None:
    """List the phones and browsers that were let in."""
    with opened(data, **BESIDE):
        found = granting.devices(COOKIE)
    if as_json:
        show_json(found)
        return
    for row in found:
        say(access_line(row, seen_utc(row), limits_of(row)))
    if not found:
        note(t("cli.device.none"))


def revoke(data: Path | None, device: str) -> None:
    """End the access of a phone or browser."""
    with opened(data, **BESIDE):
        standing = [row for row in granting.devices(COOKIE) if not row["revoked_at"]]
        named = one_of(standing, device, "device_unknown")
        granting.revoke(named["id"], granting.By())
    say(one_line(t("cli.device.ended", name=named["name"])))


def add_link(data: Path | None, job: str, days: float, name: str, url: str | None) -> None:
    """Print a link by which a client reads one job."""
    with opened(data, **BESIDE) as app:
        base = _base(app, url)
        secret, row = granting.make_link(job_id_of(data, job), name, days, granting.By())
    note(t("cli.link.good_until", id=row["id"], until=row["expires_at"][:16].replace("T", " ")))
    _show(client_link(base, secret))


def links(data: Path | None, as_json: bool) -> None:
    """List clients' links."""
    _list_links(data, as_json)


def end_link(data: Path | None, link: str) -> None:
    """End a client's link."""
    named = _end_link(data, link)
    say(one_line(t("cli.link.ended", id=named["id"], name=named["name"])))


def client_links(data: Path | None, end: str | None) -> None:
    """List clients' links, or end one first: the command of an earlier version."""
    if end:
        _end_link(data, end)
    _list_links(data, as_json=False)


def _end_link(data: Path | None, text: str) -> granting.LinkShown:
    with opened(data, **BESIDE):
        standing = [row for row in granting.links() if not row["revoked_at"]]
        named = one_of(standing, text, "client_link_unknown")
        granting.revoke_link(named["id"], granting.By())
    return named


def _list_links(data: Path | None, as_json: bool) -> None:
    with opened(data, **BESIDE):
        found = granting.links()
    if as_json:
        show_json(found)
        return
    for row in found:
        ended, until = row["revoked_at"], row["expires_at"]
        state = t("cli.ended", day=ended[:10]) if ended else t("cli.until", day=until[:10])
        about = t("cli.about_job", job_id=row["job_id"])
        say(one_line(f"{row['id']}  {about}  {row['name']}  ({state})"))
    if not found:
        note(t("cli.link.none"))


def audit(data: Path | None, last: int, job: str | None, as_json: bool) -> None:
    """Print who did what and when."""
    with opened(data, **BESIDE):
        job_id = job_id_of(data, job) if job else None
        with reading() as connection:
            lines = access_rows.log(connection, last, job_id)
    if as_json:
        show_json(lines)
        return
    for line in lines:
        about = [t("cli.about_job", job_id=line["job_id"])] if line["job_id"] else []
        about += [f"{name} {_short(value)}" for name, value in line["detail"].items()]
        at = line["at"][:19].replace("T", " ")
        say(one_line(t("cli.audit.line", at=at, who=line["who"], action=line["action"], about=listed(about))))
    if not lines:
        note(t("cli.audit.none"))


def seen_utc(row: granting.DeviceShown) -> str:
    """Return when somebody was last seen."""
    return t("cli.seen_utc", seen=(row["last_seen_at"] or t("cli.never"))[:16].replace("T", " "))


def limits_of(row: granting.DeviceShown) -> list[str]:
    """Return to which job an access is limited, until when it holds, and when it was ended."""
    found = [t("cli.one_job_only", job_id=listed(row["jobs"]))] if row["jobs"] else []
    found += [t("cli.until", day=row["expires_at"][:10])] if row["expires_at"] else []
    found += [t("cli.ended", day=row["revoked_at"][:10])] if row["revoked_at"] else []
    return found


def access_line(row: granting.DeviceShown, seen: str, limits: list[str]) -> str:
    """Return the line of one that was let in."""
    return one_line(f"{row['id']}  {row['role']:<8}  {row['name']}  ({listed([seen, *limits])})")


def _short(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
