"""``fallbook recipe``: files for a hosted server, to start from."""

import click

FILES = {"systemd": "fallbook@.service", "container": "Containerfile", "proxy": "nginx.conf"}


@click.command()
@click.argument("name", type=click.Choice(sorted(FILES)))
def recipe() -> None:
    """Print a file for a hosted server: a systemd unit, a container file, or a proxy's settings.

    \b
    Example: fallbook recipe systemd > /etc/systemd/system/fallbook@.service
    """
