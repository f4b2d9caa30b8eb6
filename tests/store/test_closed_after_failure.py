"""A start that fails leaves nothing of the data folder open: no connection, no lock, no file."""

import sqlite3
from pathlib import Path

import psutil
import pytest

from webapp import api, create_app
from webapp import app as factory
from webapp.errors import AppError
from webapp.store import migrate


def still_open(folder: Path) -> list[str]:
    """Return the files under a folder that this process has open."""
    inside = str(folder.resolve())
    return [f.path for f in psutil.Process().open_files() if f.path.startswith(inside)]


@pytest.fixture
def connections(monkeypatch):
    """Every SQLite connection that is made, to be asked afterwards."""
    made, connect = [], sqlite3.dbapi2.connect

    def noted(*args, **more):
        made.append(connect(*args, **more))
        return made[-1]

    monkeypatch.setattr(sqlite3.dbapi2, "connect", noted)
    return made


def is_open(connection: sqlite3.Connection) -> bool:
    try:
        connection.total_changes  # noqa: B018  it refuses once it is closed
    except sqlite3.ProgrammingError:
        return False
    return True


def broken(*_args, **_more):
    raise RuntimeError("broken on purpose")


def connects_and_is_broken():
    migrate.current_revision()
    broken()


def not_a_database(folder, _patch):
    (folder / "fallbook.sqlite").write_bytes(b"no database at all" * 500)
    return AppError, "data_damaged"


def made_by_a_newer_version(folder, _patch):
    with sqlite3.connect(folder / "fallbook.sqlite") as made:
        made.execute("UPDATE alembic_version SET version_num = 'of the future'")
    made.close()
    return AppError, "folder_newer"


def a_migration_that_fails(_folder, patch):
    patch.setattr(migrate, "upgrade", broken)
    patch.setattr(migrate, "refuse_newer", connects_and_is_broken)
    return RuntimeError, "on purpose"


def a_route_that_fails(_folder, patch):
    patch.setattr(api, "register", broken)
    return RuntimeError, "on purpose"


def photos_that_fail(_folder, patch):
    patch.setattr(factory, "photo_storage_of", broken)
    return RuntimeError, "on purpose"


def summaries_that_fail(_folder, patch):
    patch.setattr(factory, "Summaries", broken)
    return RuntimeError, "on purpose"


CASES = [
    not_a_database,
    made_by_a_newer_version,
    a_migration_that_fails,
    a_route_that_fails,
    photos_that_fail,
    summaries_that_fail,
]


@pytest.mark.parametrize("changes", [True, False], ids=["serving", "reading"])
@pytest.mark.parametrize("spoil", CASES, ids=lambda f: f.__name__)
def test_nothing_is_open_after_a_start_that_failed(tmp_path, monkeypatch, connections, spoil, changes):
    folder = tmp_path / "data"
    with factory.opened({"DATA_FOLDER": folder}):
        pass
    kind, output = spoil(folder, monkeypatch)
    connections.clear()
    with pytest.raises(kind) as caught:  # it holds every frame, so that nothing is closed by chance
        create_app({"DATA_FOLDER": folder, "LOCK_FOLDER": changes, "MIGRATE": changes})
    assert output in (getattr(caught.value, "code", ""), str(caught.value)[-10:])
    assert [c for c in connections if is_open(c)] == []
    assert still_open(tmp_path) == []


def test_the_folder_can_be_opened_once_the_fault_is_gone(tmp_path, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(migrate, "upgrade", broken)
        with pytest.raises(RuntimeError) as _caught:
            create_app({"DATA_FOLDER": tmp_path / "data"})
    with factory.opened({"DATA_FOLDER": tmp_path / "data"}):
        assert still_open(tmp_path) != [], "this way of asking sees what is open"
    assert still_open(tmp_path) == []
