"""The garbage collector, out of the way while one large thing is read."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def paused() -> Iterator[None]:
    """Let it rest: of what is being read nothing is garbage yet, and each walk over all of it costs more."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
