"""Lines -> layout, inspections with their header values and rows, every one with its line number."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from ..errors import AppError
from .decode import decode
from .model import Layout, Note, fits_separator
from .text import split_line

MAX_ROWS = 100_000
MAX_INSPECTIONS = 20_000
MAX_FIELDS = 400
MAX_CHARACTERS = 40_000
CONTROL = re.compile(r"#(?:(A)([1-9])|(B)(\d{1,3})|(C)\d{0,2})=(.*)")
END = re.compile(r"#Z(?:\W.*)?")
KEY = re.compile(r"[A-Za-z0-9_]{1,8}")
SEPARATORS = {"tab": "\t", "\\t": "\t", "semicolon": ";", "comma": ","}


@dataclass
class Row:
    """One line of an inspection: column letters to values, and what is wrong with the line."""

    line: int
    cells: dict[str, str]
    raw: str
    fault: str = ""


@dataclass
class Parsed:
    """One inspection as it stands in the file."""

    line: int
    header: dict[str, str] = field(default_factory=dict)
    header_lines: dict[str, int] = field(default_factory=dict)
    columns: list[str] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    has_columns: bool = False


@dataclass
class Contents:
    """A whole file."""

    layout: Layout
    inspections: list[Parsed]
    notes: list[Note]


def parse(data: bytes) -> Contents:
    """Return what a file says; AppError if its structure cannot be used."""
    lines, charset, notes = decode(data)
    return _Parser(lines, charset, notes).run()


class _Parser:
    def __init__(self, lines: list[str], charset: str, notes: list[Note]) -> None:
        self.lines, self.charset, self.notes = lines, charset, notes
        self.language, self.separator, self.decimal, self.quote = "en", "", ".", '"'
        self.version = ""
        self.inspections: list[Parsed] = []
        self.current: Parsed | None = None
        self.rows = 0
        self.layout_lines: dict[int, int] = {}

    def run(self) -> Contents:
        numbered = iter(enumerate(self.lines, start=1))
        for number, line in numbered:
            if END.fullmatch(line):
                self.current = None
            elif match := CONTROL.fullmatch(line):
                if match[1]:
                    self._layout(number, int(match[2]), match[6])
                elif match[3]:
                    self._header(number, int(match[4]), match[6], numbered)
                else:
                    self._columns(number, match[6])
            elif line.strip():
                self._row(number, line)
        self._finish()
        return Contents(self._read_layout(), self.inspections, self.notes)

    def _note(self, line: int, outcome: str, what: str, why: str) -> None:
        self.notes.append(Note(line, outcome, what, why))

    def _layout(self, number: int, place: int, value: str) -> None:
        if self.inspections:
            self._note(number, "left_out", f"#A{place}={value[:40]}", "it comes after the first inspection")
            return
        if place in self.layout_lines:
            self._note(number, "changed", f"#A{place}", "it is there twice; the last one counts")
        self.layout_lines[place] = number
        if place == 2:
            self.language = value.strip()
        elif place == 3:
            self._separator(number, value)
        elif place == 4:
            self.decimal = value.strip()
            if self.decimal not in (".", ","):
                self._note(number, "assumed", "decimal sign '.'", f"{value[:20]!r} is none")
                self.decimal = "."
        elif place == 5:
            self._quote(number, value)
        elif place == 6:
            self.version = value.strip()
        elif place > 6:
            self._note(number, "left_out", f"#A{place}={value[:40]}", "the format has no such line")

    def _separator(self, number: int, value: str) -> None:
        named = SEPARATORS.get(value.strip().lower(), value)
        sign = named if len(named) == 1 else named.strip(" ")
        if fits_separator(sign):
            self.separator = sign
        else:
            self._note(number, "left_out", f"field separator {value[:20]!r}", "it cannot part fields")

    def _quote(self, number: int, value: str) -> None:
        sign = value.strip()
        if len(sign) > 1 or sign.isalnum():
            self._note(number, "left_out", f"text delimiter {value[:20]!r}", "it is not one sign")
        else:
            self.quote = sign

    def _find_separator(self, number: int, listed: str) -> None:
        """With no separator stated, take the sign that parts the header codes."""
        counts = {sign: listed.count(sign) for sign in (",", ";", "\t", "|")}
        self.separator = max(counts, key=lambda sign: counts[sign])
        self._note(number, "assumed", f"field separator {self.separator!r}", "the file does not say")

    def _split(self, line: str) -> tuple[list[str], bool]:
        quote = "" if self.quote == self.separator else self.quote
        fields, closed = split_line(line, self.separator, quote)
        return [text.strip() for text in fields], closed

    def _header(self, number: int, block: int, listed: str, numbered: Iterator[tuple[int, str]]) -> None:
        if not self.separator:
            self._find_separator(number, listed)
        at = self.current
        if at is None or at.has_columns or (block == 1 and at.header_lines):
            at = self._begin(number)
        codes = [code.strip() for code in listed.split(self.separator)]
        value_line, values = self._values(number, len(codes), numbered)
        for place, code in enumerate(codes):
            self._header_value(at, value_line, code, values[place] if place < len(values) else "")
        if len(values) != len(codes):
            why = f"{len(codes)} codes, {len(values)} values"
            self._note(value_line, "changed", f"header block #B{block:02d}", f"{why}; taken in order")
        for text in (t for t in values[len(codes) :] if t):
            self._note(value_line, "left_out", f"header value {text[:80]!r}", "no code stands above it")

    def _values(self, number: int, wanted: int, numbered: Iterator[tuple[int, str]]) -> tuple[int, list[str]]:
        """The line after a definition holds its values, unless that line defines something itself."""
        at = number  # lines are numbered from 1, so this is the index of the next one
        while at < len(self.lines) and not self.lines[at].strip() and wanted > 1:
            at += 1
        if at >= len(self.lines) or CONTROL.fullmatch(self.lines[at]) or END.fullmatch(self.lines[at]):
            return number, []
        for _ in range(at + 1 - number):
            next(numbered)
        fields, closed = self._split(self.lines[at])
        if not closed:
            self._note(at + 1, "changed", "header values", "a text delimiter is not closed")
        return at + 1, fields

    def _header_value(self, at: Parsed, line: int, code: str, value: str) -> None:
        if not code and not value:
            return
        if not KEY.fullmatch(code):
            self._note(line, "left_out", f"header {code[:40]!r} = {value[:80]!r}", "that is no header code")
            return
        if len(value) > MAX_CHARACTERS:
            value = self._cut(line, f"header {code}", value)
        if code in at.header:
            self._note(line, "left_out", f"header {code} = {value[:80]!r}", "the code is there already")
            return
        at.header[code], at.header_lines[code] = value, line

    def _cut(self, line: int, what: str, value: str) -> str:
        self._note(line, "changed", what, f"{len(value)} characters, cut after {MAX_CHARACTERS}")
        return value[:MAX_CHARACTERS]

    def _begin(self, line: int) -> Parsed:
        if len(self.inspections) >= MAX_INSPECTIONS:
            raise AppError("exchange_too_large", f"It has more than {MAX_INSPECTIONS:,} inspections.")
        self.current = Parsed(line, columns=self.inspections[-1].columns if self.inspections else [])
        self.inspections.append(self.current)
        return self.current

    def _columns(self, number: int, listed: str) -> None:
        if not self.separator:
            self._find_separator(number, listed)
        at = self.current
        if at is None:
            at = self._begin(number)
            self._note(number, "assumed", "a new inspection", "a column line comes without a header")
        elif at.rows:
            self._note(number, "changed", "columns", "they change in the middle of an inspection")
        columns = [name.strip() for name in listed.split(self.separator)]
        for needed, words in (("A", "main code"), ("I", "distance")):
            if needed not in columns:
                raise AppError("exchange_unreadable", f"Line {number} names no column {needed} ({words}).")
        for place, name in enumerate(columns):
            if not KEY.fullmatch(name) or name in columns[:place]:
                why = "it is named twice" if name in columns[:place] else "that is no column"
                self._note(number, "left_out", f"column {name[:40]!r}", why)
                columns[place] = ""
        at.columns, at.has_columns = columns, True

    def _row(self, number: int, line: str) -> None:
        at = self.current
        if at is None or not at.columns:
            why = "no column line stands above it" if at else "it stands outside of an inspection"
            self._note(number, "left_out", repr(line[:200]), why)
            return
        if not at.has_columns:
            at.has_columns = True
            self._note(number, "assumed", "the columns of the inspection before", "none are named here")
        if line.startswith("#"):
            self._note(number, "left_out", repr(line[:200]), "no such line is known")
            return
        self.rows += 1
        if self.rows > MAX_ROWS:
            raise AppError("exchange_too_large", f"It has more than {MAX_ROWS:,} rows.")
        fields, closed = self._split(line)
        if any(fields):
            at.rows.append(self._placed(number, line, fields, closed, at.columns))

    def _placed(self, number: int, line: str, fields: list[str], closed: bool, columns: list[str]) -> Row:
        fault = "" if closed else "a text delimiter is not closed"
        if len(fields) > len(columns) and any(fields[len(columns) :]):
            fault = fault or f"{len(fields)} fields under {len(columns)} columns"
        elif len(fields) < len(columns):
            missing = len(columns) - len(fields)
            self._note(number, "changed", "the row", f"its last {missing} fields are missing, taken as empty")
        cells = {c: v for c, v in zip(columns, fields, strict=False) if c and v}
        for name, value in cells.items():
            if len(value) > MAX_CHARACTERS:
                cells[name] = self._cut(number, f"column {name}", value)
        lost = [v for c, v in zip(columns, fields, strict=False) if not c and v]
        for value in lost:
            self._note(number, "left_out", repr(value[:200]), "its column is left out")
        return Row(number, cells, line[:MAX_CHARACTERS], fault)

    def _finish(self) -> None:
        if not self.inspections:
            raise AppError("exchange_empty")
        if not any(i.rows or any(i.header.values()) for i in self.inspections):
            raise AppError("exchange_empty")
        if self.current is not None:
            last = max((n for n, line in enumerate(self.lines, start=1) if line.strip()), default=0)
            why = "the last inspection is not ended by #Z"
            self._note(last, "assumed", "the file is complete", f"{why}; if it was cut, this line may be too")

    def _read_layout(self) -> Layout:
        language = self.language if self.language.isascii() and self.language.isalpha() else "en"
        for place, what in ((4, "decimal sign '.'"), (5, "text delimiter '\"'")):
            if place not in self.layout_lines:
                self._note(0, "assumed", what, f"there is no line #A{place}")
        return Layout(self.charset, language, self.separator, self.decimal, self.quote, self.version)
