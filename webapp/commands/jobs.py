"""``fallbook jobs``."""

import click

from .options import data_option, json_option


@click.command()
@data_option
@json_option
def jobs() -> None:
    """List the jobs in the data folder: title, client's reference, when the last entry came, what they hold.

    The id is cut to what tells the jobs apart.  Wherever a command takes a JOB, the beginning of its id, its
    title or its reference will do.

    \b
    Example: fallbook jobs
             fallbook jobs --json | jq '.[].title'
    """
