"""Where the ``fallbook`` command begins and ends, so that Ctrl-C never shows a traceback."""

import os
import signal
import sys
from collections.abc import Sequence
from typing import Any, NoReturn


def fallbook(words: Sequence[str] | None = None) -> None:
    """Run the command line: ``words``, or those that the process was called with."""
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, _ended)
    try:
        from .cli import main

        main(words)
    except KeyboardInterrupt:
        stopped()
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # what it had to do is done


def _ended(number: int, _frame: Any) -> NoReturn:
    """End as the system would have it, but take away what is half written first."""
    sys.exit(128 + number)


def stopped() -> NoReturn:
    """Say in one line that somebody stopped it, with nothing that could fail or be stopped in its turn."""
    try:
        os.write(2, b"fallbook: Stopped before it was done. [interrupted]\n")
    except OSError:
        pass
    sys.exit(130)
