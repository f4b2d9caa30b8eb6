"""What the commands share: the data folder option, and the application on it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
from flask import Flask

from ..app import opened as app_opened

Command = Callable[..., Any]


def data_option(command: Command) -> Command:
    """Add ``--data``."""
    return click.option(
        "--data",
        type=click.Path(file_okay=False, path_type=Path),
        help="The data folder (default: FALLBOOK_DATA, else a folder of your account).",
    )(command)


def counted(count: int, word: str) -> str:
    """Return a count with its word, one or many."""
    many = f"{word[:-1]}ies" if word.endswith("y") else f"{word}s"
    return f"{count:,} {word if count == 1 else many}"


@contextmanager
def opened(data: Path | None, **settings: Any) -> Iterator[Flask]:
    """Return the application on a data folder, inside its context, and give the folder free afterwards."""
    with app_opened({"DATA_FOLDER": data, **settings}) as app, app.app_context():
        yield app
