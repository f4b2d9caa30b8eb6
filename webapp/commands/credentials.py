"""``fallbook credential add``, ``list`` and ``end``: the credentials of scripts."""

import json
from pathlib import Path

import click

from ..access import credentials, granting
from ..errors import AppError
from .common import data_option, opened

_BESIDE = {"LOCK_FOLDER": False}


@click.command()
@data_option
@click.option("--name", required=True, help="What the script is, for the list and the audit log.")
@click.option(
    "--role",
    type=click.Choice(credentials.ROLES),
    default="reader",
    show_default=True,
    help="What it may do.",
)
@click.option("--job", help="The one job that it may see (its id; default: all jobs).")
@click.option(
    "--days",
    type=float,
    default=credentials.CREDENTIAL_DAYS,
    show_default=True,
    help="How long it holds.",
)
@click.option("--no-expiry", is_flag=True, help="It holds until it is ended.")
def add(data: Path | None, name: str, role: str, job: str | None, days: float, no_expiry: bool) -> None:
    """Print a new credential, once, alone on standard output."""
    with opened(data, **_BESIDE):
        token, row = credentials.add(role, name, job, None if no_expiry else days, granting.By())
    until = (
        f"until {row['expires_at'][:16].replace('T', ' ')} UTC" if row["expires_at"] else "until it is ended"
    )
    only = f", job {row['job_id']} only" if row["job_id"] else ""
    click.echo(f"Credential {row['id']} for {row['name']}, {role}{only}, {until}.", err=True)
    click.echo("It is shown this once; the server keeps its hash.", err=True)
    click.echo(token)


@click.command("list")
@data_option
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
def list_(data: Path | None, as_json: bool) -> None:
    """List the credentials of scripts, those in force first."""
    with opened(data, **_BESIDE):
        found = credentials.listed()
    if as_json:
        click.echo(json.dumps(found, indent=1))
        return
    for row in found:
        told = [f"last seen {(row['last_seen_at'] or 'never')[:16].replace('T', ' ')}"]
        told += [f"job {row['job_id']} only"] if row["job_id"] else []
        told += [f"until {row['expires_at'][:10]}"] if row["expires_at"] else []
        told += [f"ended {row['revoked_at'][:10]}"] if row["revoked_at"] else []
        click.echo(f"{row['id']}  {row['role']:<8}  {row['name']}  ({', '.join(told)})")
    if not found:
        click.echo("No script has a credential.")


@click.command()
@data_option
@click.argument("name_or_id")
def end(data: Path | None, name_or_id: str) -> None:
    """End a credential, by its id or its name; what was sent with it stays."""
    with opened(data, **_BESIDE):
        standing = [row for row in credentials.listed() if not row["revoked_at"]]
        named = [row for row in standing if name_or_id in (row["id"], row["name"])]
        if len(named) != 1:
            raise AppError("device_unknown", f"{len(named)} credentials in force go by {name_or_id}.")
        granting.revoke(named[0]["id"], granting.By())
    click.echo(f"Ended: {named[0]['name']}. What was sent with it stays.")
