"""``fallbook schema``."""

import click


@click.command()
def schema() -> None:
    """Print the JSON Schema of the job file, every field of every kind of record with its unit.

    \b
    Example: fallbook schema > job-file.schema.json
    """
