"""How a command ends: every failure is one line with a stable code on standard error, never a traceback.

Exit codes: 0 done; 1 what was checked is bad, or it could not be done; 2 the call or its input is wrong;
130 stopped with Ctrl-C.
"""

import errno
import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NoReturn, TextIO

import click

from ..environment import debugging
from ..errors import AT_THE_MACHINE, AppError, sentence_of
from ..messages import t
from ..store.user_folders import log_folder
from . import interrupt
from .output import one_line, silence, streams

# What was looked at is bad, or what was asked for could not be done; anything else was asked for wrongly.
BAD = {
    "pack_mismatch",
    "grading_limits_faulty",
    "codes_faulty",
    "job_file_faulty",
    "written_unreadable",
    "data_damaged",
    "database_lost",
    "photos_lost",
    "zip_damaged",
    "report_failed",
    "server_fault",
    "backup_incomplete",
    "salvage_incomplete",
    "salvage_nothing",
    "disk_full",
    "unexpected",
}
INTERRUPTED = 130
FULL = (errno.ENOSPC, errno.EDQUOT)


@contextmanager
def one_line_failures() -> Iterator[None]:
    """Let nothing out of the block but an exit: each failure is told in one line first."""
    streams()
    try:
        yield
        _flush()
    except (click.exceptions.Exit, SystemExit):
        try:
            _flush()
        except OSError as error:
            leave(error)
        raise
    except BaseException as error:
        leave(error)


def _flush() -> None:
    """Write what is still held back: a full disk or a closed pipe may show only now."""
    if sys.stdout is not None:
        sys.stdout.flush()


def leave(error: BaseException) -> NoReturn:
    """Tell a failure, after what was written before it, and end with its exit code."""
    _flush_or_silence(sys.stdout)
    if isinstance(error, BrokenPipeError):  # the reader has seen enough, as with `| head`
        sys.exit(1)
    if interrupt.came or isinstance(error, interrupt.Stopped | KeyboardInterrupt | click.Abort):
        _tell(AppError("interrupted").sentence, "interrupted")
        sys.exit(INTERRUPTED)
    if isinstance(error, click.ClickException):
        _tell(_of_call(error), "usage")
        sys.exit(2)
    found = app_error_of(error)
    sentence = f"{found.sentence} {_details(error)}" if found.code == "unexpected" else _sentence(found)
    _tell(sentence, found.code)
    sys.exit(1 if found.code in BAD else 2)


def _flush_or_silence(stream: TextIO | None) -> None:
    try:
        if stream is not None:
            stream.flush()
    except OSError:
        silence(stream)


def _tell(sentence: str, code: str) -> None:
    with suppress(OSError):
        click.echo(f"fallbook: {one_line(sentence)} [{code}]", err=True)
    _flush_or_silence(sys.stderr)


def _sentence(error: AppError) -> str:
    what = t(f"cli.error.{error.code}") if error.code in AT_THE_MACHINE else sentence_of(error.code)
    sentence = f"{what} {error.detail}".strip()
    return f"{error.field}: {sentence}" if error.field and error.code == "request_malformed" else sentence


def _of_call(error: click.ClickException) -> str:
    message = error.format_message().strip()
    message += "" if message.endswith((".", "?", "!")) else "."
    if isinstance(error, click.UsageError) and error.ctx is not None:
        return f"{message} {t('cli.see_help', command=error.ctx.command_path)}"
    return message


def app_error_of(error: BaseException) -> AppError:
    """Return any failure as one of ours."""
    if isinstance(error, AppError):
        return error
    if found := _of_database(error):
        return found
    if isinstance(error, OSError):
        return _of_system(error)
    if isinstance(error, MemoryError):
        return AppError("system_refused", t("cli.no_memory"))
    return AppError("unexpected")


def _of_system(error: OSError) -> AppError:
    if error.errno in FULL:
        return AppError("disk_full")
    names = [str(n) for n in (error.filename, error.filename2) if n is not None]
    what = error.strerror or type(error).__name__
    return AppError("system_refused", f"({what}{': ' if names else ''}{', '.join(names)})")


def _of_database(error: BaseException) -> AppError | None:
    """A failure of the database, by what it says; the driver itself may be SQLite's or another's."""
    if not type(error).__module__.startswith(("sqlalchemy.", "sqlite3", "psycopg")):
        return None
    text = str(getattr(error, "orig", error)).strip()
    for words, code in (
        (("locked", "busy"), "busy"),
        (("malformed", "not a database"), "data_damaged"),
        (("disk is full", "No space left"), "disk_full"),
        (("readonly", "read-only", "unable to open", "disk I/O"), "data_unwritable"),
        (("no such table", "does not exist"), "data_missing"),
    ):
        if any(word in text for word in words):
            return AppError(code, "" if code in ("busy", "disk_full") else f"({text})")
    if type(error).__name__ == "OperationalError":
        return AppError("database_down", f"({text})")
    return None


def _details(error: BaseException) -> str:
    """Keep the traceback where it can be looked at, and say where."""
    text = "".join(traceback.format_exception(error))
    if debugging():
        with suppress(OSError, UnicodeError):
            click.echo(text, err=True, nl=False)
        return t("cli.details_above")
    try:
        path = _log_file()
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8",
                       errors="backslashreplace") as file:  # fmt: skip
            file.write(text)
    except (OSError, RuntimeError, AppError):
        return t("cli.set_debug")
    return t("cli.details_in", path=path)


def _log_file() -> Path:
    return log_folder() / "last-failure.txt"
