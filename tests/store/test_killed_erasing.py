"""The eraser and the cleaning, killed before each of their steps: all of an act is done or none of it."""

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from api.test_erasures import POISON, a_job, job_file, undo
from servers import Server, entry, erase
from store.killed_at import Killer
from store.test_cleaning import half

from webapp.erasing import clearing
from webapp.timesource import new_id
from webapp.web.state import state_of


@pytest.fixture(scope="module")
def killer():
    one = Killer()
    yield one
    one.close()


@pytest.fixture(scope="module")
def ground(tmp_path_factory):
    """A folder of which something is hidden, what a job file was before, and what it is with it hidden."""
    folder, job_id = tmp_path_factory.mktemp("erasing") / "data", new_id()
    server = Server(folder)
    made = a_job(server, job_id)
    server.fates([entry(job_id, "writer-cccc", 1, "remark", {"text": "stays"})])
    whole = job_file(server, job_id)
    acts = [erase(server, job_id, "record", made["note"]), erase(server, job_id, "photo", made["sha256"])]
    hidden = job_file(server, job_id)
    server.close()
    return {"folder": folder, "job_id": job_id, "made": made, "whole": whole, "hidden": hidden, "acts": acts}


def chosen(steps):
    """Return the steps to kill it at: within the first transaction, at each commit, and just after it.

    ``FALLBOOK_EVERY_STEP=1`` tries every one.
    """
    if os.environ.get("FALLBOOK_EVERY_STEP"):
        return range(1, len(steps) + 1)
    commits = [n for n, name in enumerate(steps, 1) if name == "commit"]
    files = [n for n, name in enumerate(steps, 1) if name in ("unlink", "replace")]
    return sorted({3, *commits, *(n + 1 for n in commits), *(n + 1 for n in files[:2])} - {len(steps) + 1})


def each_step(killer, source, place, *words):
    """Run a command on copies of a folder, each killed at another step, and yield each; the last is done."""
    shutil.copytree(source, place / "whole")
    steps = killer.steps(place / "steps", *words, "--data", place / "whole")
    assert "commit" in steps and len(steps) > 5, "nothing was tried"
    yield 0, place / "whole", False
    for step in chosen(steps):
        folder = place / str(step)
        shutil.copytree(source, folder)
        assert killer.run(step, *words, "--data", folder), "it had fewer steps this time"
        yield step, folder, True
        shutil.rmtree(folder)


def states(folder):
    with closing(sqlite3.connect(folder / "fallbook.sqlite")) as connection:
        return dict(connection.execute("SELECT id, state FROM erasure").fetchall())


def photo_states(folder):
    with closing(sqlite3.connect(folder / "fallbook.sqlite")) as connection:
        return dict(connection.execute("SELECT sha256, state FROM erased_photo").fetchall())


def photo_file(folder, ground):
    sha256 = ground["made"]["sha256"]
    return Path(folder) / "photos" / sha256[:2] / sha256


def test_an_expunge_is_done_whole_or_not_at_all(killer, ground, tmp_path):
    act, seen = ground["acts"][1], set()
    for step, folder, _ in each_step(killer, ground["folder"], tmp_path, "erase", "--expunge", act["id"]):
        state = states(folder)[act["id"]]
        seen.add(state)
        if photo_states(folder).get(ground["made"]["sha256"]) == "gone":
            assert not photo_file(folder, ground).exists(), step
        server = Server(folder)
        assert job_file(server, ground["job_id"]) == ground["hidden"], step
        if state == "quarantined":
            assert [undo(server, one).status_code for one in ground["acts"]] == [200, 200], step
            assert job_file(server, ground["job_id"]) == ground["whole"], step
            media = server.client.get(f"/media/photos/{ground['made']['sha256']}")
            assert media.data == ground["made"]["data"], step
        else:
            with server.app.app_context():
                assert clearing.clear(folder, state_of(server.app).photos.place), step
            assert undo(server, ground["acts"][0]).status_code == 200, step
            check_gone(server, folder, ground)
        server.close()
    assert seen == {"quarantined", "expunged"}


