"""``fallbook invite``, ``devices``, ``revoke``, ``client-link``, ``client-links`` and ``audit``.

They may run beside a server on the same data folder: each is one short transaction.
"""

import json
import sys
from pathlib import Path
from typing import Any

import click

from .. import serve as serving
from ..access import granting
from ..access.links import client_link as link_of_client
from ..access.links import join_link
from ..errors import AppError
from ..lan.serving import last_address
from ..store import access as rows
from ..store.engine import reading
from .common import data_option, opened

_URL = click.option(
    "--url", help="Where phones reach the server (default: FALLBOOK_URL, else as last served)."
)
_BESIDE = {"LOCK_FOLDER": False}


def _base(app: Any, url: str | None) -> str:
    found = url or app.config["PUBLIC_URL"] or last_address(app.config["DATA_FOLDER"])
    if not found:
        raise AppError("url_unknown")
    return str(found).rstrip("/")


def _show(link: str) -> None:
    click.echo(link)
    if sys.stdout.isatty():
        click.echo(serving.qr(link))


@click.command()
@data_option
@click.option("--role", type=click.Choice(granting.ROLES), default="surveyor", show_default=True)
@click.option("--name", default="", help="The name of the phone; it can be changed on the phone.")
@click.option("--job", help="The one job that the phone may sync (its id; default: all jobs).")
@click.option("--hours", type=float, default=granting.INVITATION_HOURS, show_default=True)
@_URL
def invite(data: Path | None, role: str, name: str, job: str | None, hours: float, url: str | None) -> None:
    """Print an invitation, as a link and a QR code: it lets one phone in, once."""
    with opened(data, **_BESIDE) as app:
        base = _base(app, url)
        code = granting.invite(role, name, job, hours, granting.By())
    click.echo(f"Invitation for one phone as {role}, good for {hours:g} hours:")
    _show(join_link(base, code))


@click.command()
@data_option
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
def devices(data: Path | None, as_json: bool) -> None:
    """List the phones and browsers that were let in, and when each was last seen."""
    with opened(data, **_BESIDE):
        found = granting.devices()
    if as_json:
        click.echo(json.dumps(found, indent=1))
        return
    for row in found:
        ended = f", ended {row['revoked_at'][:10]}" if row["revoked_at"] else ""
        limit = f", job {row['job_id']} only" if row["job_id"] else ""
        seen = (row["last_seen_at"] or "never")[:16].replace("T", " ")
        click.echo(f"{row['id']}  {row['role']:<8}  {row['name']}  (last seen {seen} UTC{limit}{ended})")
    if not found:
        click.echo("Nobody has been let in.")


@click.command()
@data_option
@click.argument("device")
def revoke(data: Path | None, device: str) -> None:
    """End the access of a device, by its id or its name; what it sent stays."""
    with opened(data, **_BESIDE):
        named = [r for r in granting.devices() if device in (r["id"], r["name"]) and not r["revoked_at"]]
        if len(named) != 1:
            raise AppError("device_unknown", f"{len(named)} devices in force go by {device}.")
        granting.revoke(named[0]["id"], granting.By())
    click.echo(f"Ended: {named[0]['name']}. What it sent stays; what it has not sent stays on it.")


@click.command()
@data_option
@click.argument("job")
@click.option("--days", type=float, default=granting.LINK_DAYS, show_default=True, help="How long it holds.")
@click.option("--name", default="", help="Whose link it is.")
@_URL
def client_link(data: Path | None, job: str, days: float, name: str, url: str | None) -> None:
    """Print a link by which a client reads one job and fetches its pack, and changes nothing."""
    with opened(data, **_BESIDE) as app:
        base = _base(app, url)
        secret, row = granting.make_link(job, name, days, granting.By())
    click.echo(f"Link {row['id']}, good until {row['expires_at'][:16].replace('T', ' ')} UTC:")
    _show(link_of_client(base, secret))


@click.command()
@data_option
@click.option("--end", metavar="ID", help="End the link of this id.")
def client_links(data: Path | None, end: str | None) -> None:
    """List clients' links, or end one."""
    with opened(data, **_BESIDE):
        if end:
            granting.revoke_link(end, granting.By())
        found = granting.links()
    for row in found:
        state = f"ended {row['revoked_at'][:10]}" if row["revoked_at"] else f"until {row['expires_at'][:10]}"
        click.echo(f"{row['id']}  job {row['job_id']}  {row['name']}  ({state})")
    if not found:
        click.echo("There are no links.")


@click.command()
@data_option
@click.option(
    "--last", type=click.IntRange(1, 100_000), default=50, show_default=True, help="How many lines."
)
@click.option("--job", help="Only what concerns this job (its id).")
def audit(data: Path | None, last: int, job: str | None) -> None:
    """Print who did what and when, newest first, one JSON object a line."""
    with opened(data, **_BESIDE), reading() as connection:
        lines = rows.log(connection, last, job)
    for line in lines:
        click.echo(json.dumps(line, ensure_ascii=False))
