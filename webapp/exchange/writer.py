"""Inspections -> the bytes of an exchange file.  Always CR LF, always a last #Z."""

from collections.abc import Iterable, Sequence

from ..messages import t
from . import headers
from .model import CHARSETS, Cell, Inspection, Layout, Written
from .text import field_text, fit_charset, number_text, one_line

FIRST_COLUMNS = ("I", "J", "A", "B", "C", "D", "E", "G", "H", "K")
DISTANCE, REMARK, PHOTO = "I", "F", "M"
DISTANCE_DECIMALS = 2
MAX_LISTED = 200


def compose(inspections: Iterable[Inspection], layout: Layout) -> Written:
    """Return an exchange file and which characters had to be put otherwise."""
    layout.check()
    page = _Page(layout)
    page.head()
    for inspection in inspections:
        page.inspection(inspection)
    text = "".join(f"{line}\r\n" for line in page.lines)
    return Written(text.encode(CHARSETS[layout.charset]), tuple(page.replaced))


class _Page:
    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.lines: list[str] = []
        self.replaced: list[str] = []

    def head(self) -> None:
        at = self.layout
        values = (at.charset, at.language, at.separator, at.decimal, at.quote, at.version)
        self.lines += [f"#A{place}={value}" for place, value in enumerate(values, start=1)]

    def inspection(self, inspection: Inspection) -> None:
        """Spell everything first: only then is it known what is empty."""
        run, sign = str(inspection.header.get("AAA", "")), self.layout.separator
        header = {
            c: self._field(v, t("exchange.written_header", run=run, code=c))
            for c, v in inspection.header.items()
        }
        for place, codes in enumerate(_blocks(header), start=1):
            self.lines.append(f"#B{place:02d}={sign.join(codes)}")
            self.lines.append(sign.join(header[code] for code in codes))
        rows = [self._row(row, run) for row in inspection.rows]
        columns = _columns(rows)
        self.lines.append(f"#C={sign.join(columns)}")
        self.lines += [sign.join(row.get(column, "") for column in columns) for row in rows]
        self.lines.append("#Z")

    def _row(self, row: dict[str, Cell], run: str) -> dict[str, str]:
        where = t(
            "exchange.written_row",
            run=run,
            code=row.get("A", ""),
            distance=self._number(row.get(DISTANCE, ""), DISTANCE_DECIMALS),
        )
        return {
            column: self._number(value, DISTANCE_DECIMALS)
            if column == DISTANCE and not isinstance(value, str)
            else self._field(value, t("exchange.written_column", where=where, column=column))
            for column, value in row.items()
        }

    def _number(self, value: Cell, decimals: int | None = None) -> str:
        return value if isinstance(value, str) else number_text(value, self.layout.decimal, decimals)

    def _field(self, value: Cell, where: str) -> str:
        if not isinstance(value, str):
            return self._number(value)
        fitted, changes = fit_charset(one_line(value), self.layout.charset)
        text, more = field_text(fitted, self.layout)
        for change in dict.fromkeys([*changes, *more]):
            self._note(f"{where}: {change}")
        return text

    def _note(self, sentence: str) -> None:
        if len(self.replaced) < MAX_LISTED:
            self.replaced.append(sentence)
        elif len(self.replaced) == MAX_LISTED:
            self.replaced.append(t("exchange.written_more", most=MAX_LISTED))


def _blocks(header: dict[str, str]) -> list[list[str]]:
    """Header codes with a value, in the table's order, in blocks: place, inspection, pipe, the rest."""
    order = {code: place for place, code in enumerate(headers.rows())}
    given = [c for c, v in header.items() if v != ""]
    given.sort(key=lambda code: (order.get(code, len(order)), code))
    blocks: dict[str, list[str]] = {}
    for code in given:
        name = "Z" if code not in order else "AC" if code.startswith("AD") else code[:2]
        blocks.setdefault(name, []).append(code)
    return [blocks[name] for name in sorted(blocks)]


def _columns(rows: Sequence[dict[str, str]]) -> list[str]:
    """Those always written, then what else a row of this inspection has; the remark last."""
    used = {column for row in rows for column, value in row.items() if value != ""}
    others = sorted(used - set(FIRST_COLUMNS) - {REMARK, PHOTO})
    between = sorted({*others, PHOTO}, key=lambda c: (c not in headers.known_columns(), c))
    return [*FIRST_COLUMNS, *between, REMARK]
