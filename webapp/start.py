"""Where the ``fallbook`` command begins and ends, so that Ctrl-C never shows a traceback."""

import signal
import sys

from .commands import interrupt


def fallbook(words: list[str] | tuple[str, ...] | None = None) -> None:
    """Run the command line: ``words``, or those that the process was called with."""
    interrupt.end_at_once()
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            signal.signal(number, _ended)
    try:
        from .cli import main

        interrupt.remember()
        main(words)
    except (interrupt.Stopped, KeyboardInterrupt):
        stopped()
    finally:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # what it had to do is done


def _ended(number: int, _frame: object) -> None:
    """End as the system would have it, but take away what is half written first."""
    sys.exit(128 + number)


def stopped() -> None:
    """Say in one line that somebody stopped it."""
    interrupt.tell()
    sys.exit(130)
