"""``fallbook erase``: the office's eraser, for those without a browser."""

import click

from .options import JobName, data_option, json_option


@click.command()
@data_option
@click.argument("job", required=False, type=JobName())
@click.option("--entry", metavar="WRITER:NUMBER", help="Erase one entry.")
@click.option("--record", metavar="ID", help="Erase every entry of one record.")
@click.option("--photo", metavar="SHA256", help="Erase a photo and what was recorded of it.")
@click.option("--writer", help="Erase all that one writer wrote in the job.")
@click.option("--whole-job", is_flag=True, help="Erase all of the job.")
@click.option("--reason", help="Why, for the audit log and for the surveyors; no personal data.")
@click.option(
    "--days",
    type=click.IntRange(0, 3650),
    default=30,
    show_default=True,
    help="For how long it can be undone; 0 expunges at once.",
)
@click.option("--preview", is_flag=True, help="Say what would go, and change nothing.")
@click.option("--list", "list_all", is_flag=True, help="List every erasure.")
@click.option("--undo", metavar="ID", help="Undo an erasure.")
@click.option("--expunge", metavar="ID", help="Expunge now what an erasure hides.")
@json_option
def erase() -> None:
    """Take an entry, a record, a photo, a writer or a job away from everybody.

    It is hidden on the server and on every phone, and can be undone until a day; then nothing of it is left.
    Backups, and packs that were handed out, are not reached.

    \b
    Example: fallbook erase "Mill Lane" --photo 1dd878f9... --reason "A face, on request"
             fallbook erase --list
             fallbook erase --undo 0190a1b2
    """
