"""What the commands share: the data folder option, and the application on it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
from flask import Flask

from ..app import create_app
from ..state import state_of
from ..store.models import db

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
    app = create_app({"DATA_FOLDER": data, **settings})
    try:
        with app.app_context():
            try:
                yield app
            finally:
                db.engine.dispose()  # the last connection to close folds the write-ahead log in
    finally:
        state_of(app).close()
