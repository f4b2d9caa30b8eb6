"""``fallbook serve`` and ``fallbook demo``."""

import functools
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import click

from ..messages import t
from .common import Command, data_option, opened
from .where import Where

DEFAULT_PORT = 8321
PORT = click.IntRange(0, 65535)


_HOST = click.option("--host", help="The address to listen at (default: 127.0.0.1, this machine only).")
_PORT = click.option(
    "--port", type=PORT, default=DEFAULT_PORT, show_default=True, help="0 takes any free one."
)
_QUIET = click.option("--quiet", is_flag=True, help="No log line for each request.")
_LAN = click.option("--lan", is_flag=True, help="Let phones on the same network in: HTTPS, with credentials.")
_NAME = click.option("--name", help="With --lan: the name or address by which phones come.")
_TLS = click.option(
    "--lan-port", type=PORT, default=8443, show_default=True, help="With --lan: the port of HTTPS."
)
_SETUP = click.option(
    "--setup-port", type=PORT, default=8322, show_default=True, help="With --lan: the port of the setup page."
)


def serving_options(command: Command) -> Command:
    """Add the options that say where the server listens, and hand them over as one ``where``."""

    @functools.wraps(command)
    def gathered(**words: Any) -> Any:
        own = {f.name: words.pop(f.name) for f in fields(Where) if f.name in words}
        return command(where=Where(**own), **words)

    found: Command = gathered
    for option in (_SETUP, _TLS, _NAME, _LAN, _QUIET, _PORT, _HOST):
        found = option(found)
    return found


@click.command()
@data_option
@serving_options
def serve(data: Path | None, where: Where) -> None:
    """Start the server on your data folder, and print its address.

    It listens on this machine only and asks nobody for a credential.  With --lan it also lets phones on the
    same network in, by HTTPS, each with an invitation.  Stop it with Ctrl-C: requests under way are
    finished first.  The data folder is made if there is none yet.

    \b
    Example: fallbook serve
             fallbook serve --lan --data ~/surveys
    """
    from .listening import access_of, check, run

    check(where)
    with opened(data, **access_of(where)) as app:
        run(app, where)


@click.command()
@data_option
@serving_options
def demo(data: Path | None, where: Where) -> None:
    """Load the sample jobs into a data folder of their own and start the server on it.

    Your own jobs are not touched.  Running it again adds nothing twice.  With --lan a phone on the same
    network can try it too: scan the two QR codes that it prints.

    \b
    Example: fallbook demo --lan
    """
    from .. import paths
    from ..intake.jobs import take_job
    from ..intake.open_job import open_job
    from ..store.user_folders import demo_folder
    from ..web.state import state_of
    from .listening import access_of, check, run

    where = replace(where, is_demo=True)
    check(where)
    with opened(data or demo_folder(), **access_of(where)) as app:
        for folder in sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json")):
            with open_job(folder) as (job, photo_bytes):
                take_job(job, photo_bytes, state_of(app).photos)
            click.echo(t("cli.serve.sample_loaded", name=folder.name))
        run(app, where)
