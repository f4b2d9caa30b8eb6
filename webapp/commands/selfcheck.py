"""``fallbook selfcheck``."""

from pathlib import Path

import click

from .options import json_option


@click.command()
@click.argument("files", nargs=-1, metavar="[FILE ...]", type=click.Path(path_type=Path, allow_dash=True))
@json_option
@click.option(
    "--coverage",
    is_flag=True,
    help="Simulate surveys instead: do bands and ellipses hold the truth?",
)
@click.option(
    "--surveys",
    default=2000,
    show_default=True,
    type=click.IntRange(100, 1_000_000),
    help="How many surveys --coverage simulates, of each kind.",
)
@click.option(
    "--only",
    multiple=True,
    type=click.Choice(["shares", "levels", "slips"]),
    help="Of --coverage only these: shares with the stated model, levels of broken surveys, wrong levels.",
)
@click.option(
    "--jobs",
    default=1,
    show_default=True,
    type=click.IntRange(1, 64),
    help="How many processes --coverage uses for levels and wrong levels.",
)
def selfcheck() -> None:
    """Compute reference values and compare them with what is published.

    FILE is a list of reference values as JSON, or - for standard input; without one, those that come with
    Fallbook.  Prints each
    as id, topic, computed, expected, tolerance and ok, with its source.  Topics that Fallbook does not
    compute are listed as such and count neither way.  An input that a topic does not take is an error.

    With --coverage surveys are simulated whose truth Fallbook's own model did not draw, and a table says what
    became of its bands, beside those of a simple estimator; see --only.

    Exit code 1 if one is not met, 2 if a file or one of its values cannot be read.

    \b
    Example: fallbook selfcheck --json | jq .met
    """
