"""What a command writes: results on standard output, all else on standard error.

::

    say(text)        a line of the result
    note(text)       a line about it, not for a pipe
    show_json(value) the result as JSON, always in UTF-8
    Progress         one line on a terminal that is written over; nothing elsewhere
"""

import io
import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from types import TracebackType
from typing import Any, TextIO

import click

from ..errors import AppError
from ..messages import t

CLEAR = "\r\x1b[K"
WIDEST = 100
EVERY = 500


def streams() -> None:
    """Let no character stop the output: what the encoding cannot say is written as an escape.

    Where the output goes to a file or a pipe it is UTF-8 on every system; a terminal keeps its own encoding.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            own = stream.encoding if stream.isatty() else "utf-8"
            stream.reconfigure(encoding=own, errors="backslashreplace")


def silence(stream: TextIO | None) -> None:
    """Give up on a stream that cannot be written, so that the end of the process does not try again."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno() if stream is not None else -1)
        os.close(nowhere)
    except (OSError, ValueError):
        pass


def one_line(text: str) -> str:
    """Return text on one line, safe for a terminal: what cannot be printed is written as an escape."""
    flat = " ".join(text.split())
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in flat)


def say(text: str = "") -> None:
    """Write one line of the result."""
    click.echo(text)


def note(text: str) -> None:
    """Write one line that is not part of the result."""
    click.echo(text, err=True)


def show_json(value: Any, *, indent: int = 1) -> None:
    """Write the result as JSON in UTF-8, whatever the encoding of the terminal: it is for programs."""
    text = json.dumps(value, indent=indent, ensure_ascii=False, allow_nan=False) + "\n"
    # Half of a surrogate pair is all that UTF-8 cannot hold; as an escape it is the same JSON.
    click.echo(text.encode("utf-8", "backslashreplace"), nl=False)


def counted(count: int, word: str) -> str:
    """Return a count with its word, one or many: ``count.<word>`` of the catalogue."""
    return t(f"count.{word}", n=count)


def fault_count(count: int, as_json: bool) -> str:
    """Return how many faults there are; where they are not part of a JSON result they stand above."""
    return t("cli.faults" if as_json else "cli.faults_above", n=count)


def refuse(code: str, faults: Sequence[str], sentence: str, as_json: bool) -> None:
    """End with an error if there are faults; each is told by a sentence, but where a JSON result has them."""
    if not as_json:
        for fault in faults:
            note(t(sentence, fault=fault))
    if faults:
        raise AppError(code, fault_count(len(faults), as_json))


def table(header: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> Iterator[str]:
    """Yield the lines of a table with its header, each cell safe for a terminal; ``right`` names columns."""
    cells = [list(header), *([one_line(cell) for cell in row] for row in rows)]
    widths = [max(len(row[k]) for row in cells) for k in range(len(header))]
    for row in cells:
        line = (
            c.rjust(w) if k in right else c.ljust(w) for k, (c, w) in enumerate(zip(row, widths, strict=True))
        )
        yield "  ".join(line).rstrip()


class Progress:
    """One line on a terminal that says how far it is; it is gone when the work is done."""

    def __init__(self, quiet: bool = False) -> None:
        self._on = not quiet and sys.stderr is not None and sys.stderr.isatty()

    def __call__(self, text: str) -> None:
        """Write over the line."""
        if self._on:
            click.echo(f"{CLEAR}{one_line(text)[: _columns()]}", err=True, nl=False)

    def clear(self) -> None:
        """Take the line away, so that another can be written."""
        if self._on:
            click.echo(CLEAR, err=True, nl=False)

    def __enter__(self) -> "Progress":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.clear()


def now_and_then(tell: Progress) -> Callable[[str, int], None]:
    """Return what says how many have been done, but not of each one."""

    def report(what: str, done: int) -> None:
        if done % EVERY == 0:
            tell(f"{what}: {done:,}")

    return report


def _columns() -> int:
    try:
        return max(20, min(WIDEST, os.get_terminal_size(sys.stderr.fileno()).columns - 1))
    except (OSError, ValueError):
        return WIDEST
