"""What the commands share: their common options, the application on a data folder, a job from anywhere."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..messages import t
from . import infile
from .output import note, one_line

if TYPE_CHECKING:
    from flask import Flask

    TextType = click.ParamType[str]
else:
    TextType = click.ParamType  # earlier releases of click know no parameter of it

PATHS = ("/", "./", "../", "~")  # a slash further on may be part of a reference
SUFFIXES = (".json", ".zip", ".txt")
Command = Callable[..., Any]
TO_READ = {"LOCK_FOLDER": False, "MIGRATE": False}  # beside a running server, changing nothing
BESIDE = {"LOCK_FOLDER": False}  # beside a running server, each change one short transaction


class Folder(click.Path):
    """A folder; - is none."""

    def __init__(self) -> None:
        super().__init__(file_okay=False, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the path."""
        if str(value) == infile.STDIN:
            self.fail(t("cli.folder_needed"), param, ctx)
        return super().convert(value, param, ctx)


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


def counted(count: int, word: str) -> str:
    """Return a count with its word, one or many: ``count.<word>`` of the catalogue."""
    return t(f"count.{word}", n=count)


def fault_count(count: int, as_json: bool) -> str:
    """Return how many faults there are; where they are not part of a JSON result they stand above."""
    return t("cli.faults" if as_json else "cli.faults_above", n=count)


@contextmanager
def opened(data: Path | None, **settings: Any) -> Iterator["Flask"]:
    """Return the application on a data folder, inside its context, and give the folder free afterwards.

    A folder that holds nothing yet is made only where ``CREATE`` says so: a mistyped one never is.
    """
    from ..app import opened as app_opened

    with app_opened({"DATA_FOLDER": data, "CREATE": False, **settings}) as app, app.app_context():
        yield app


def note_unsound(job: dict[str, Any]) -> None:
    """Say in one line that the records of a job are not sound; nothing is stopped by it."""
    from ..jobcheck import unsound_records

    if found := unsound_records(job):
        first = f"{found[0].title}: {found[0].message}" if found[0].title else found[0].message
        note(one_line(t("cli.faults_in_records", faults=counted(len(found), "fault"), first=first)))


def is_file_name(name: str) -> bool:
    """Say whether a name is that of a file rather than of a job here: a file that is there, or a path."""
    if infile.is_stdin(name) or os.path.exists(name):
        return True
    return name.startswith(PATHS) or Path(name).suffix.lower() in SUFFIXES
