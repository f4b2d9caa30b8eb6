"""``fallbook sample list``, ``show`` and ``copy``."""

from pathlib import Path

import click

from .options import Folder, SampleName, json_option, quiet_option


@click.command("list")
@json_option
def list_() -> None:
    """List the sample jobs.  All of them are invented: sites, names and pictures.

    \b
    Example: fallbook sample list
    """


@click.command()
@click.argument("name", type=SampleName())
@json_option
def show() -> None:
    """Say what a sample job holds.

    \b
    Example: fallbook sample show school_foul_drain
    """


@click.command()
@click.argument("name", type=SampleName())
@click.option("-o", "--out", type=Folder(), help="The folder to write it into (default: its name).")
@quiet_option
def copy() -> None:
    """Write a sample job out as a job file with its photos, into a folder that is new or empty.

    \b
    Example: fallbook sample copy school_foul_drain -o school
             fallbook pack school -o school.zip
    """


@click.command(hidden=True)
@click.argument("name", required=False)
@click.option("-o", "--out", type=click.Path(path_type=Path))
@click.option("--list", "list_only", is_flag=True)
def earlier() -> None:
    """The command before it was a group: without a name it lists, with one it copies."""
