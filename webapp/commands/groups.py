"""Groups that know their commands from the registry and load one only when it is used."""

from collections.abc import Mapping
from typing import Any

import click
from click.shell_completion import CompletionItem

from ..messages import any_of, listed, t
from .loading import declared, when_called
from .registry import EARLIER, GROUPS, OLD_NAMES, ROWS, SECTIONS, Row


class LazyGroup(click.Group):
    """A group of the commands in ``rows``, by their last word."""

    def __init__(
        self,
        name: str | None = None,
        *,
        rows: Mapping[str, Row],
        earlier: Row | None = None,
        **attributes: Any,
    ) -> None:
        """``earlier`` is the command of this name before it was a group: it takes what is no command."""
        super().__init__(name, subcommand_metavar="COMMAND ...", no_args_is_help=False, **attributes)
        self.rows, self.earlier = rows, earlier

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words; a group alone is told what it takes."""
        if self.earlier and (not args or args[0] not in (*self.rows, "-h", "--help")):
            args = [self.earlier.words, *args]
        if not args and not ctx.resilient_parsing:
            raise click.UsageError(t("cli.takes_one_of", commands=listed(self.rows)), ctx)
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names, in the order of the registry."""
        return list(self.rows)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, loaded now."""
        row = self.earlier if self.earlier and cmd_name == self.earlier.words else self.rows.get(cmd_name)
        return load(row) if row else None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that ``args`` begin with; an unknown one is told with those that are close."""
        if not args[0].startswith("-") and self.get_command(ctx, args[0]) is None:
            raise click.UsageError(
                t(
                    "cli.no_command", command=f"{args[0]!r}", near=near(args[0], self.list_commands(ctx))
                ).strip(),
                ctx,
            )
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write one whole line a command, from the registry."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, row.summary) for name, row in self.rows.items()])

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Return the names that go on from ``incomplete``, from the registry."""
        return [
            CompletionItem(name, help=row.summary)
            for name, row in self.rows.items()
            if name.startswith(incomplete)
        ]


class Root(LazyGroup):
    """All commands: under headings, groups among them, old names answered but not listed."""

    def __init__(self, name: str | None = None, **attributes: Any) -> None:
        own = {row.words: row for row in ROWS if " " not in row.words}
        super().__init__(name, rows=own, **attributes)
        self.groups = {
            name: LazyGroup(name, rows=rows_of(name), earlier=EARLIER.get(name), help=about)
            for name, about in GROUPS.items()
        }
        self.old = {row.words: row for row in OLD_NAMES}

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words; without any, and after `help`, the help is what is wanted."""
        if not args or args[0] == "help":
            args = [*args[1:], "--help"]
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the first words of all commands, in the order of the registry."""
        return list(dict.fromkeys(row.words.split()[0] for row in ROWS))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a group, or a command, loaded now; old names count."""
        if cmd_name in self.groups:
            return self.groups[cmd_name]
        if row := self.old.get(cmd_name):
            return load(row)
        return super().get_command(ctx, cmd_name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write one whole line a command, under the headings of the registry."""
        width = max(len(row.words) for row in ROWS)
        for section in SECTIONS:
            with formatter.section(section.heading):
                formatter.write_dl([(row.words.ljust(width), row.summary) for row in section.rows])

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Return the first words that go on from ``incomplete``."""
        about = {row.words: row.summary for row in ROWS} | GROUPS
        return [CompletionItem(n, help=about[n]) for n in self.list_commands(ctx) if n.startswith(incomplete)]


def rows_of(group: str) -> dict[str, Row]:
    """Return the rows of a group by their last word."""
    return {row.words.split()[1]: row for row in ROWS if row.words.startswith(f"{group} ")}


def load(row: Row) -> click.Command:
    """Return the command of a row as it is declared; what it does is loaded when it is called."""
    found = declared(row.target)
    assert isinstance(found, click.Command), row
    found.callback = when_called(row.target)
    return found


def near(word: str, names: list[str]) -> str:
    """Return the sentence that names what ``word`` may have been meant for; empty where nothing is close."""
    from difflib import get_close_matches

    found = get_close_matches(word, names, cutoff=0.6)
    return t("cli.did_you_mean", names=any_of(found)) if found else ""
