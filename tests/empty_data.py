"""A data folder that holds nothing yet, as this version leaves it: made once, then copied.

Half of the start of an application is to bring an empty database to the newest schema; `upgrade/` and
`store/test_migrations.py` do that for real.
"""

import functools
import os
import secrets
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from webapp import create_app
from webapp.app import close
from webapp.store.folder import DATABASE


@functools.cache
def _database() -> bytes:
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / "data"
        close(create_app({"DATA_FOLDER": folder}))
        return (folder / DATABASE).read_bytes()


def put_where_none_is(folder: Path) -> None:
    """Make a data folder with a database and a key of its own, unless something is there."""
    if folder.exists():
        return
    folder.mkdir(mode=0o700, parents=True)
    path = folder / DATABASE
    with open(os.open(path, os.O_WRONLY | os.O_CREAT, 0o600), "wb") as file:
        file.write(_database())
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous=OFF")
        connection.execute("UPDATE server_key SET secret = ?", [secrets.token_urlsafe(32)])
