"""``fallbook schema``."""

import json

import click

from ..jobfile import job_file_schema


@click.command()
def schema() -> None:
    """Print the JSON Schema of the job file, every field of every kind of record with its unit."""
    click.echo(json.dumps(job_file_schema(), indent=2, ensure_ascii=False))
