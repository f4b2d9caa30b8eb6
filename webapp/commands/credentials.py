"""``fallbook credential add``, ``list`` and ``end``: the credentials of scripts."""

import click

from ..access import terms
from .options import JobName, data_option, json_option


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
def add() -> None:
    """Print a new credential, once, alone on standard output.

    \b
    Example: fallbook credential add --name "Nightly copy" > token
    """


@click.command("list")
@data_option
@json_option
def list_() -> None:
    """List the credentials of scripts, those in force first.

    \b
    Example: fallbook credential list --json | jq '.[] | select(.revoked_at == null)'
    """


@click.command()
@data_option
@click.argument("name_or_id")
def end() -> None:
    """End a credential, by its name, its id or the beginning of it; what was sent with it stays.

    \b
    Example: fallbook credential end "Nightly copy"
    """
