"""``fallbook invite``, ``device``, ``link`` and ``audit``.

They may run beside a server on the same data folder: each is one short transaction.
"""

import click

from ..access import terms
from .options import JobName, data_option, json_option

_URL = click.option(
    "--url", help="Where phones reach the server (default: FALLBOOK_URL, else as last served)."
)


_JOB = JobName()


@click.command()
@data_option
@click.option("--role", type=click.Choice(terms.INVITED_ROLES), default=terms.SURVEYOR, show_default=True)
@click.option("--name", default="", help="The name of the phone; it can be changed on the phone.")
@click.option(
    "--job", type=_JOB, help="The one job that the phone may sync: its title, reference or id (default: all)."
)
@click.option("--hours", type=float, default=terms.INVITATION_HOURS, show_default=True)
@_URL
def invite() -> None:
    """Print an invitation, as a link and a QR code: it lets one phone in, once.

    \b
    Example: fallbook invite --name "Van 2"
             fallbook invite --role office --hours 1
    """


@click.command()
@data_option
@json_option
def devices() -> None:
    """List the phones and browsers that were let in, and when each was last seen.

    \b
    Example: fallbook device list --json | jq -r '.[].name'
    """


@click.command()
@data_option
@click.argument("device")
def revoke() -> None:
    """End the access of a device, by its name, its id or the beginning of it; what it sent stays.

    \b
    Example: fallbook device end "Van 2"
    """


@click.command()
@data_option
@click.argument("job", type=_JOB)
@click.option("--days", type=float, default=terms.LINK_DAYS, show_default=True, help="How long it holds.")
@click.option("--name", default="", help="Whose link it is.")
@_URL
def add_link() -> None:
    """Print a link by which a client reads one job and fetches its pack, and changes nothing.

    JOB is the job's title, its reference, or the beginning of its id.

    \b
    Example: fallbook link add "School foul drain" --name "Client (invented)" --days 14
    """


@click.command()
@data_option
@json_option
def links() -> None:
    """List clients' links, those that ended too.

    \b
    Example: fallbook link list
    """


@click.command()
@data_option
@click.argument("link")
def end_link() -> None:
    """End a client's link, by its name, its id or the beginning of it.

    \b
    Example: fallbook link end 0190a1b2
    """


@click.command(hidden=True)
@data_option
@click.option("--end", metavar="ID", help="End the link of this id.")
def client_links() -> None:
    """List clients' links, or end one; now fallbook link list and fallbook link end."""


@click.command()
@data_option
@click.option(
    "--last", type=click.IntRange(1, 100_000), default=50, show_default=True, help="How many lines."
)
@click.option("--job", type=_JOB, help="Only what concerns this job: its title, reference or id.")
@json_option
def audit() -> None:
    """Print who did what and when, newest first.

    \b
    Example: fallbook audit --last 10
             fallbook audit --json | jq '.[] | select(.action == "joined")'
    """