def check_gone(server, folder, ground):
    held = [path.read_bytes() for path in folder.rglob("*") if path.is_file()]
    for gone in (ground["made"]["data"], b"the face"):
        assert not any(gone in data for data in held)
    there = job_file(server, ground["job_id"])
    assert all(stays in there for stays in (POISON.encode(), b"stays", b"fine")), "the other act was undone"


def test_an_undo_brings_back_all_or_nothing(killer, ground, tmp_path):
    act, seen = ground["acts"][1], set()
    for step, folder, _ in each_step(killer, ground["folder"], tmp_path, "erase", "--undo", act["id"]):
        state = states(folder)[act["id"]]
        seen.add(state)
        assert photo_file(folder, ground).read_bytes() == ground["made"]["data"], step
        server = Server(folder)
        for one in ground["acts"]:
            if states(folder)[one["id"]] == "quarantined":
                assert undo(server, one).status_code == 200, step
        assert job_file(server, ground["job_id"]) == ground["whole"], step
        server.close()
    assert seen == {"quarantined", "undone"}


def test_an_erasure_hides_all_or_nothing(killer, ground, tmp_path):
    words = ("erase", ground["job_id"], "--writer", "writer-aaaa", "--reason", "on request", "--days", "0")
    seen = set()
    for step, folder, _ in each_step(killer, ground["folder"], tmp_path, *words):
        done = [
            state for act, state in states(folder).items() if act not in {a["id"] for a in ground["acts"]}
        ]
        server = Server(folder)
        there = job_file(server, ground["job_id"])
        assert done in ([], ["expunged"]), step
        assert (there == ground["hidden"]) is (done == []) and (b"Mill Lane" in there) is (done == []), step
        assert b"stays" in there and b"fine" in there
        seen.add(bool(done))
        server.close()
    assert seen == {True, False}


def test_a_cleaning_writes_down_whatever_it_takes_and_ends_what_was_broken_off(killer, ground, tmp_path):
    source, job_id = tmp_path / "source", ground["job_id"]
    shutil.copytree(ground["folder"], source)
    server = Server(source, KEEP_AUDIT_DAYS="30")
    halves = [half(server, letter * 40) for letter in (b"x", b"y")]
    server.close()
    with closing(sqlite3.connect(source / "fallbook.sqlite")) as connection:
        connection.execute("UPDATE audit SET at = '2020-01-01T00:00:00.000+00:00' WHERE action = 'sent'")
        old_lines = connection.execute("SELECT count(*) FROM audit WHERE action = 'sent'").fetchone()[0]
        connection.execute("INSERT INTO invitation (code_sha256, name, role, made_at, expires_at) "
                           "VALUES ('c', 'old', 'surveyor', '2020', '2020')")  # fmt: skip
        connection.commit()
    packs = [source / "packs" / f"{name}.zip" for name in "ab"]
    for path in packs:
        path.write_bytes(b"pack")
    for path in (*packs, *(source / "photos" / h[:2] / f"{h}.part" for h in halves)):
        os.utime(path, (0, 0))
    cleaner = Killer(FALLBOOK_KEEP_AUDIT_DAYS="30")
    for step, folder, killed in each_step(cleaner, source, tmp_path / "at", "clean"):
        left = [sorted((folder / "packs").iterdir()), list((folder / "photos").rglob("*.part"))]
        with closing(sqlite3.connect(folder / "fallbook.sqlite")) as connection:
            told = connection.execute("SELECT detail FROM audit WHERE action = 'cleaned'").fetchall()
            rows = connection.execute("SELECT (SELECT count(*) FROM audit WHERE action = 'sent'), "
                                      "(SELECT count(*) FROM invitation)").fetchone()  # fmt: skip
        assert rows == ((0, 0) if told else (old_lines, 1)), step
        assert told or [len(files) for files in left] == [2, 2], f"{step}: taken, and not written down"
        assert killed or [len(files) for files in left] == [0, 0], step
        if not any(left):
            continue
        assert not cleaner.run(10_000, "clean", "--data", folder)
        assert not list((folder / "packs").iterdir()) and not list((folder / "photos").rglob("*.part")), step
        again = Server(folder)
        assert job_file(again, job_id) == ground["hidden"], step
        again.close()
    cleaner.close()
