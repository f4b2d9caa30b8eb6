"""``fallbook grading-limits``."""

from pathlib import Path

import click

from .options import json_option


@click.command("grading-limits")
@click.argument("file", required=False, type=click.Path(path_type=Path, allow_dash=True))
@json_option
def grading_limits() -> None:
    """Check a firm's own limits of the condition classes, or print those in use as a start for them.

    Every fault is named by its row.  The setting FALLBOOK_GRADING names the file that the server, the packs
    and the phones then use in place of Fallbook's indicative limits.  FILE may be - for standard input.
    Exit code 1 if it cannot be used.

    \b
    Example: fallbook grading-limits > ours.json; fallbook grading-limits ours.json
    """
