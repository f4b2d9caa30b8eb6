"""Migrations: up from empty they make what the models say, and they lose nothing."""

import sqlite3

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from flask_migrate import downgrade, upgrade
from servers import Server, entries
from sqlalchemy import inspect, text

from webapp.errors import AppError
from webapp.store import migrate
from webapp.store.engine import database_url, reading, tune, writing
from webapp.store.models import db


def test_up_from_empty_equals_the_models(server):
    with server.app.app_context(), db.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "render_as_batch": True})
        assert compare_metadata(context, db.metadata) == []
        assert migrate.current_revision() == migrate.known_revisions()[0]


def test_a_difference_would_be_seen(server):
    with server.app.app_context():
        with writing() as connection:
            connection.execute(text("ALTER TABLE photo DROP COLUMN media_type"))
        with db.engine.connect() as connection:
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            assert compare_metadata(context, db.metadata) != []


def test_all_the_way_down_and_up_again(server):
    with server.app.app_context():
        downgrade(directory=str(migrate.DIRECTORY), revision="base")
        with reading() as connection:
            assert set(inspect(connection).get_table_names()) == {"alembic_version"}
        upgrade(directory=str(migrate.DIRECTORY))
        with reading() as connection:
            assert set(inspect(connection).get_table_names()) == {
                "alembic_version",
                "entry",
                "clash",
                "photo",
            }


def test_opening_again_keeps_everything(server, job_id, tmp_path):
    server.fates(entries(job_id, "writer-aaaa", 1, 30))
    before = server.all_rows()
    server.close()
    again = Server(server.folder)
    try:
        assert again.all_rows() == before
    finally:
        again.close()


def test_a_rebuilt_table_keeps_its_rows(server, job_id):
    """What batch mode does to SQLite tables, with foreign keys on."""
    server.fates(entries(job_id, "writer-aaaa", 1, 5))
    with server.app.app_context(), reading() as connection:
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1
    source = (migrate.DIRECTORY / "env.py").read_text()
    assert "PRAGMA foreign_keys=OFF" in source and "foreign_key_check" in source


def test_a_folder_of_a_newer_version_is_refused_and_left_alone(server, tmp_path):
    with server.app.app_context(), writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    server.close()
    before = (server.folder / "fallbook.sqlite").read_bytes()
    with pytest.raises(AppError) as caught:
        Server(server.folder)
    assert caught.value.code == "folder_newer"
    assert (server.folder / "fallbook.sqlite").read_bytes() == before
    with pytest.raises(AppError) as caught:
        Server(server.folder)
    assert caught.value.code == "folder_newer", "the lock was given free"


def test_a_file_that_is_no_database_is_called_damaged(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / "fallbook.sqlite").write_bytes(b"this is no database at all, however long it may be" * 40)
    with pytest.raises(AppError) as caught:
        Server(folder)
    assert caught.value.code == "data_damaged"


def test_a_second_server_is_refused(server):
    with pytest.raises(AppError) as caught:
        Server(server.folder)
    assert caught.value.code == "folder_in_use"


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", 10000)],
)
def test_the_database_syncs_every_commit(server, pragma, value):
    with server.app.app_context(), reading() as connection:
        assert connection.execute(text(f"PRAGMA {pragma}")).scalar() == value


def test_a_write_takes_the_lock_at_once_and_a_read_takes_none(server):
    with server.app.app_context():
        with reading() as connection:
            connection.execute(text("SELECT count(*) FROM entry"))
            other = sqlite3.connect(server.folder / "fallbook.sqlite", timeout=0, isolation_level=None)
            other.execute("BEGIN IMMEDIATE")
            other.execute("ROLLBACK")
        with writing(), pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        other.close()


def test_a_failure_inside_a_write_leaves_nothing(server, job_id, monkeypatch):
    from webapp.store import entries as store

    def half(connection, rows):
        connection.execute(store.insert(store.ENTRY), rows[:2])
        raise RuntimeError("power cut")

    monkeypatch.setattr(store, "add", half)
    assert server.sync(entries(job_id, "writer-aaaa", 1, 4)).status_code == 500
    assert server.all_rows()["entry"] == []


def test_database_urls(tmp_path):
    assert database_url(None, tmp_path).endswith("/fallbook.sqlite")
    for old in ("postgres://u@h/d", "postgresql://u@h/d"):
        assert database_url(old, tmp_path) == "postgresql+psycopg://u@h/d"
    assert database_url("sqlite:////x.sqlite", tmp_path) == "sqlite:////x.sqlite"


def test_tuning_leaves_other_databases_alone():
    class Other:
        class dialect:
            name = "postgresql"

    assert tune(Other()) is None
