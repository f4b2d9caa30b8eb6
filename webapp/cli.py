"""The ``fallbook`` command.

Nothing but click is loaded before it is known which command is meant: see commands/registry.py.
"""

import sys
from typing import Any

import click

from .commands.failing import one_line_failures
from .commands.groups import Root


class Commands(Root):
    """All commands, whose failures are one clear line with a stable code."""

    def main(self, *args: Any, **more: Any) -> Any:
        """Run the command line; what click would tell in its own way on the last steps is one line too."""
        with one_line_failures():
            code = super().main(*args, **{**more, "standalone_mode": False})
        sys.exit(code if isinstance(code, int) else 0)

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """Read the first words.  The command goes by one name, however it was started."""
        with one_line_failures():
            return super().make_context("fallbook", args, parent, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        with one_line_failures():
            return super().invoke(ctx)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="fallbook", prog_name="fallbook")
def main() -> None:
    """Fallbook: the field book of a camera-crawler surveyor.

    \b
    Start here:
      fallbook demo     sample jobs in a folder of their own, and the server
      fallbook serve    the server on your own data folder

    Exit codes: 0 done, 1 what was checked is bad or it could not be done, 2 the call or its input is wrong,
    130 stopped with Ctrl-C.  An error is one line with a stable code.
    """


if __name__ == "__main__":
    main()
