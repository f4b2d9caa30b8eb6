"""The ``fallbook`` command.  Exit codes: 0 done, 1 what was checked is bad, 2 wrong call or input.

Nothing but click is loaded before it is known which command is meant: see commands/registry.py.
"""

import sys
from typing import Any

import click

from .commands.groups import Root
from .errors import AppError

# What was looked at is bad, rather than the way it was asked for.
BAD = {
    "pack_mismatch",
    "grading_limits_faulty",
    "codes_faulty",
    "written_unreadable",
    "data_damaged",
    "zip_damaged",
    "report_failed",
    "server_fault",
    "backup_incomplete",
}


class Commands(Root):
    """All commands, whose failures are one clear line with a stable code."""

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """Go by the one name, however it was started."""
        return super().make_context("fallbook", args, parent, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        try:
            return super().invoke(ctx)
        except AppError as error:
            where = f"{error.field}: " if error.field and error.code == "request_malformed" else ""
            click.echo(f"fallbook: {where}{error.sentence} [{error.code}]", err=True)
            sys.exit(1 if error.code in BAD else 2)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="fallbook", prog_name="fallbook")
def main() -> None:
    """Fallbook: the field book of a camera-crawler surveyor.

    \b
    Start here:
      fallbook demo     sample jobs in a folder of their own, and the server
      fallbook serve    the server on your own data folder

    Exit codes: 0 done, 1 what was checked is bad, 2 the call or its input is wrong.
    """


if __name__ == "__main__":
    main()
