"""Commands that are killed (SIGKILL) just before one of their steps: a statement, a commit, a file.

Everything is loaded once; each call is a fork of that.  Steps count from the first call into what is tried.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
PARENT = """
import json, os, signal, sys
import webapp.cli
from webapp.commands.groups import load
from webapp.commands.loading import loaded
from webapp.commands.registry import ROWS
for row in ROWS:
    load(row), loaded(row.target)
STEPS = {"execute", "executemany", "commit", "unlink", "fsync", "replace", "link"}
BEGIN = ("erasing/acts.py", "upkeep/cleaning.py")

def kill_at(step, told):
    state, seen = {"begun": False, "left": step}, told and open(told, "w")
    def look(frame, event, what):
        if event == "call" and not state["begun"]:
            state["begun"] = frame.f_code.co_filename.endswith(BEGIN)
        elif event == "c_call" and state["begun"] and what.__name__ in STEPS:
            state["left"] -= 1
            if seen:
                print(what.__name__, file=seen, flush=True)
            if not state["left"]:
                os.kill(os.getpid(), signal.SIGKILL)
    sys.setprofile(look)

for line in sys.stdin:
    asked = json.loads(line)
    child = os.fork()
    if child == 0:
        os.dup2(os.open(os.devnull, os.O_RDWR), 1)
        kill_at(asked["step"], asked["told"])
        try:
            webapp.cli.main(asked["words"])
        finally:
            os._exit(0)
    _, status = os.waitpid(child, 0)
    print(json.dumps(os.waitstatus_to_exitcode(status)), flush=True)
"""


class Killer:
    """The process whose forks are killed."""

    def __init__(self, **settings):
        """``settings``: those of the environment."""
        bare = {name: value for name, value in os.environ.items() if not name.startswith("FALLBOOK_")}
        self._process = subprocess.Popen(
            [sys.executable, "-c", PARENT],
            cwd=ROOT,
            text=True,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**bare, **settings},
        )

    def run(self, step, *words, told=""):
        """Run a command, killed at a step; False where it ended before.  ``told``: a file for its steps."""
        asked = {"step": step, "words": [str(word) for word in words], "told": str(told)}
        self._process.stdin.write(json.dumps(asked) + "\n")
        self._process.stdin.flush()
        code = json.loads(self._process.stdout.readline())
        assert code in (0, -9), code
        return code == -9

    def steps(self, told, *words):
        """Run a command to its end and return its steps, by name."""
        assert not self.run(0, *words, told=told)
        return told.read_text(encoding="ascii").split()

    def close(self):
        self._process.stdin.close()
        self._process.wait(20)
        self._process.stdout.close()
