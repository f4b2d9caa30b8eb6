"""``fallbook certificate show`` and ``renew``: what phones trust with ``serve --lan``."""

import click

from .options import data_option, json_option


@click.command()
@json_option
@data_option
def show() -> None:
    """Show the certificates of this machine: until when they hold, and what is wrong with that.

    \b
    Example: fallbook certificate show
    """


@click.command()
@data_option
def renew() -> None:
    """Give the authority that phones trust ten years from today, and the server a new certificate.

    Check the clock of this machine first.  Phones that trust the present authority go on for as long as that
    one holds; before its end let each of them trust the new one from the setup page.  A server that is
    running takes it within half a minute.

    \b
    Example: fallbook certificate renew
    """
