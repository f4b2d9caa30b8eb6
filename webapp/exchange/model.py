"""What an exchange file is made of, in memory: layout, inspections, notes, and the reader's report."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from ..messages import listed, t
from ..records.entry import Entry

Cell = str | float
CHARSETS = {"ISO-8859-1": "latin-1", "UTF-8": "utf-8"}
VERSION = "2010"


class Recorded(Protocol):
    """A folded record, as far as the exchange looks at it."""

    id: str
    kind: str
    fields: dict[str, Any]
    conflicts: Any
    removed: bool
    unusable: Sequence[str]


@dataclass(frozen=True)
class Layout:
    """How a file is spelled: the lines #A1 to #A6."""

    charset: str = "ISO-8859-1"
    language: str = "en"
    separator: str = ","
    decimal: str = "."
    quote: str = '"'
    version: str = VERSION

    def check(self) -> None:
        """Raise ValueError if a file cannot be written so."""
        if self.charset not in CHARSETS:
            raise ValueError(t("exchange.layout_charset", charsets=listed(CHARSETS)))
        if self.decimal not in (".", ","):
            raise ValueError(t("exchange.layout_decimal"))
        if not self.language.isascii() or not self.language.isalpha():
            raise ValueError(t("exchange.layout_language"))
        if not fits_separator(self.separator) or self.separator in (self.decimal, self.quote):
            raise ValueError(t("exchange.layout_separator"))
        if self.quote not in ("", '"', "'"):
            raise ValueError(t("exchange.layout_quote"))


def fits_separator(sign: str) -> bool:
    """Say whether a sign can part fields: one ASCII character that is in no number, code or control line."""
    return len(sign) == 1 and sign.isascii() and not sign.isalnum() and sign not in "#=+-_ \"'\r\n\0"


@dataclass(frozen=True)
class Inspection:
    """One run: header codes to values, observation rows by column letter."""

    header: dict[str, Cell]
    rows: tuple[dict[str, Cell], ...]


@dataclass(frozen=True)
class Mapped:
    """A job as inspections, and in sentences what the format cannot take along."""

    inspections: tuple[Inspection, ...]
    not_carried: tuple[str, ...]


@dataclass(frozen=True)
class Written:
    """The bytes of a file, and in sentences which characters had to be put otherwise."""

    data: bytes
    replaced: tuple[str, ...]


@dataclass(frozen=True)
class Note:
    """Something of a file that did not become what it might have: where, what became of it, why."""

    line: int  # 0: the file as a whole
    outcome: str  # assumed, changed, kept, remark, left_out
    what: str
    why: str

    @property
    def sentence(self) -> str:
        """Return the note as one line of a report."""
        values = {"outcome": t(f"exchange.outcome.{self.outcome}"), "what": self.what, "why": self.why}
        return t("exchange.note_at", line=self.line, **values) if self.line else t("exchange.note", **values)


@dataclass(frozen=True)
class Report:
    """What became of a file: the entries of a new job, and a note for everything else."""

    job_id: str
    writer: str
    title: str
    layout: Layout
    entries: list[Entry]
    counts: Mapping[str, int]  # records made, by kind
    notes: Sequence[Note] = field(default=())

    def lines(self) -> list[str]:
        """Return the report for a person, one line each."""
        made = [t(f"exchange.made.{kind}", n=n) for kind, n in self.counts.items() if n]
        read = t(
            "exchange.read",
            charset=self.layout.charset,
            decimal=repr(self.layout.decimal),
            made=listed(made),
            notes=t("exchange.notes", n=len(self.notes)),
        )
        return [read, *(note.sentence for note in self.notes)]
