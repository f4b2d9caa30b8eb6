"""What the declarations of commands share: options, and the kinds of their arguments."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.shell_completion import CompletionItem

from ..messages import t
from .loading import loaded

if TYPE_CHECKING:
    TextType = click.ParamType[str]
else:
    TextType = click.ParamType  # earlier releases of click know no parameter of it

STDIN = "-"
Command = Callable[..., Any]


class Folder(click.Path):
    """A folder; - is none."""

    def __init__(self) -> None:
        super().__init__(file_okay=False, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the path."""
        if str(value) == STDIN:
            self.fail(t("cli.folder_needed"), param, ctx)
        return super().convert(value, param, ctx)


class JobName(TextType):
    """A job of the data folder, by its id or the beginning of it, its title or its reference."""

    name = "job"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the ids of the jobs with their titles, and the titles that go on from what stands there."""
        try:
            jobs = loaded("jobs_here:jobs_of")(_data_of(ctx))
        except Exception:  # completion says nothing rather than something in the middle of a line
            return []
        start = incomplete.casefold()
        ids = [CompletionItem(j.short_id, help=j.title) for j in jobs if j.job_id.startswith(start)]
        titles = [
            CompletionItem(j.title, help=j.short_id)
            for j in jobs
            if start and j.title.casefold().startswith(start)
        ]
        return ids + titles


class JobOrFile(JobName):
    """A job of the data folder, or a file or folder that holds one; - is standard input."""

    name = "job or file"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the jobs, and let the shell go on with file names."""
        return [*super().shell_complete(ctx, param, incomplete), CompletionItem(incomplete, type="file")]


class SampleName(TextType):
    """The name of a sample job."""

    name = "name"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Return the names that go on from what stands there."""
        return [CompletionItem(n) for n in loaded("samples:folders")() if n.startswith(incomplete)]


def _data_of(ctx: click.Context) -> Path | None:
    value: Any = ctx.params.get("data")
    return Path(value) if value else None


def data_option(command: Command) -> Command:
    """Add ``--data``."""
    return click.option(
        "--data",
        type=Folder(),
        help="The data folder (default: FALLBOOK_DATA, else a folder of your account).",
    )(command)


def json_option(command: Command) -> Command:
    """Add ``--json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON, for programs.")(command)


def quiet_option(command: Command) -> Command:
    """Add ``--quiet``."""
    return click.option("-q", "--quiet", is_flag=True, help="Say nothing but errors.")(command)


def create_option(command: Command) -> Command:
    """Add ``--create``."""
    return click.option(
        "--create", is_flag=True, help="Make the data folder if there is none yet (never done unasked)."
    )(command)
