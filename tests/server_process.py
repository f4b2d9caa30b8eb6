"""A real ``fallbook serve`` in a process of its own, to be killed and started again."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

import empty_data
import ended
from zygote import Forked, fork

ROOT = Path(__file__).resolve().parent.parent
START_WITHIN_S = 90  # the first of a test process makes and packs the app


def free_port() -> int:
    """Return a port of the loopback address that nobody uses now."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def copy_of_the_app(folder: Path) -> Path:
    """Return a copy of what the server serves, for tests that bring out a new version."""
    for name in ("webapp", "static", "templates", "sample_jobs"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    return folder


class ServerProcess:
    """``fallbook serve`` on a free port with a data folder of its own; the port outlives a restart."""

    def __init__(
        self,
        folder: Path,
        root: Path = ROOT,
        more: tuple[str, ...] = (),
        env: dict[str, str] | None = None,
        *,
        anew: bool = False,
        same_code: bool = False,
    ):
        """``more``: further words for the command; ``root``: another copy of the app; ``env``: settings;
        ``anew``: it makes its database itself; ``same_code``: the copy's webapp/ is ours."""
        self.folder, self.root, self.more, self.env, self.anew = folder, root, more, env or {}, anew
        self.same_code = same_code or root == ROOT
        self.port = free_port()
        ended.is_new(self.port)
        self.log = folder.parent / f"{folder.name}.log"
        self.process: subprocess.Popen | Forked | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> "ServerProcess":
        """Start it and wait until it answers."""
        words = ["serve", "--data", str(self.folder), "--port", str(self.port), *self.more]
        env = {**os.environ, **self.env, "PYTHONPATH": str(self.root)}
        if self.same_code and hasattr(os, "fork"):
            if not (self.anew or "FALLBOOK_DATABASE_URL" in env):
                empty_data.put_where_none_is(self.folder)
            self.process = fork(words, self.log, env, None if self.root == ROOT else self.root)
        else:
            command = [sys.executable, "-c", "from webapp.cli import main; main()", *words]
            with self.log.open("ab") as log:
                self.process = subprocess.Popen(command, stdout=log, stderr=log, cwd=self.root, env=env)
        return self.wait_until_it_answers(lambda: self.process.poll() is None)

    def wait_until_it_answers(self, is_running: Callable[[], bool]) -> "ServerProcess":
        """Return once it answers; it must not end before."""
        end = time.monotonic() + START_WITHIN_S
        while time.monotonic() < end and is_running():
            try:
                with urllib.request.urlopen(f"{self.url}/healthz", timeout=2) as answer:
                    if answer.status == 200:
                        return self
            except urllib.error.HTTPError as error:
                error.close()
            except OSError:
                pass
            time.sleep(0.02)
        raise AssertionError(f"the server did not start:\n{self.log.read_text(errors='replace')[-3000:]}")

    def kill(self) -> None:
        """End it as a power cut would."""
        if self.process and self.process.poll() is None:
            ended.note(self.port)
            self.process.kill()
            self.process.wait(10)

    def restart(self) -> None:
        self.kill()
        self.start()

    def get(self, path: str) -> bytes:
        """Return the body of a GET, past any browser."""
        with urllib.request.urlopen(self.url + path, timeout=20) as answer:
            return answer.read()

    def entries(self, job_id: str, at_once: int = 1000) -> list[dict]:
        """Return all entries held of a job, asked for as another phone would, ``at_once`` in each answer."""
        have: dict[str, int] = {}
        found = []
        while True:
            answer = self.exchange(jobs={job_id: {"have": have}}, pull=at_once)
            for one in answer["entries"]:
                have[one["writer"]] = one["number"]
            found += answer["entries"]
            if not answer["more"]:
                return found
            assert answer["entries"], "it says that there is more, and sends nothing"

    def exchange(self, **parts: object) -> dict:
        """Return the answer to one sync request."""
        body = json.dumps({"protocol": 1, "device_id": "tests", "entries": [], **parts}).encode()
        headers = {"Content-Type": "application/json"}
        request = urllib.request.Request(f"{self.url}/api/sync", body, headers)
        with urllib.request.urlopen(request, timeout=20) as answer:
            return json.load(answer)
