"""``fallbook schema``."""

import click

from .output import show_json


@click.command()
def schema() -> None:
    """Print the JSON Schema of the job file, every field of every kind of record with its unit.

    \b
    Example: fallbook schema > job-file.schema.json
    """
    from ..schemas.wire import job_file_schema

    show_json(job_file_schema(), indent=2)
