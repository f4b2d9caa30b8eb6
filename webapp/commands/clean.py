"""``fallbook clean``."""

import click

from .options import data_option, json_option, quiet_option


@click.command()
@click.option("--preview", is_flag=True, help="Say what would go, and change nothing.")
@json_option
@quiet_option
@data_option
def clean() -> None:
    """Clear away what is older than the settings say: uploads that broke off, invitations that are over,
    packs, and lines of the audit log.  A running server does it once a day.

    Nothing that was entered goes, and no photo.

    \b
    Example: fallbook clean --preview
    """
