"""``fallbook serve`` and ``fallbook demo``."""

import sys
from pathlib import Path

import click
from flask import Flask

from .. import log, paths
from .. import serve as serving
from ..importing import open_job
from ..jobs import take_job
from ..state import state_of
from ..store.folder import default_folder
from .common import data_option, opened

DEFAULT_PORT = 8321
PORT = click.IntRange(0, 65535)


@click.command()
@data_option
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen at.")
@click.option("--port", type=PORT, default=DEFAULT_PORT, show_default=True, help="0 takes any free one.")
@click.option("--quiet", is_flag=True, help="No log line for each request.")
def serve(data: Path | None, host: str, port: int, quiet: bool) -> None:
    """Start the server on your data folder, and print its address.

    It listens on this machine only.  Stop it with Ctrl-C: requests under way are finished first.
    """
    serving.check_host(host)
    with opened(data) as app:
        run(app, host, port, quiet)


@click.command()
@data_option
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen at.")
@click.option("--port", type=PORT, default=DEFAULT_PORT, show_default=True, help="0 takes any free one.")
@click.option("--quiet", is_flag=True, help="No log line for each request.")
def demo(data: Path | None, host: str, port: int, quiet: bool) -> None:
    """Load the sample jobs into a data folder of their own and start the server on it.

    Your own jobs are not touched.  Running it again adds nothing twice.
    """
    serving.check_host(host)
    with opened(data or default_folder().with_name("fallbook-demo")) as app:
        for folder in sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json")):
            with open_job(folder) as (job, photo_bytes):
                take_job(job, photo_bytes, state_of(app).photos)
            click.echo(f"Sample job loaded: {folder.name}")
        run(app, host, port, quiet)


def run(app: Flask, host: str, port: int, quiet: bool) -> None:
    """Listen, say where, and serve until told to stop."""
    server = serving.make(app, host, port)
    where = serving.address(server)
    click.echo(f"Fallbook is at {where}  (jobs and packs: {where}office)")
    click.echo(f"Data folder: {app.config['DATA_FOLDER']}")
    if sys.stdout.isatty():
        click.echo(serving.qr(where))
    click.echo("Stop with Ctrl-C.")
    sys.stdout.flush()
    if not quiet:
        log.to_stderr()
    serving.run(server)
    click.echo("Stopped.")
