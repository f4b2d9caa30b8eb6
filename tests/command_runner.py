"""Commands as real processes without their start: everything is loaded once, each call is a fork of that.

A call has its own standard streams, folder and environment, and ends as Python itself ends, so that it shows
what a terminal would.  Where the tests run as root it gives up root's right to open every file.
"""

import json
import os
import select
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PARENT = """
import atexit, ctypes, gc, json, os, signal, sys, threading

# A call ends as Python ends: threads, what is registered for the end, streams.  Only the modules stay as they
# are: taking them apart is most of a short call's time.
atexit.register(sys.modules.clear)  # the first to be registered is the last to be called
import webapp.cli
from webapp.commands.groups import load
from webapp.commands.loading import loaded
from webapp.commands.registry import OLD_NAMES, ROWS
from webapp.commands.interrupt import Stopped
from webapp.start import fallbook, stopped
import webapp.app, webapp.job_pack, webapp.upkeep.backup, webapp.jobcheck, webapp.selfcheck.coverage
import webapp.intake.open_job, webapp.intake.handover, webapp.intake.import_readings
import webapp.api, webapp.upkeep.integrity, webapp.serve
for row in (*ROWS, *OLD_NAMES):
    load(row), loaded(row.target)
sys.path.append("tests")
import kept_routes
kept_routes.make_ready()
modules = list(sys.modules.values())
ctypes.pythonapi.Py_IncRef(ctypes.py_object(modules))
gc.collect(); gc.freeze()
signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})

def obey_modes():
    # CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH: without them root is an owner like any other.
    libc = ctypes.CDLL(None, use_errno=True)
    head, sets = (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
    if libc.capget(head, sets) == 0:
        sets[0] &= ~0b110
        sets[1] &= ~0b110
        assert libc.capset(head, sets) == 0

def take(handle, path, flags):
    if path is None:
        os.close(handle)
    else:
        os.dup2(os.open(path, flags, 0o600), handle)

def end(code):
    # As Python ends, but for taking apart what is left: four fifths of a short call's time.  Where a stream
    # cannot take its last words, Python itself ends.
    if code is not None and not isinstance(code, int):
        return
    threading._shutdown()
    atexit._run_exitfuncs()
    try:
        for stream in (sys.stdout, sys.stderr):
            stream is None or stream.flush()
    except Exception:
        return
    os._exit((code or 0) & 0xFF)

for line in sys.stdin:
    request = json.loads(line)
    if "wait" in request:
        child, status = os.waitpid(request["wait"], os.WNOHANG)
        answer = os.waitstatus_to_exitcode(status) if child else None
    else:
        # Opened before anybody is told that the call runs: a reader may leave at once.
        out = request["stdout"] and os.open(request["stdout"], os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        answer = os.fork()
        if answer != 0:
            out is None or os.close(out)
        else:
            os.chdir(request["folder"])
            os.environ.clear(); os.environ.update(request["env"])
            take(2, request["stderr"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            if os.geteuid() == 0:
                obey_modes()
            os.close(1) if out is None else os.dup2(out, 1)
            out is None or os.close(out)
            take(0, request["stdin"], os.O_RDONLY)
            for name, handle, mode in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
                closed = request[name] is None
                setattr(sys, name, None if closed else open(handle, mode, encoding="utf-8", closefd=False))
            try:
                signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
                fallbook(request["words"])
            except (Stopped, KeyboardInterrupt):  # so early that no real process is there yet
                stopped()
            except SystemExit as done:
                request["to_the_end"] or end(done.code)
                raise
    print(json.dumps(answer), flush=True)
"""


@dataclass(frozen=True)
class Done:
    """What came of one call."""

    code: int
    stdout: str
    stderr: str


class Runner:
    """The process that has loaded everything, and what it is asked to run."""

    def __init__(self, folder: Path) -> None:
        self.folder, self._count = folder, 0
        self._process = subprocess.Popen(
            [sys.executable, "-c", PARENT], cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )

    def _ask(self, **what):
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()
        if not (line := self._process.stdout.readline()):
            raise RuntimeError(
                f"the process that makes the calls ended with {self._process.wait(10)}: {what}"
            )
        return json.loads(line)

    def start(self, words, *, stdin=os.devnull, stdout="", stderr="", env=None, to_the_end=True):
        """Start a call and return it; ``None`` closes a stream, a path is used for it.

        Without ``to_the_end`` the process goes as soon as threads, exit functions and streams are done.
        """
        self._count += 1
        call = Call(self, self.folder / f"{self._count}.out", self.folder / f"{self._count}.err")
        own = {
            "PATH": os.environ["PATH"],
            "HOME": str(self.folder / "home"),
            "TMPDIR": str(self.folder / "tmp"),
            **(env or {}),
        }
        streams = {
            "stdin": None if stdin is None else str(stdin),
            "stdout": None if stdout is None else str(stdout or call.out),
            "stderr": None if stderr is None else str(stderr or call.err),
        }
        words = [str(word) for word in words]
        here = str(self.folder / "here")
        call.pid = self._ask(words=words, folder=here, env=own, to_the_end=to_the_end, **streams)
        return call

    def run(self, words, *, within_s=60, **more):
        """Make a call and return what came of it."""
        return self.start(words, **more).result(within_s)

    def poll(self, pid):
        return self._ask(wait=pid)

    def close(self):
        self._process.stdin.close()
        self._process.wait(20)
        self._process.stdout.close()


class Call:
    """One call that is under way."""

    def __init__(self, runner, out, err):
        self.runner, self.out, self.err, self.pid, self.code = runner, out, err, 0, None

    def over(self):
        if self.code is None:
            self.code = self.runner.poll(self.pid)
        return self.code is not None

    def interrupt(self):
        if not self.over():
            os.kill(self.pid, signal.SIGINT)

    def output(self):
        return self.out.read_text(encoding="utf-8", errors="replace") if self.out.exists() else ""

    def wait(self, within_s):
        """Return when it ends, or a moment later where the system cannot tell."""
        try:
            handle = os.pidfd_open(self.pid)
        except (AttributeError, OSError):
            time.sleep(0.003)
            return
        try:
            select.select([handle], [], [], within_s)
        finally:
            os.close(handle)

    def result(self, within_s=60):
        end = time.monotonic() + within_s
        while not self.over():
            left_s = end - time.monotonic()
            if left_s < 0:
                os.kill(self.pid, signal.SIGKILL)
                raise TimeoutError(f"after {within_s} s: {self.output()[-500:]}")
            self.wait(left_s)
        output = self.err.read_text(encoding="utf-8", errors="replace") if self.err.exists() else ""
        return Done(self.code, self.output(), output)
