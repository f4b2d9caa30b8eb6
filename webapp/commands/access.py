"""``fallbook invite``, ``device``, ``link`` and ``audit``.

They may run beside a server on the same data folder: each is one short transaction.
"""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from .. import addresses
from ..access import terms
from ..errors import AppError
from ..messages import general, listed, t
from .choosing import one_of
from .common import BESIDE, data_option, json_option, opened
from .jobs_here import JobName, job_id_of
from .output import note, one_line, say, show_json

_URL = click.option(
    "--url", help="Where phones reach the server (default: FALLBOOK_URL, else as last served)."
)
_JOB = JobName()


def _base(app: Any, url: str | None) -> str:
    """Return where phones reach the server; AppError, before any secret is made, where that is not known."""
    from ..lan.serving import last_address

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
        from .qr_code import show

        show(link)


@click.command()
@data_option
@click.option("--role", type=click.Choice(terms.INVITED_ROLES), default=terms.SURVEYOR, show_default=True)
@click.option("--name", default="", help="The name of the phone; it can be changed on the phone.")
@click.option(
    "--job", type=_JOB, help="The one job that the phone may sync: its title, reference or id (default: all)."
)
@click.option("--hours", type=float, default=terms.INVITATION_HOURS, show_default=True)
@_URL
def invite(data: Path | None, role: str, name: str, job: str | None, hours: float, url: str | None) -> None:
    """Print an invitation, as a link and a QR code: it lets one phone in, once.

    \b
    Example: fallbook invite --name "Van 2"
             fallbook invite --role office --hours 1
    """
    from ..access import granting
    from ..access.links import join_link

    with opened(data, **BESIDE) as app:
        base = _base(app, url)
        job_id = job_id_of(data, job) if job else None
        code = granting.invite(role, name, job_id, hours, granting.By())
    note(t("cli.invite.good_for", role=role, hours=general(hours)))
    _show(join_link(base, code))


@click.command()
@data_option
@json_option
def devices(data: Path | None, as_json: bool) -> None:
    """List the phones and browsers that were let in, and when each was last seen.

    \b
    Example: fallbook device list --json | jq -r '.[].name'
    """
    from ..access import granting
    from ..access.who import COOKIE

    with opened(data, **BESIDE):
        found = granting.devices(COOKIE)
    if as_json:
        show_json(found)
        return
    for row in found:
        say(access_line(row, seen_utc(row), limits_of(row)))
    if not found:
        note(t("cli.device.none"))


@click.command()
@data_option
@click.argument("device")
def revoke(data: Path | None, device: str) -> None:
    """End the access of a device, by its name, its id or the beginning of it; what it sent stays.

    \b
    Example: fallbook device end "Van 2"
    """
    from ..access import granting
    from ..access.who import COOKIE

    with opened(data, **BESIDE):
        standing = [row for row in granting.devices(COOKIE) if not row["revoked_at"]]
        named = one_of(standing, device, "device_unknown")
        granting.revoke(named["id"], granting.By())
    say(one_line(t("cli.device.ended", name=named["name"])))


@click.command()
@data_option
@click.argument("job", type=_JOB)
@click.option("--days", type=float, default=terms.LINK_DAYS, show_default=True, help="How long it holds.")
@click.option("--name", default="", help="Whose link it is.")
@_URL
def client_link(data: Path | None, job: str, days: float, name: str, url: str | None) -> None:
    """Print a link by which a client reads one job and fetches its pack, and changes nothing.

    JOB is the job's title, its reference, or the beginning of its id.

    \b
    Example: fallbook link add "School foul drain" --name "Client (invented)" --days 14
    """
    from ..access import granting
    from ..access.links import client_link as link_of_client

    with opened(data, **BESIDE) as app:
        base = _base(app, url)
        secret, row = granting.make_link(job_id_of(data, job), name, days, granting.By())
    note(t("cli.link.good_until", id=row["id"], until=row["expires_at"][:16].replace("T", " ")))
    _show(link_of_client(base, secret))


@click.command()
@data_option
@json_option
def links(data: Path | None, as_json: bool) -> None:
    """List clients' links, those that ended too.

    \b
    Example: fallbook link list
    """
    _list_links(data, as_json)


@click.command()
@data_option
@click.argument("link")
def end_link(data: Path | None, link: str) -> None:
    """End a client's link, by its name, its id or the beginning of it.

    \b
    Example: fallbook link end 0190a1b2
    """
    named = _end_link(data, link)
    say(one_line(t("cli.link.ended", id=named["id"], name=named["name"])))


@click.command(hidden=True)
@data_option
@click.option("--end", metavar="ID", help="End the link of this id.")
def client_links(data: Path | None, end: str | None) -> None:
    """List clients' links, or end one; now fallbook link list and fallbook link end."""
    if end:
        _end_link(data, end)
    _list_links(data, as_json=False)


def _end_link(data: Path | None, text: str) -> Any:
    from ..access import granting

    with opened(data, **BESIDE):
        standing = [row for row in granting.links() if not row["revoked_at"]]
        named = one_of(standing, text, "client_link_unknown")
        granting.revoke_link(named["id"], granting.By())
    return named


def _list_links(data: Path | None, as_json: bool) -> None:
    from ..access import granting

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


@click.command()
@data_option
@click.option(
    "--last", type=click.IntRange(1, 100_000), default=50, show_default=True, help="How many lines."
)
@click.option("--job", type=_JOB, help="Only what concerns this job: its title, reference or id.")
@json_option
def audit(data: Path | None, last: int, job: str | None, as_json: bool) -> None:
    """Print who did what and when, newest first.

    \b
    Example: fallbook audit --last 10
             fallbook audit --json | jq '.[] | select(.action == "joined")'
    """
    from ..store import access_rows
    from ..store.engine import reading

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


def seen_utc(row: Mapping[str, Any]) -> str:
    """Return when somebody was last seen."""
    return t("cli.seen_utc", seen=(row["last_seen_at"] or t("cli.never"))[:16].replace("T", " "))


def limits_of(row: Mapping[str, Any]) -> list[str]:
    """Return to which job an access is limited, until when it holds, and when it was ended."""
    found = [t("cli.one_job_only", job_id=row["job_id"])] if row["job_id"] else []
    found += [t("cli.until", day=row["expires_at"][:10])] if row.get("expires_at") else []
    return found + ([t("cli.ended", day=row["revoked_at"][:10])] if row["revoked_at"] else [])


def access_line(row: Mapping[str, Any], seen: str, limits: list[str]) -> str:
    """Return the line of one that was let in."""
    return one_line(f"{row['id']}  {row['role']:<8}  {row['name']}  ({listed([seen, *limits])})")


def _short(value: Any) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
