"""Ctrl-C is remembered: libraries swallow the exception, or raise another in its place."""

import os
import signal
import sys

SENTENCE = b"fallbook: Stopped before it was done. [interrupted]\n"
came: list[int] = []


class Stopped(BaseException):
    """Ctrl-C, under a name that no library catches: click prints an empty line at a KeyboardInterrupt."""


def end_at_once() -> None:
    """Let Ctrl-C end the process in one line, until :func:`remember`: nothing is there to undo yet."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _end)


def remember() -> None:
    """From here Ctrl-C raises, so that what is half written is taken away, and :data:`came` holds it."""
    if signal.getsignal(signal.SIGINT) is _end:
        signal.signal(signal.SIGINT, _raise)


def stop_if_it_came() -> None:
    """Raise it once more where a library swallowed it: for a command that would go on until it is stopped."""
    if came:
        raise Stopped


def tell() -> None:
    """Say it in one line, with nothing that could fail or be stopped in its turn."""
    try:
        os.write(2, SENTENCE)
    except OSError:
        pass


def _end(_number: int, _frame: object) -> None:
    tell()
    os._exit(130)


def _raise(number: int, _frame: object) -> None:
    came.append(number)
    if logging := sys.modules.get("logging"):  # a pool whose closing is cut short would print a traceback
        logging.getLogger("sqlalchemy.pool").setLevel(logging.CRITICAL)
    raise Stopped
