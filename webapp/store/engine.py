"""How the database is spoken to: a real sync to disk for every commit, one writer at a time."""

import os
import sqlite3
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import URL, Connection, Engine, event, make_url

from ..errors import AppError
from .filelock import open_lock, unlock, wait_lock
from .models import db

_turn = threading.Lock()
_turn_file: tuple[str, int] | None = None
_files: WeakKeyDictionary[Engine, tuple[str, int, int]] = WeakKeyDictionary()


def database_url(setting: str | None, folder: Path) -> URL:
    """Return the URL for SQLAlchemy: the one set, or SQLite in the data folder, whatever that is called."""
    if not setting:
        return URL.create("sqlite", database=str(folder / "fallbook.sqlite"))
    for old in ("postgres://", "postgresql://"):
        if setting.startswith(old):
            return make_url("postgresql+psycopg://" + setting[len(old) :])
    return make_url(setting)


def for_this_user_only(engine: Engine) -> None:
    """Make a new SQLite file unreadable to others; SQLite gives its other files the mode of this one."""
    database = engine.url.database
    if engine.dialect.name == "sqlite" and database and database != ":memory:":
        with suppress(OSError):  # it is there, or cannot be: opening it will tell
            os.close(os.open(database, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))


def url_of(uri: str) -> URL:
    """Return the URL for SQLAlchemy of the URI by which SQLite opens a file."""
    name, _, mode = uri.partition("?")
    return URL.create("sqlite", database=name, query={**dict([mode.split("=")]), "uri": "true"})


def tune(engine: Engine, *, only_read: bool = False) -> None:
    """Make SQLite use WAL, sync at every commit, and begin transactions where SQLAlchemy thinks it does."""
    if engine.dialect.name != "sqlite":
        return

    @event.listens_for(engine, "connect")
    def connect(dbapi: Any, _record: Any) -> None:
        dbapi.isolation_level = None  # the driver begins no transactions; `begin` below does
        cursor = dbapi.cursor()
        cursor.execute("PRAGMA busy_timeout=10000")  # first: the others may have to wait
        if only_read:
            cursor.close()
            return
        mode = cursor.execute("PRAGMA journal_mode=WAL").fetchone()[0]
        if mode not in ("wal", "memory"):
            raise RuntimeError(f"no WAL here (journal_mode={mode}); is the data folder on a network share?")
        cursor.execute("PRAGMA synchronous=FULL")
        # 16 MB of log in place of 4: a day's entries of a phone come in without waiting for a checkpoint.
        cursor.execute("PRAGMA wal_autocheckpoint=4000")
        cursor.execute("PRAGMA fullfsync=1")  # macOS only; no effect elsewhere
        cursor.execute("PRAGMA checkpoint_fullfsync=1")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.execute("PRAGMA secure_delete=ON")  # what is deleted is overwritten
        cursor.close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("write")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN DEFERRED")


def remember_file(engine: Engine) -> None:
    """Note which file the database of an engine is: one that is gone, empty or another is not served."""
    path = _file_of(engine)
    if path:
        found = os.stat(path)
        _files[engine] = (path, found.st_dev, found.st_ino)


def check_file(engine: Engine) -> None:
    """Refuse to go on where the database is missing, empty or another file than was opened."""
    if engine not in _files:
        return
    path, device, inode = _files[engine]
    try:
        found = os.stat(path)
    except FileNotFoundError:
        found = None
    if found is None or not found.st_size or (found.st_dev, found.st_ino) != (device, inode):
        raise AppError("database_lost", f"({path})")


def _file_of(engine: Engine) -> str | None:
    database = engine.url.database
    is_file = engine.dialect.name == "sqlite" and database and not database.startswith((":memory:", "file:"))
    return database if is_file else None


@contextmanager
def _alone(engine: Engine) -> Iterator[None]:
    """Take the turn among processes that write to the same SQLite file."""
    global _turn_file
    database = engine.url.database
    if engine.dialect.name != "sqlite" or not database or database == ":memory:":
        yield
        return
    if _turn_file is None or _turn_file[0] != database:
        if _turn_file:
            os.close(_turn_file[1])
        _turn_file = (database, open_lock(Path(f"{database}-turn")))
    wait_lock(_turn_file[1])
    try:
        yield
    finally:
        unlock(_turn_file[1])


def let_go(engine: Engine) -> None:
    """Close the file by which processes take turns at this engine's database, where it is open."""
    global _turn_file
    with _turn:
        if _turn_file and _turn_file[0] == engine.url.database:
            os.close(_turn_file[1])
            _turn_file = None


@contextmanager
def writing() -> Iterator[Connection]:
    """One write transaction.  The lock is taken at once, so nothing read inside it can go stale.

    The turn, among threads and processes, is fairer than SQLite's own waiting, and keeps a checkpoint from
    ever overlapping another commit.
    """
    check_file(db.engine)
    with (
        _turn,
        _alone(db.engine),
        db.engine.connect().execution_options(write=True) as connection,
        connection.begin(),
    ):
        yield connection


def rewrite(tables: Sequence[str]) -> bool:
    """Write the database anew, so that no unused page holds what was deleted; False where it must wait.

    It waits where somebody reads all the time, or where the disk has no room for a second copy.
    """
    check_file(db.engine)
    with _turn, _alone(db.engine), db.engine.connect() as connection:
        raw = connection.execution_options(isolation_level="AUTOCOMMIT").connection.cursor()
        try:
            if db.engine.dialect.name != "sqlite":
                for table in tables:
                    raw.execute(" ".join(("vacuum", "full", table)))
                return True
            raw.execute("vacuum")
            return not raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        except Exception as error:
            if isinstance(error, (OSError, sqlite3.Error)):
                return False
            raise
        finally:
            raw.close()


@contextmanager
def reading() -> Iterator[Connection]:
    """One read transaction: everything read inside it is of the same moment."""
    check_file(db.engine)
    with db.engine.connect() as connection:
        if db.engine.dialect.name == "postgresql":  # by itself it looks anew for each statement
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        transaction = connection.begin()
        try:
            yield connection
        finally:
            transaction.rollback()  # nothing to commit, and a commit may stumble over a damaged page
