"""Servers that start in a fifth of the time: the modules are loaded once, each server is a fork of that.

It is a process of its own with the real command in it, and can be killed like any other.
"""

import atexit
import json
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PARENT = """
import gc, json, os, sys
from pathlib import Path
from types import SimpleNamespace
sys.path.append("tests")
import kept_routes, shared_work
from webapp.cli import main
from webapp.web.joiner import join
import webapp.commands.run.listening, webapp.job_pack, webapp.declination
from webapp.web import app_files, shell
with shared_work.answers_in(Path(sys.argv[1]) if sys.argv[1:] else None) as answers:
    join.read_module = shared_work.remembered(join.read_module, answers)  # a copy's modules are mostly ours
    app_files._packed = shared_work.remembered(app_files._packed, answers)
    shell.pack()
kept_routes.make_ready()
gc.collect(); gc.freeze()  # what is loaded is looked through once, not in every fork

def serve_from(root):
    # What is packed already stays packed: of a copy only what differs is made anew, and packed less tightly,
    # which takes a fiftieth of the time.
    from webapp import paths
    compress = app_files.brotli.compress
    app_files.brotli = SimpleNamespace(compress=lambda body, quality: compress(body, quality=5))
    paths.STATIC, paths.TEMPLATES = Path(root, "static"), Path(root, "templates")
    shell.ROUTES = Path(root, "static", "js", "routes.js")

for line in sys.stdin:
    asked = json.loads(line)
    if "poll" in asked:
        child, status = os.waitpid(asked["poll"], os.WNOHANG)
        answer = os.waitstatus_to_exitcode(status) if child else None
    else:
        answer = os.fork()
        if answer == 0:
            handle = os.open(asked["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            os.dup2(handle, 1); os.dup2(handle, 2)
            os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
            os.environ.clear(); os.environ.update(asked["env"])
            if asked["root"]:
                serve_from(asked["root"])
            main(asked["words"])
            os._exit(0)
    print(json.dumps(answer), flush=True)
"""


class Zygote:
    """The process that has loaded everything."""

    def __init__(self, *answers):
        """``answers``: the file of what is packed, for all test processes of a run."""
        self._turn = threading.Lock()
        words = [sys.executable, "-c", PARENT, *answers]
        self._process = subprocess.Popen(
            words, cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )

    def ask(self, **what):
        with self._turn:
            self._process.stdin.write(json.dumps(what) + "\n")
            self._process.stdin.flush()
            return json.loads(self._process.stdout.readline())

    def close(self):
        self._process.stdin.close()
        self._process.wait(10)
        self._process.stdout.close()


class Forked:
    """One server, with as much of ``subprocess.Popen`` as tests use."""

    def __init__(self, zygote, words, log, env, root):
        self._zygote, self._code = zygote, None
        self.pid = zygote.ask(words=[str(word) for word in words], log=str(log), env=env, root=root)

    def poll(self):
        """Return the exit code, or None while it runs."""
        if self._code is None:
            self._code = self._zygote.ask(poll=self.pid)
        return self._code

    def wait(self, within_s):
        end = time.monotonic() + within_s
        while self.poll() is None:
            if time.monotonic() > end:
                raise subprocess.TimeoutExpired("server", within_s)
            time.sleep(0.005)
        return self._code

    def send_signal(self, number):
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self):
        self.send_signal(signal.SIGKILL)


_zygote = None
_answers = []


def share(folder):
    """Have the app packed once for all test processes that share a folder."""
    _answers[:] = [str(Path(folder, "packed-app"))]


def fork(words, log, env, root=None):
    """Start a server as a fork of this test process's own zygote; ``root``: serve the files of that copy."""
    global _zygote
    if _zygote is None:
        _zygote = Zygote(*_answers)
        atexit.register(_zygote.close)
    return Forked(_zygote, words, log, env, root and str(root))


def command(words, log, within_s=60):
    """Make one call of the command as such a fork, and return what it printed on both streams."""
    log.unlink(missing_ok=True)
    code = fork(words, log, {**os.environ}).wait(within_s)
    printed = log.read_text(encoding="utf-8")
    assert code == 0, printed
    return printed
