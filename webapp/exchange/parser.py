"""Lines -> layout, inspections with their header values and rows, every one with its line number."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from ..errors import AppError
from ..messages import t
from .decode import decode
from .model import Layout, Note, fits_separator
from .text import fit_charset, split_line

MAX_ROWS = 100_000
MAX_INSPECTIONS = 20_000
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
            self._note(number, "left_out", f"#A{place}={value[:40]}", t("exchange.after_first"))
            return
        if place in self.layout_lines:
            self._note(number, "changed", f"#A{place}", t("exchange.line_twice"))
        self.layout_lines[place] = number
        if place == 2:
            self.language = value.strip()
        elif place == 3:
            self._separator(number, value)
        elif place == 4:
            self.decimal = value.strip()
            if self.decimal not in (".", ","):
                self._note(
                    number,
                    "assumed",
                    t("exchange.decimal_point"),
                    t("exchange.is_none", value=f"{value[:20]!r}"),
                )
                self.decimal = "."
        elif place == 5:
            self._quote(number, value)
        elif place == 6:
            self.version = value.strip()
        elif place > 6:
            self._note(number, "left_out", f"#A{place}={value[:40]}", t("exchange.no_such_line"))

    def _separator(self, number: int, value: str) -> None:
        named = SEPARATORS.get(value.strip().lower(), value)
        sign = named if len(named) == 1 else named.strip(" ")
        if fits_separator(sign):
            self.separator = sign
        else:
            self._note(
                number,
                "left_out",
                t("exchange.separator_named", separator=f"{value[:20]!r}"),
                t("exchange.cannot_part"),
            )

    def _quote(self, number: int, value: str) -> None:
        sign = value.strip()
        if len(sign) > 1 or sign.isalnum():
            self._note(
                number,
                "left_out",
                t("exchange.delimiter_named", delimiter=f"{value[:20]!r}"),
                t("exchange.not_one_sign"),
            )
        else:
            self.quote = sign

    def _find_separator(self, number: int, listed: str) -> None:
        """With no separator stated, take the sign that parts the header codes."""
        counts = {sign: listed.count(sign) for sign in (",", ";", "\t", "|")}
        self.separator = max(counts, key=lambda sign: counts[sign])
        self._note(
            number,
            "assumed",
            t("exchange.separator_named", separator=f"{self.separator!r}"),
            t("exchange.unsaid"),
        )

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
            why = t("exchange.header_counts", codes=len(codes), values=len(values))
            self._note(value_line, "changed", t("exchange.header_block", block=f"{block:02d}"), why)
        for text in filter(None, values[len(codes) :]):
            self._note(
                value_line,
                "left_out",
                t("exchange.header_value", value=f"{text[:80]!r}"),
                t("exchange.no_code_above"),
            )

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
            self._note(at + 1, "changed", t("exchange.header_values"), t("exchange.delimiter_open"))
        return at + 1, fields

    def _header_value(self, at: Parsed, line: int, code: str, value: str) -> None:
        if not code and not value:
            return
        if not KEY.fullmatch(code):
            self._note(
                line,
                "left_out",
                t("exchange.header_is", code=f"{code[:40]!r}", value=f"{value[:80]!r}"),
                t("exchange.no_header_code"),
            )
            return
        if len(value) > MAX_CHARACTERS:
            value = self._cut(line, t("exchange.header", code=code), value)
        if code in at.header:
            self._note(
                line,
                "left_out",
                t("exchange.header_is", code=code, value=f"{value[:80]!r}"),
                t("exchange.code_twice"),
            )
            return
        at.header[code], at.header_lines[code] = value, line

    def _cut(self, line: int, what: str, value: str) -> str:
        self._note(line, "changed", what, t("exchange.cut_after", count=len(value), most=MAX_CHARACTERS))
        return value[:MAX_CHARACTERS]

    def _begin(self, line: int) -> Parsed:
        if len(self.inspections) >= MAX_INSPECTIONS:
            raise AppError(
                "exchange_too_large", t("exchange.too_many_inspections", most=f"{MAX_INSPECTIONS:,}")
            )
        self.current = Parsed(line, columns=self.inspections[-1].columns if self.inspections else [])
        self.inspections.append(self.current)
        return self.current

    def _columns(self, number: int, listed: str) -> None:
        if not self.separator:
            self._find_separator(number, listed)
        at = self.current
        if at is None:
            at = self._begin(number)
            self._note(number, "assumed", t("exchange.new_inspection"), t("exchange.column_line_alone"))
        elif at.rows:
            self._note(number, "changed", t("exchange.columns"), t("exchange.columns_change"))
        columns = [name.strip() for name in listed.split(self.separator)]
        for needed in ("A", "I"):
            if needed not in columns:
                raise AppError("exchange_unreadable", t(f"exchange.no_column_{needed.lower()}", line=number))
        for place, name in enumerate(columns):
            if not KEY.fullmatch(name) or name in columns[:place]:
                why = t("exchange.named_twice") if name in columns[:place] else t("exchange.no_column")
                self._note(number, "left_out", t("exchange.column", column=f"{name[:40]!r}"), why)
                columns[place] = ""
        at.columns, at.has_columns = columns, True

    def _row(self, number: int, line: str) -> None:
        at = self.current
        if at is None or not at.columns:
            why = t("exchange.no_column_line") if at else t("exchange.outside")
            self._note(number, "left_out", repr(line[:200]), why)
            return
        if not at.has_columns:
            at.has_columns = True
            self._note(number, "assumed", t("exchange.columns_before"), t("exchange.columns_unnamed"))
        if line.startswith("#"):
            self._note(number, "left_out", repr(line[:200]), t("exchange.line_unknown"))
            return
        self.rows += 1
        if self.rows > MAX_ROWS:
            raise AppError("exchange_too_large", t("exchange.too_many_rows", most=f"{MAX_ROWS:,}"))
        fields, closed = self._split(line)
        if any(fields):
            at.rows.append(self._placed(number, line, fields, closed, at.columns))

    def _placed(self, number: int, line: str, fields: list[str], closed: bool, columns: list[str]) -> Row:
        fault = "" if closed else t("exchange.delimiter_open")
        if len(fields) > len(columns) and any(fields[len(columns) :]):
            fault = fault or t("exchange.too_many_fields", fields=len(fields), columns=len(columns))
        elif len(fields) < len(columns):
            missing = len(columns) - len(fields)
            self._note(number, "changed", t("exchange.row"), t("exchange.fields_missing", missing=missing))
        cells = {c: v for c, v in zip(columns, fields, strict=False) if c and v}
        for name, value in cells.items():
            if len(value) > MAX_CHARACTERS:
                cells[name] = self._cut(number, t("exchange.column", column=name), value)
        lost = [v for c, v in zip(columns, fields, strict=False) if not c and v]
        for value in lost:
            self._note(number, "left_out", repr(value[:200]), t("exchange.column_left_out"))
        return Row(number, cells, line[:MAX_CHARACTERS], fault)

    def _finish(self) -> None:
        if not self.inspections:
            raise AppError("exchange_empty")
        if not any(i.rows or any(map(_is_visible, i.header.values())) for i in self.inspections):
            raise AppError("exchange_empty")
        if self.current is not None:
            last = max((n for n, line in enumerate(self.lines, start=1) if line.strip()), default=0)
            why = t("exchange.not_ended")
            self._note(last, "assumed", t("exchange.complete"), why)

    def _read_layout(self) -> Layout:
        language = self.language if self.language.isascii() and self.language.isalpha() else "en"
        for place, what in ((4, t("exchange.decimal_point")), (5, t("exchange.delimiter_quotes"))):
            if place not in self.layout_lines:
                self._note(0, "assumed", what, t("exchange.no_line", place=place))
        return Layout(self.charset, language, self.separator, self.decimal, self.quote, self.version)


def _is_visible(value: str) -> bool:
    """Say whether anything of a value is left when it is written: a byte order mark alone is not."""
    return bool(fit_charset(value, "ISO-8859-1")[0])
