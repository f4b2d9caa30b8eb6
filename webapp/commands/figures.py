"""``fallbook figures``."""

import click

from .options import JobOrFile, data_option, json_option


@click.command()
@click.argument("job", type=JobOrFile())
@json_option
@data_option
def figures() -> None:
    """Print every computed figure of a job, each with its unit and how it is known.

    Per run: hazards and what could be seen, instruments, levels, level ties, readings beyond the range,
    falls, standing water, capacities with the bottleneck, the trace, condition classes and what to do next;
    then what is wrong or could not be computed.  JOB is a job file, a folder that holds job.json, a pack, an
    exchange file, - for standard input, or a job in the data folder: its title, its reference, the beginning
    of its id.

    \b
    Example: fallbook figures sample_jobs/school_foul_drain
    """
