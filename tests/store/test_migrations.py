"""Migrations: up from empty they make what the models say, and they lose nothing."""

import shutil
import sqlite3

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from flask_migrate import downgrade
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
        migrate.upgrade()
        with reading() as connection:
            assert set(inspect(connection).get_table_names()) == {
                "alembic_version",
                "entry",
                "clash",
                "change",
                "photo",
                "photo_remark",
                "device",
                "invitation",
                "client_link",
                "writer_owner",
                "device_job",
                "audit",
                "erasure",
                "erased_entry",
                "erased_photo",
                "server_key",
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


REBUILD = """
import sqlalchemy as sa
from alembic import op
revision, down_revision, branch_labels, depends_on = "next", "{newest}", None, None


def upgrade():
    with op.batch_alter_table("photo", recreate="always") as batch:
        batch.add_column(sa.Column("note", sa.Text()))
    if {fail}:
        raise RuntimeError("half-way")


def downgrade():
    pass
"""


def with_children(server, tmp_path, *, fail):
    """A next revision that rebuilds a table which another one points at, and rows in both."""
    folder = tmp_path / "migrations"
    shutil.copytree(migrate.DIRECTORY, folder)
    text_of = REBUILD.replace("{fail}", str(fail)).replace("{newest}", migrate.known_revisions()[0])
    (folder / "versions" / "next_rebuild.py").write_text(text_of)
    with writing() as connection:
        photo = "sha256 REFERENCES photo (sha256) ON DELETE CASCADE"
        connection.execute(text(f"CREATE TABLE child (id INTEGER PRIMARY KEY, {photo})"))
        connection.execute(text("INSERT INTO photo VALUES ('a', 1, 'image/png', 'now')"))
        connection.execute(text("INSERT INTO child VALUES (1, 'a'), (2, 'a')"))
    return folder


def count(table):
    with reading() as connection:
        return connection.execute(text(f"SELECT count(*) FROM {table}")).scalar()


def test_a_rebuilt_table_takes_no_other_rows_with_it(server, tmp_path):
    with server.app.app_context():
        migrate.upgrade(with_children(server, tmp_path, fail=False))
        assert (count("photo"), count("child")) == (1, 2)
        with reading() as connection:
            assert "note" in {c["name"] for c in inspect(connection).get_columns("photo")}
            assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1


def test_a_migration_that_fails_leaves_no_trace(server, tmp_path):
    with server.app.app_context():
        with pytest.raises(RuntimeError, match="half-way"):
            migrate.upgrade(with_children(server, tmp_path, fail=True))
        newest = migrate.known_revisions()[0]
        assert (count("photo"), count("child"), migrate.current_revision()) == (1, 2, newest)
        with reading() as connection:
            assert "note" not in {c["name"] for c in inspect(connection).get_columns("photo")}


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
def test_the_database_syncs_every_commit(tmp_path, pragma, value):
    server = Server(tmp_path / "data", anew=True)
    with server.app.app_context(), reading() as connection:
        assert connection.execute(text(f"PRAGMA {pragma}")).scalar() == value
    server.close()


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
    from webapp.store import entry_rows

    def half(connection, rows):
        connection.execute(entry_rows.insert(entry_rows.ENTRY), rows[:2])
        raise RuntimeError("power cut")

    monkeypatch.setattr(entry_rows, "add", half)
    assert server.sync(entries(job_id, "writer-aaaa", 1, 4)).status_code == 500
    assert server.all_rows()["entry"] == []


def test_database_urls(tmp_path):
    def url(setting):
        return str(database_url(setting, tmp_path))

    assert url(None).endswith("/fallbook.sqlite")
    for old in ("postgres://u@h/d", "postgresql://u@h/d"):
        assert url(old) == "postgresql+psycopg://u@h/d"
    assert url("sqlite:////x.sqlite") == "sqlite:////x.sqlite"


def test_tuning_leaves_other_databases_alone():
    class Other:
        class dialect:
            name = "postgresql"

    assert tune(Other()) is None
