"""What a command writes into a file: all of it or nothing, and nothing that is there is lost by it.

- ``-`` is standard output.
- A file that is there is replaced only where that was asked for, and only by a whole one.
- A link stays a link: what it leads to is written.
- A device or a named pipe is written as it is.
- A folder is refused.
"""

import errno
import os
import shutil
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

import click

from ... import timesource
from ...errors import AppError
from ...messages import t
from ...store.folder import sync_file, sync_folder

STDOUT = "-"
NEW_FILE = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
# Not every disk has links to files; Windows says "invalid" then.
NO_LINKS = (errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EINVAL)


def is_stdout(out: Path) -> bool:
    """Say whether standard output is meant."""
    return str(out) == STDOUT


def check_out(out: Path, *, force: bool, text: bool = False) -> None:
    """Refuse a place that cannot be written, before any work is done.  Only text goes to a terminal."""
    if is_stdout(out):
        if sys.stdout is None:
            raise AppError("output_unwritable", t("cli.stdout_closed"))
        if sys.stdout.isatty() and not text:
            raise click.UsageError(t("cli.file_to_terminal"))
        return
    if os.name == "nt" and ":" in out.name:  # it would go into a stream that no folder shows
        raise AppError("output_unwritable", t("cli.colon_in_name", name=out.name))
    mode = _mode(out)
    if mode is None:
        parent = _real(out).parent
        if not parent.is_dir():
            raise AppError("output_unwritable", t("cli.no_folder", folder=parent))
    elif stat.S_ISDIR(mode):
        raise AppError("output_folder", f"({out})")
    elif stat.S_ISREG(mode) and not force:
        raise AppError("destination_exists", f"({out})")


@contextmanager
def written(out: Path, *, force: bool, text: bool = False) -> Iterator[BinaryIO]:
    """Return the file to write; it is in its place when the block has ended well."""
    check_out(out, force=force, text=text)
    try:
        if is_stdout(out):
            with _gathered() as file:
                yield file
                file.seek(0)
                shutil.copyfileobj(file, sys.stdout.buffer)
            sys.stdout.buffer.flush()
        elif (mode := _mode(out)) is not None and not stat.S_ISREG(mode):
            with _gathered() as file, out.open("wb") as target:
                yield file
                file.seek(0)
                shutil.copyfileobj(file, target)
        else:
            with _replacing(_real(out), force=force) as file:
                yield file
    except BrokenPipeError:
        raise
    except OSError as error:
        raise AppError("output_unwritable", f"({error.strerror or error}: {shown(out)})") from error


def shown(out: Path) -> str:
    """Return what the output is called in a message."""
    return t("cli.standard_output") if is_stdout(out) else str(out)


@contextmanager
def _gathered() -> Iterator[BinaryIO]:
    """A file that has no name, for what goes down a pipe: whole, and the same bytes as in a file."""
    with tempfile.TemporaryFile() as file:
        yield file


@contextmanager
def _replacing(target: Path, *, force: bool) -> Iterator[BinaryIO]:
    mode = _mode(target)
    # Its name is known before it is there, so that whatever stops this takes it away.
    part = target.with_name(f".{target.name[:40]}-{timesource.new_secret()[:12]}.part")
    try:
        with os.fdopen(os.open(part, NEW_FILE, 0o600), "wb") as file:
            yield file
            file.flush()
            sync_file(file.fileno())
        part.chmod(stat.S_IMODE(mode) if mode is not None else 0o666 & ~_umask())
        if force:
            os.replace(part, target)
        else:
            _put(part, target)
        with suppress(OSError):
            sync_folder(target.parent)
    finally:
        part.unlink(missing_ok=True)


def _put(part: Path, target: Path) -> None:
    """Give the file its name unless somebody took it meanwhile."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise AppError("destination_exists", f"({target})") from None
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        if target.exists():
            raise AppError("destination_exists", f"({target})") from None
        os.replace(part, target)


def _real(out: Path) -> Path:
    """Follow links, so that what they lead to is written and they stay."""
    try:
        return Path(os.path.realpath(out, strict=False)) if out.is_symlink() else out
    except OSError as error:
        raise AppError("output_unwritable", f"({error.strerror}: {out})") from error


def _mode(path: Path) -> int | None:
    try:
        return path.stat().st_mode
    except FileNotFoundError:
        return None
    except OSError as error:
        raise AppError("output_unwritable", f"({error.strerror}: {path})") from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
