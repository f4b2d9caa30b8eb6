"""The process that makes a pack passes a budget, dies, fails or talks: the server ends it and says so."""

import json
import os
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

import psutil
import pytest
from pack_jobs import Maker

from webapp.errors import AppError
from webapp.process_limits import Budget
from webapp.web import pack_process
from webapp.web.pack_process import Task

TESTS = Path(__file__).resolve().parents[1]
MB = 1024 * 1024
PLENTY = Budget(600 * MB, 60, 500 * MB)
posix = pytest.mark.skipif(os.name == "nt", reason="signals and /dev/full")


class Source:
    """A job of one entry, and a photo."""

    def __init__(self, way, photo):
        maker = Maker()
        maker.add("job", title=way)
        self._entries, self._photo = maker.entries, photo

    def entries(self):
        yield from ((json.dumps(one), None) for one in self._entries)

    def photo_rows(self, hashes):
        return []

    def photo_file(self, sha256, folder):
        return self._photo if sha256 == "a" * 64 else None


class Trial:
    """One pack in a process that goes wrong."""

    def __init__(self, folder):
        self.folder, self.said, self.closing = folder, [], threading.Event()
        (folder / "work").mkdir()
        (folder / "photo").write_bytes(b"a photo")
        self.part = folder / "x.part"

    def make(self, way, budget=PLENTY):
        task = Task(Maker.uuid(0), self.part, self.folder / "work", self._progress, self.closing)
        begun = time.monotonic()
        try:
            pack_process.make(task, Source(way, self.folder / "photo"), budget)
        finally:
            self.took_s = time.monotonic() - begun
            for one in psutil.Process().children(recursive=True):
                with suppress(psutil.Error):  # another test's, that ends at this moment
                    words = one.cmdline()
                    assert "odd_pack_maker" not in " ".join(words), "a process is left"

    def _progress(self, done, total, step):
        self.said.append((done, total, step))

    def refused(self, way, **less):
        with pytest.raises(AppError) as fault:
            self.make(way, Budget(**{**vars(PLENTY), **less}))
        return fault.value


@pytest.fixture
def trial(tmp_path, monkeypatch):
    monkeypatch.setattr(pack_process, "MODULE", "odd_pack_maker")
    monkeypatch.setenv("PYTHONPATH", str(TESTS))
    return Trial(tmp_path)


@pytest.mark.parametrize(
    "way, less, code, limit",
    [
        ("hold", {"memory_bytes": 300 * MB}, "pack_memory", "300 MB (FALLBOOK_PACK_MEMORY_MB)"),
        ("wait", {"seconds": 2}, "pack_time", "2 s (FALLBOOK_PACK_SECONDS)"),
        ("spin", {"seconds": 2}, "pack_time", "2 s (FALLBOOK_PACK_SECONDS)"),
        ("fill", {"size_bytes": 40 * MB}, "pack_size", "40 MB (FALLBOOK_PACK_SIZE_MB)"),
    ],
)
def test_what_passes_a_budget_is_ended_and_told(trial, way, less, code, limit):
    fault = trial.refused(way, **less)
    assert fault.code == code and limit in fault.sentence
    assert "Split the job" in fault.sentence and "fallbook pack" in fault.sentence
    assert trial.took_s < 40


@pytest.mark.skipif(sys.platform != "linux", reason="no other kernel limits memory")
def test_the_kernel_refuses_what_the_parent_could_not_stop_in_time(trial, monkeypatch):
    monkeypatch.setattr(pack_process, "LOOK_S", 30.0)
    fault = trial.refused("burst", memory_bytes=300 * MB)
    assert fault.code == "pack_memory" and trial.took_s < 25


def test_the_size_never_passes_its_budget(trial):
    trial.refused("fill", size_bytes=40 * MB)
    assert trial.part.stat().st_size <= 41 * MB


@posix
@pytest.mark.parametrize(
    "way, code",
    [
        ("vanish", "pack_ended"),
        ("no_memory", "pack_memory"),
        ("no_memory_in_rust", "pack_memory"),
        ("full_disk", "pack_disk_full"),
        ("fault", "report_failed"),
    ],
)
def test_however_it_fails_it_is_told(trial, way, code):
    fault = trial.refused(way)
    assert fault.code == code and "secret" not in fault.sentence


@posix
def test_what_ignores_sigterm_is_killed_with_all_it_started(trial):
    fault = trial.refused("stubborn", seconds=4)
    assert fault.code == "pack_time" and trial.took_s < 20
    (child,) = [done for done, _, step in trial.said if step == "child"]
    assert not psutil.pid_exists(child) or psutil.Process(child).status() == psutil.STATUS_ZOMBIE


PARENT = """
import sys, threading
from pathlib import Path
sys.path[:0] = [{tests!r}, {pack!r}]
import test_pack_process as here
from webapp.web import pack_process
pack_process.MODULE = "odd_pack_maker"
trial = here.Trial(Path({folder!r}))
trial._progress = lambda done, total, step: print(done, flush=True)
trial.make("alone")
"""


@posix
def test_where_the_kernel_does_not_end_it_the_closed_pipe_does(tmp_path):
    words = {"tests": str(TESTS), "pack": str(TESTS / "pack"), "folder": str(tmp_path)}
    env = os.environ | {"PYTHONPATH": os.pathsep.join([str(TESTS.parent), str(TESTS)])}
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT.format(**words)], stdout=subprocess.PIPE, env=env, cwd=TESTS.parent
    )
    with parent:
        child = psutil.Process(int(parent.stdout.readline()))
        parent.kill()
        parent.wait()
    end_s = time.monotonic() + 30
    while child.is_running() and child.status() != psutil.STATUS_ZOMBIE:
        assert time.monotonic() < end_s, "it outlived its parent"
        time.sleep(0.05)


def test_a_server_that_ends_waits_for_no_pack(trial):
    threading.Timer(2.0, trial.closing.set).start()
    assert trial.refused("wait").code == "busy" and trial.took_s < 15


def test_what_a_library_prints_is_no_answer_and_photos_come_when_asked_for(trial):
    trial.make("chatter")
    assert trial.said == [(1, 2, "half")]
    assert trial.part.read_bytes() == b"(b'a photo', None)"


def test_it_is_told_no_secret(trial, monkeypatch):
    for name in ("DATABASE_URL", "AWS_SECRET_ACCESS_KEY", "FALLBOOK_TOKEN", "PGPASSWORD", "FALLBOOK_PHOTOS"):
        monkeypatch.setenv(name, "hush")
    trial.make("surroundings")
    told = trial.part.read_text()
    assert "hush" not in told and sys.argv[0] not in told.split("}")[-1]


def test_a_disk_that_is_nearly_full_ends_it(trial, monkeypatch):
    monkeypatch.setattr(pack_process, "LEFT_FREE_BYTES", 1 << 60)
    assert trial.refused("wait").code == "pack_disk_full"
