"""Commands that only read work from a disk that can only be read, log and all, and leave nothing there."""

import json
import os
import shutil
import sqlite3
import sys

import pytest
from cli_ground import JOB_ID, TITLE, ground
from command_runner import ROOT
from forked_calls import HERE, make_calls

CALLS = {
    "jobs": ("jobs", "--json"),
    "check-data": ("check-data",),
    "backup": ("backup", "{out}"),
    "pack": ("pack", JOB_ID, "-o", "{out}.zip"),
    "export": ("export", JOB_ID, "-o", "{out}.json"),
    "figures": ("figures", JOB_ID),
    "salvage": ("salvage", "{out}"),
}
FORKED = str(HERE / "forked_calls.py")
SPOILT = ("Drain that is only in the log", "title")


@pytest.fixture(scope="module")
def place():
    with ground() as one:
        yield one


def killed(place):
    """A data folder as a server leaves it that was killed: what came last is in the log only."""
    data = place.data()
    connection = sqlite3.connect(data / "fallbook.sqlite", isolation_level=None)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("UPDATE device SET name = 'only in the log'")
    target = place.new("killed")
    shutil.copytree(data, target)
    connection.close()
    assert (target / "fallbook.sqlite-wal").stat().st_size > 0
    return target


def folded(place):
    return place.data()


def without_index(place):
    target = killed(place)
    (target / "fallbook.sqlite-shm").unlink()
    return target


def names(folder):
    return sorted((str(p.relative_to(folder)), p.is_file() and p.read_bytes()) for p in folder.rglob("*"))


@pytest.mark.parametrize("make", [folded, killed, without_index])
@pytest.mark.parametrize("name", CALLS)
def test_by_its_mode(place, make, name):
    data, out = make(place), place.new("out")
    before = names(data)
    for path in (*data.rglob("*"), data):
        path.chmod(0o555 if path.is_dir() else 0o444)
    words = [word.format(out=out) for word in CALLS[name]]
    done = place.runner.run([*words, "--data", data])
    assert done.code == 0, done
    assert "Traceback" not in done.stderr
    assert names(data) == before
    if name == "jobs":
        assert [job["title"] for job in json.loads(done.stdout)] == [TITLE]
    if name == "backup" and make is not folded:
        connection = sqlite3.connect(out / "fallbook.sqlite")
        assert connection.execute("SELECT name FROM device WHERE role = 'surveyor'").fetchall() == [
            ("only in the log",)
        ]
        connection.close()


READ_ONLY = """
mount --bind "$1" "$1" && mount -o remount,bind,ro "$1" || exit 99
shift
exec "$@"
"""


@pytest.mark.parametrize("make", [folded, killed, without_index])
def test_on_a_disk_that_is_mounted_to_be_read(place, make):
    """A mount of its own, where the system lets a user make one; there root may not write either."""
    data = make(place)
    # As a server that was killed leaves it, every command; else those that look at the least and the most.
    names = list(CALLS) if make is killed else ["jobs", "backup"]
    calls = [[word.format(out=place.new("out")) for word in CALLS[name]] + ["--data", data] for name in names]
    streams = place.new("streams")
    streams.mkdir()
    start, made = make_calls(
        calls,
        streams,
        start=["unshare", "-Urm", "sh", "-c", READ_ONLY, "sh", str(data), sys.executable, FORKED],
        env={**os.environ, "PYTHONPATH": str(ROOT), "HOME": str(place.folder / "home")},
    )
    if start.returncode == 99 or b"unshare" in start.stderr:
        pytest.skip(f"this system makes no mounts for a user: {start.stderr}")
    assert len(made) == len(calls), start.stderr
    for words, code, out, errors in made:
        assert code == 0, (words, out, errors)


@pytest.mark.parametrize("name", [name for name in CALLS if name != "jobs"])
def test_a_photo_and_a_folder_that_may_not_be_read_bring_no_traceback(place, name):
    data, out = place.data(), place.new("out")
    photo, other = sorted(p for p in (data / "photos").rglob("*") if len(p.name) == 64)[:2]
    photo.chmod(0)
    other.parent.chmod(0)
    done = place.runner.run([*(word.format(out=out) for word in CALLS[name]), "--data", data])
    other.parent.chmod(0o755)
    assert "Traceback" not in done.stderr and "[unexpected]" not in done.stderr, done
    if name in ("check-data", "backup", "salvage"):
        assert done.code == 1 and photo.name in done.stderr and other.name in done.stderr, done
    if name in ("export", "figures"):
        assert done.code == 0, done
