"""``fallbook check``."""

import click

from .options import JobOrFile, data_option, json_option, quiet_option


@click.command()
@click.argument("job", type=JobOrFile())
@json_option
@quiet_option
@data_option
def check() -> None:
    """Check a job: all its faults, each with its place, its record and what is wrong.

    JOB is a job file, a folder that holds job.json, a pack, a hand-over file, an exchange file, - for
    standard input, or a job in the data folder.  A fault is told as file:line: place: record: sentence
    [code]; a place is a JSON pointer (RFC 6901).  Notes are worth knowing and make nothing unsound.  What is
    only unlikely, such as a reading out of order, is told by fallbook figures.

    Exit code 1 if there is a fault, 2 if JOB is no job at all.

    \b
    Example: fallbook check school/job.json
             fallbook check --json - < job.json | jq '.faults[].pointer'
    """
