"""Where the ``fallbook`` command begins and ends, so that Ctrl-C never shows a traceback."""

import os
import signal
import sys
from collections.abc import Sequence
from typing import NoReturn


def fallbook(words: Sequence[str] | None = None) -> None:
    """Run the command line: ``words``, or those that the process was called with."""
    try:
        from .cli import main

        main(words)
    except KeyboardInterrupt:
        stopped()
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # what it had to do is done


def stopped() -> NoReturn:
    """Say in one line that somebody stopped it, with nothing that could fail or be stopped in its turn."""
    try:
        os.write(2, b"fallbook: Stopped before it was done. [interrupted]\n")
    except OSError:
        pass
    sys.exit(130)
