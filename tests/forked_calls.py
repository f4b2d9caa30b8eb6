"""Several calls of the command out of one start of Python: ``python tests/forked_calls.py CALLS``.

For what hangs on how Python itself was started, such as its encodings, a disk mounted for it or a system that
is pretended: that start is real and made once, everything is loaded in it, and each call is a fork of it with
its streams in files.  Where no start matters, ``command_runner.py`` has its calls ready.
"""

import atexit
import ctypes
import gc
import json
import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def run_all(path):
    """Make the calls of a file one after the other; print their exit codes."""
    # A call ends as Python ends, but for taking the modules apart: as in ``command_runner.py``.
    atexit.register(sys.modules.clear)  # the first to be registered is the last to be called
    from webapp.commands.groups import load
    from webapp.commands.loading import loaded
    from webapp.commands.registry import ROWS
    from webapp.start import fallbook

    for row in ROWS:
        load(row), loaded(row.target)
    ctypes.pythonapi.Py_IncRef(ctypes.py_object(list(sys.modules.values())))
    gc.collect()
    gc.freeze()
    codes = []
    for words, out, err in json.loads(Path(path).read_text(encoding="utf-8")):
        child = os.fork()
        if child == 0:
            for name, handle in ((out, 1), (err, 2)):
                os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), handle)
            fallbook(words)
            sys.exit(0)  # as where the process ends by itself
        codes.append(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
    print(json.dumps(codes))


def make_calls(calls, folder, start=(sys.executable, str(HERE / "forked_calls.py")), **more):
    """Make calls by a start of one's own; return what each made: its words, exit code and the bytes it wrote.

    ``folder`` takes the streams, ``more`` is for the start's own process.
    """
    rows = [
        ([str(word) for word in words], str(folder / f"call{k}.out"), str(folder / f"call{k}.err"))
        for k, words in enumerate(calls)
    ]
    asked = folder / "calls.json"
    asked.write_text(json.dumps(rows), encoding="utf-8")
    done = subprocess.run([*start, str(asked)], capture_output=True, check=False, timeout=300, **more)
    if done.returncode:
        return done, []
    made = zip(rows, json.loads(done.stdout), strict=True)
    return done, [
        (words, code, Path(out).read_bytes(), Path(err).read_bytes()) for (words, out, err), code in made
    ]


if __name__ == "__main__":
    run_all(sys.argv[1])
