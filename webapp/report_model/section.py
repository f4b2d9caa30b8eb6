"""A table of figures, ready to print."""

from dataclasses import dataclass

from ..survey.wording.messages import Words, message

Row = tuple[str, ...]


@dataclass(frozen=True)
class Section:
    """A table with its heading: ``right`` are columns of numbers, ``wide`` takes what width is left.

    With ``parts`` the columns share the width in these proportions.
    """

    key: str
    title: str
    header: Row = ()
    rows: tuple[Row, ...] = ()
    right: tuple[int, ...] = ()
    wide: int = -1
    parts: tuple[float, ...] = ()
    lines: tuple[str, ...] = ()
    note: str = ""


def heads(words: Words, *names: str) -> Row:
    """Return the headings of columns."""
    return tuple(message(words, f"pack.head.{name}", {}) for name in names)
