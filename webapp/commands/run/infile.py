"""What a command reads: a file, a pipe, or - for standard input."""

import os
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

import click

from ...errors import AppError
from ...messages import t
from ..options import STDIN

PATHS = ("/", "./", "../", "~")  # a slash further on may be part of a reference
SUFFIXES = (".json", ".zip", ".txt")
MAX_BYTES = 1024 * 1024 * 1024
PIECE_BYTES = 1024 * 1024


def is_stdin(path: Path | str) -> bool:
    """Say whether standard input is meant."""
    return str(path) == STDIN


def is_file_name(name: str) -> bool:
    """Say whether a name is that of a file rather than of a job here: a file that is there, or a path."""
    if is_stdin(name) or os.path.exists(name):
        return True
    return name.startswith(PATHS) or Path(name).suffix.lower() in SUFFIXES


@contextmanager
def as_file(path: Path | str, most_bytes: int = MAX_BYTES) -> Iterator[Path]:
    """Return a file or folder to read: the one named, or a copy of what comes in by a pipe.

    A pipe can be read once only and has no size, so it is copied into a file of its own first.
    """
    named = Path(path)
    if not is_stdin(path) and not _is_pipe(named):
        yield named
        return
    with tempfile.TemporaryDirectory(prefix="fallbook-") as folder:
        copy = Path(folder) / "standard-input"
        with copy.open("wb") as file:
            if is_stdin(path):
                _copy(_stdin(), file, most_bytes)
            else:
                with _open(named) as stream:
                    _copy(stream, file, most_bytes)
        yield copy


def read_bytes(path: Path | str, most_bytes: int) -> bytes:
    """Return what a file, a pipe or standard input holds; one that is too large is refused, not read."""
    if is_stdin(path):
        data = _stdin().read(most_bytes + 1)
    else:
        with _open(Path(path)) as stream:
            data = stream.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise AppError("file_unreadable", t("cli.file_too_large", most_mb=f"{most_bytes / 1e6:.0f}"))
    return data


def shown(path: Path | str) -> str:
    """Return what a file is called in a message."""
    return t("cli.standard_input") if is_stdin(path) else str(path)


def _is_pipe(path: Path) -> bool:
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return False
    if stat.S_ISCHR(mode) or stat.S_ISBLK(mode):
        raise AppError("file_unreadable", t("cli.is_device", path=path))
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _open(path: Path) -> BinaryIO:
    try:
        return path.open("rb")
    except OSError as error:
        raise AppError("file_unreadable", f"({error.strerror}: {path})") from error


def _stdin() -> BinaryIO:
    if sys.stdin is None:
        raise AppError("file_unreadable", t("cli.stdin_closed"))
    if sys.stdin.isatty():
        raise click.UsageError(t("cli.stdin_keyboard"))
    return sys.stdin.buffer


def _copy(source: BinaryIO, target: BinaryIO, most_bytes: int) -> None:
    done = 0
    while piece := source.read(PIECE_BYTES):
        done += len(piece)
        if done > most_bytes:
            raise AppError("file_unreadable", t("cli.file_too_large", most_mb=f"{most_bytes / 1e6:.0f}"))
        target.write(piece)
