"""What a process that works for another may use, and that it never outlives that other one.

Linux: memory, processor time and size of a file are limited by the kernel.  macOS: no limit of memory works
there, so that only the parent watches it (web/pack_process.py).  Windows: only time and size are watched.
"""

import os
import signal
import sys
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

# What the parent counts is what is resident; address space that is only reserved comes on top of it.
_RESERVED_BYTES = 256 * 1024 * 1024
_NICER = 5  # phones first; on a busy machine a pack still gets a third of a core
_FIRST_OF_ALL = "500"  # whom the kernel ends first when the machine has no memory left
_PR_SET_PDEATHSIG = 1


@dataclass(frozen=True)
class Budget:
    """What making one pack may take."""

    memory_bytes: int
    seconds: float
    size_bytes: int


def limit(budget: Budget) -> None:
    """Bind this process, and those that it starts, to a budget."""
    with suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text(_FIRST_OF_ALL, encoding="ascii")
    if os.name == "nt":
        return
    import resource

    with suppress(OSError):
        os.nice(_NICER)
    if sys.platform == "linux":
        _lower(resource.RLIMIT_DATA, budget.memory_bytes + _RESERVED_BYTES)
    _lower(resource.RLIMIT_CPU, int(budget.seconds * (os.cpu_count() or 1)) + 5)
    _lower(resource.RLIMIT_FSIZE, budget.size_bytes)
    _lower(resource.RLIMIT_CORE, 0)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # then writing fails with EFBIG


def _lower(what: int, most: int) -> None:
    if os.name == "nt":
        return
    import resource

    _, hard = resource.getrlimit(what)
    value = most if hard == resource.RLIM_INFINITY else min(most, hard)
    with suppress(OSError, ValueError):
        resource.setrlimit(what, (value, value))


def give_back() -> None:
    """Give memory that is free inside this process back to the system, where the C library knows how."""
    if sys.platform == "linux":
        import ctypes

        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).malloc_trim(0)


def end_with(parent: int) -> None:
    """Have the kernel end this process when its parent ends; others than Linux notice it by a closed pipe."""
    if sys.platform != "linux":
        return
    import ctypes

    with suppress(OSError, AttributeError):
        ctypes.CDLL(None, use_errno=True).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:  # it ended before this was asked for
        os._exit(1)


def end_group() -> None:
    """End this process and every one that it started, if it leads a group of its own."""
    if os.name != "nt":
        if os.getpgrp() == os.getpid():
            os.killpg(0, signal.SIGKILL)
    os._exit(1)
