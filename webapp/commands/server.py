"""``fallbook serve`` and ``fallbook demo``."""

import click

from .options import Command, data_option

PORT = click.IntRange(0, 65535)
OPTIONS = (
    click.option("--host", help="The address to listen at (default: 127.0.0.1, this machine only)."),
    click.option("--port", type=PORT, default=8321, show_default=True, help="0 takes any free one."),
    click.option("--quiet", is_flag=True, help="No log line for each request."),
    click.option("--lan", is_flag=True, help="Let phones on the same network in: HTTPS, with credentials."),
    click.option("--name", help="With --lan: the name or address by which phones come."),
    click.option(
        "--lan-port", type=PORT, default=8443, show_default=True, help="With --lan: the port of HTTPS."
    ),
    click.option(
        "--setup-port",
        type=PORT,
        default=8322,
        show_default=True,
        help="With --lan: the port of the setup page.",
    ),
)


def serving_options(command: Command) -> Command:
    """Add the options that say where the server listens."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


@click.command()
@data_option
@serving_options
def serve() -> None:
    """Start the server on your data folder, and print its address.

    It listens on this machine only and asks nobody for a credential.  With --lan it also lets phones on the
    same network in, by HTTPS, each with an invitation.  Stop it with Ctrl-C: requests under way are
    finished first.  The data folder is made if there is none yet.

    \b
    Example: fallbook serve
             fallbook serve --lan --data ~/surveys
    """


@click.command()
@data_option
@serving_options
def demo() -> None:
    """Load the sample jobs into a data folder of their own and start the server on it.

    Your own jobs are not touched.  Running it again adds nothing twice.  With --lan a phone on the same
    network can try it too: scan the two QR codes that it prints.

    \b
    Example: fallbook demo --lan
    """
