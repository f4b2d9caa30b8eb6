"""``fallbook credential add``, ``list`` and ``end``: the credentials of scripts."""

from pathlib import Path

import click

from ..access import terms
from ..messages import listed, t
from .access import access_line, limits_of
from .choosing import one_of
from .common import BESIDE, data_option, json_option, opened
from .jobs_here import JobName, job_id_of
from .output import note, one_line, say, show_json


@click.command()
@data_option
@click.option("--name", required=True, help="What the script is, for the list and the audit log.")
@click.option(
    "--role",
    type=click.Choice(terms.SCRIPT_ROLES),
    default=terms.READER,
    show_default=True,
    help="What it may do.",
)
@click.option(
    "--job", type=JobName(), help="The one job that it may see: its title, reference or id (default: all)."
)
@click.option(
    "--days",
    type=float,
    default=terms.CREDENTIAL_DAYS,
    show_default=True,
    help="How long it holds.",
)
@click.option("--no-expiry", is_flag=True, help="It holds until it is ended.")
def add(data: Path | None, name: str, role: str, job: str | None, days: float, no_expiry: bool) -> None:
    """Print a new credential, once, alone on standard output.

    \b
    Example: fallbook credential add --name "Nightly copy" > token
    """
    from ..access import credentials, granting

    with opened(data, **BESIDE):
        job_id = job_id_of(data, job) if job else None
        token, row = credentials.add(role, name, job_id, None if no_expiry else days, granting.By())
    until = row["expires_at"]
    about = [row["name"], role, *([t("cli.one_job_only", job_id=row["job_id"])] if row["job_id"] else [])]
    about += [t("cli.until_utc", until=until[:16].replace("T", " ")) if until else t("cli.until_ended")]
    note(one_line(t("cli.credential", id=row["id"], about=listed(about))))
    note(t("cli.credential.once"))
    say(token)


@click.command("list")
@data_option
@json_option
def list_(data: Path | None, as_json: bool) -> None:
    """List the credentials of scripts, those in force first.

    \b
    Example: fallbook credential list --json | jq '.[] | select(.revoked_at == null)'
    """
    from ..access import credentials

    with opened(data, **BESIDE):
        found = credentials.listed()
    if as_json:
        show_json(found)
        return
    for row in found:
        seen = t("cli.seen", seen=(row["last_seen_at"] or t("cli.never"))[:16].replace("T", " "))
        say(access_line(row, seen, limits_of(row)))
    if not found:
        note(t("cli.credential.none"))


@click.command()
@data_option
@click.argument("name_or_id")
def end(data: Path | None, name_or_id: str) -> None:
    """End a credential, by its name, its id or the beginning of it; what was sent with it stays.

    \b
    Example: fallbook credential end "Nightly copy"
    """
    from ..access import credentials, granting

    with opened(data, **BESIDE):
        standing = [row for row in credentials.listed() if not row["revoked_at"]]
        named = one_of(standing, name_or_id, "device_unknown")
        granting.revoke(named["id"], granting.By())
    say(one_line(t("cli.credential.ended", name=named["name"])))
