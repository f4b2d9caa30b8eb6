"""The application on a data folder, for the commands that need more than SQLite."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from flask import Flask

from ... import app

TO_READ = {"LOCK_FOLDER": False, "MIGRATE": False}  # beside a running server, changing nothing
BESIDE = {"LOCK_FOLDER": False}  # beside a running server, each change one short transaction


@contextmanager
def opened(data: Path | None, **settings: Any) -> Iterator[Flask]:
    """Return the application on a data folder, inside its context, and give the folder free afterwards.

    A folder that holds nothing yet is made only where ``CREATE`` says so: a mistyped one never is.
    """
    with app.opened({"DATA_FOLDER": data, "CREATE": False, **settings}) as made, made.app_context():
        yield made
