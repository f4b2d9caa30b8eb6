"""``fallbook grading-limits``."""

import json
from pathlib import Path

import click

from .. import grading_file, tables
from ..errors import AppError
from .common import counted


@click.command("grading-limits")
@click.argument("file", required=False, type=click.Path(path_type=Path))
def grading_limits(file: Path | None) -> None:
    """Check a firm's own limits of the condition classes, or print those in use as a start for them.

    Every fault is named by its row.  The setting FALLBOOK_GRADING names the file that the server, the packs
    and the phones then use in place of Fallbook's indicative limits.  Exit code 1 if it cannot be used.

    \b
    Example: fallbook grading-limits > ours.json; fallbook grading-limits ours.json
    """
    if file is None:
        click.echo(json.dumps(tables.load("grading_limits"), indent=1, ensure_ascii=False))
        return
    scheme = grading_file.parse(file)
    faults = grading_file.check(scheme)
    for fault in faults:
        click.echo(f"faulty: {fault}", err=True)
    if faults:
        raise AppError("grading_limits_faulty", f"{counted(len(faults), 'fault')}, listed above.")
    codes = {row["code"] for row in scheme["rows"]}
    click.echo(f"{scheme['name']}: {counted(len(scheme['rows']), 'row')} for {counted(len(codes), 'code')}.")
    own = {row["code"] for row in tables.shipped("observation_codes")["rows"]}
    for code in sorted(codes - own):
        click.echo(f"note: {code} is not in the code table; it is a code of your own.")
    left = {r["code"] for r in tables.shipped("grading_limits")["rows"]} - codes
    for code in sorted(left):
        click.echo(f"note: nothing is said of {code}: such observations stay ungraded.")
    click.echo("The limits can be used.")
