"""``fallbook codes``."""

from pathlib import Path

import click

from .options import json_option


@click.command("codes")
@click.argument("file", required=False, type=click.Path(path_type=Path, allow_dash=True))
@click.option("--find", "words", metavar="WORDS", help="Find codes by plain words.")
@click.option("--read", "written", metavar="TEXT", help="Say what a written observation means.")
@json_option
def observation_codes() -> None:
    """Check a client's own file of observation codes, or list the codes in use.

    Every fault is named by its row.  The setting FALLBOOK_CODES names the file whose codes the server, the
    packs and the phones then know besides those of the standard.  FILE may be - for standard input.  Exit
    code 1 if it cannot be used.

    \b
    Example: fallbook codes client_codes.json
             fallbook codes --find "crack round the pipe"
             fallbook codes --read "BAB B A 3 mm at 10-2 joint"
    """
