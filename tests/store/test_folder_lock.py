"""The lock of a data folder: who has it, who is kept out, and where there are no locks at all."""

import errno
import os
import subprocess
import sys
import threading
import time

import portalocker
import pytest

from webapp.errors import AppError
from webapp.store import folder_lock
from webapp.store.filelock import alone, open_lock, try_lock, unlock, wait_lock

HOLDS = """
import sys, time
from pathlib import Path
from webapp.store.folder_lock import lock
held = lock(Path(sys.argv[1]), shared=sys.argv[2] == "shared")
print("held", flush=True)
time.sleep(60)
"""


@pytest.fixture
def holder(tmp_path):
    """Return a maker of processes that hold the lock of a folder until they are killed."""
    made = []

    def hold(kind="alone"):
        command = [sys.executable, "-c", HOLDS, str(tmp_path), kind]
        made.append(subprocess.Popen(command, stdout=subprocess.PIPE, text=True))
        assert made[-1].stdout.readline() == "held\n"
        return made[-1]

    yield hold
    for one in made:
        one.kill()
        one.wait()
        one.stdout.close()


def refused(folder, **how):
    with pytest.raises(AppError) as caught:
        folder_lock.lock(folder, **how)
    return caught.value


def test_one_that_is_killed_gives_the_folder_free(holder, tmp_path):
    one = holder()
    assert refused(tmp_path).code == "folder_in_use"
    one.kill()
    one.wait()
    folder_lock.lock(tmp_path).close()


def test_those_that_share_have_it_together_and_nobody_else(holder, tmp_path):
    first, second = holder("shared"), holder("shared")
    assert refused(tmp_path).code == "folder_in_use"
    folder_lock.lock(tmp_path, shared=True).close()
    first.kill()
    first.wait()
    assert refused(tmp_path).code == "folder_in_use", "the second still has it"
    second.kill()
    second.wait()
    folder_lock.lock(tmp_path).close()


def test_who_shares_waits_a_moment_for_one_alone(monkeypatch, tmp_path, holder):
    monkeypatch.setattr(folder_lock, "SHARED_WITHIN_S", 0.2)
    holder()
    assert refused(tmp_path, shared=True).code == "folder_in_use"


def test_a_file_system_without_locks_is_not_told_as_a_folder_in_use(monkeypatch, tmp_path):
    def no_locks(_handle, _flags):
        raise portalocker.LockException("x") from OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(portalocker, "lock", no_locks)
    error = refused(tmp_path)
    assert error.code == "data_unwritable" and os.strerror(errno.ENOLCK) in error.sentence
    assert str(tmp_path) in error.sentence


def test_who_waits_gets_the_lock_when_it_is_free(tmp_path):
    one, two = open_lock(tmp_path / "turn"), open_lock(tmp_path / "turn")
    try:
        assert try_lock(one) and not try_lock(two)
        timer = threading.Timer(0.2, unlock, [one])
        started = time.monotonic()
        timer.start()
        wait_lock(two)
        assert time.monotonic() - started >= 0.2
        assert not try_lock(one)
        timer.join()
    finally:
        os.close(one)
        os.close(two)


def test_one_alone_at_a_time_whatever_goes_wrong_inside(tmp_path):
    with pytest.raises(ZeroDivisionError), alone(tmp_path / "turn"):
        other = open_lock(tmp_path / "turn")
        assert not try_lock(other)
        raise ZeroDivisionError
    assert try_lock(other)
    os.close(other)
