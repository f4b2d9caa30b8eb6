"""``fallbook codes``."""

from pathlib import Path
from typing import Any

import click

from .. import codes_file, tables
from ..errors import AppError
from ..survey import code_search, code_text, codes, findings
from .common import counted


@click.command("codes")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--find", "words", metavar="WORDS", help="Find codes by plain words.")
@click.option("--read", "written", metavar="TEXT", help="Say what a written observation means.")
def observation_codes(file: Path | None, words: str | None, written: str | None) -> None:
    """Check a client's own file of observation codes, or list the codes in use.

    Every fault is named by its row.  The setting FALLBOOK_CODES names the file whose codes the server, the
    packs and the phones then know besides those of the standard.  Exit code 1 if it cannot be used.

    \b
    Example: fallbook codes client_codes.json
             fallbook codes --find "crack round the pipe"
             fallbook codes --read "BAB B A 3 mm at 10-2 joint"
    """
    if file is not None:
        table = _checked(file)
    else:
        table = tables.load("observation_codes")
    if written is not None:
        _tell(table, written)
    elif words is not None:
        for row in code_search.search_codes(table, words, 5):
            click.echo(f"{row['code'] or '-':8} {row['title']}")
    elif file is None:
        for row in table["rows"]:
            whose = f"  [{row['client']}]" if "client" in row else ""
            click.echo(f"{row['code']:8} {row['title']}{whose}")


def _checked(file: Path) -> dict[str, Any]:
    own = codes_file.parse(file)
    faults = codes_file.check(own)
    for fault in faults:
        click.echo(f"faulty: {fault}", err=True)
    if faults:
        raise AppError("codes_faulty", f"{counted(len(faults), 'fault')}, listed above.")
    table = codes_file.merged(tables.shipped("observation_codes"), own)
    replaced = [row["code"] for row in own["rows"] if row.get("replaces")]
    click.echo(f"{own['client']}: {counted(len(own['rows']), 'code')}.")
    for code in replaced:
        click.echo(f"note: {code} takes the place of the code of the standard.")
    for row in own["rows"]:
        if not row.get("search_words"):
            click.echo(
                f"note: {row['code']} has no search_words; it is found by its title and its code only."
            )
    click.echo("The codes can be used.")
    return table


def _tell(table: dict[str, Any], written: str) -> None:
    rows = table["rows"]
    found = code_text.read_code(rows, written)
    for name, value in found["fields"].items():
        row = codes.find_code(rows, str(value)) if name == "code" else None
        title = f" ({row['title']})" if row else ""
        parts = [f"{k} {v}" for k, v in value.items()] if isinstance(value, dict) else [value]
        click.echo(f"{name}: {', '.join(map(str, parts))}{title}")
    sentences = tables.load("findings")["rows"]
    for one in found["faults"]:
        click.echo(f"cannot be read: {findings.sentence(sentences, one)}")
    for one in codes.check_observation(rows, found["fields"]):
        click.echo(f"note: {findings.sentence(sentences, one)}")
    if found["faults"]:
        raise AppError("written_unreadable", f"{counted(len(found['faults']), 'part')}, listed above.")
