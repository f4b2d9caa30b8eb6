"""Run the ``fallbook`` command as Windows would, as far as another system can pretend: by
``python tests/windows_like.py WORDS...``; ``--calls FILE``: several, as ``forked_calls.py`` makes them

What is pretended, to the modules of webapp/ and to portalocker alone: ``os.name`` is nt and ``sys.platform``
win32; every name of os, signal, socket, select and time that Windows' Python lacks is missing
(``posix_only.json``); fcntl, pwd, resource and their like cannot be imported; msvcrt locks from the first
byte on, and only where nobody has locked it; a file that is open cannot be replaced or removed.  Paths and
the file system stay those of this machine.
"""

import builtins
import errno
import json
import os
import sys
import types
from pathlib import Path

HERE = Path(__file__).resolve().parent
MISSING = json.loads((HERE / "posix_only.json").read_text(encoding="utf-8"))


def without(real, **instead):
    """Return a module like ``real`` without what Windows lacks."""
    gone = set(MISSING["names"].get(real.__name__, ()))
    found = types.ModuleType(real.__name__)

    def get(name):
        if name in instead:
            return instead[name]
        if name in gone:
            raise AttributeError(f"module {real.__name__!r} has no attribute {name!r} on Windows")
        return getattr(real, name)

    found.__getattr__ = get
    found.__dict__["__all__"] = [n for n in dir(real) if not n.startswith("_") and n not in gone]
    return found


class Msvcrt(types.ModuleType):
    """The locks of Windows, made of those of this system: never shared, held by the open file."""

    LK_NBLCK, LK_UNLCK = 2, 0

    def locking(self, handle, mode, count):
        import fcntl

        if os.lseek(handle, 0, os.SEEK_CUR) != 0 or count < 1:
            raise AssertionError("other bytes than the first would be locked")
        try:
            fcntl.flock(handle, fcntl.LOCK_UN if mode == self.LK_UNLCK else fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise PermissionError(errno.EACCES, "Permission denied") from error


def open_here(path):
    """Say whether this process has a file open."""
    target = os.path.realpath(path)
    for handle in os.listdir("/proc/self/fd"):
        try:
            if os.readlink(f"/proc/self/fd/{handle}") == target:
                return True
        except OSError:
            continue
    return False


def refusing(call):
    """Refuse to rename or remove what is open, as Windows does."""

    def checked(path, *more, **words):
        for one in (path, *more[:1]):
            if isinstance(one, str | os.PathLike) and os.path.isfile(one) and open_here(one):
                raise PermissionError(errno.EACCES, "The process cannot access the file", str(one))
        return call(path, *more, **words)

    return checked


for name in ("replace", "rename", "unlink", "remove"):
    setattr(os, name, refusing(getattr(os, name)))

import select  # noqa: E402
import signal  # noqa: E402
import socket  # noqa: E402
import time  # noqa: E402

STANDINS = {
    "os": without(os, name="nt", sep="\\", altsep="/"),
    "sys": without(sys, platform="win32"),
    "signal": without(signal, SIGBREAK=signal.SIGUSR1),
    "socket": without(socket, SO_EXCLUSIVEADDRUSE=socket.SO_REUSEADDR),
    "select": without(select),
    "time": without(time),
    "msvcrt": Msvcrt("msvcrt"),
}
_import = builtins.__import__


def as_on_windows(name, scope=None, local=None, fromlist=(), level=0):
    """Give webapp/ and portalocker the stand-ins, everybody else the real modules."""
    asking = (scope or {}).get("__name__", "")
    if level == 0 and asking.partition(".")[0] in ("webapp", "portalocker"):
        if name in MISSING["modules"]:
            raise ModuleNotFoundError(f"No module named {name!r} on Windows", name=name)
        if name in STANDINS:
            return STANDINS[name]
    return _import(name, scope, local, fromlist, level)


builtins.__import__ = as_on_windows

if __name__ == "__main__":
    if sys.argv[1] == "--calls":
        from forked_calls import run_all

        run_all(sys.argv[2])
    else:
        from webapp.cli import main

        main()
