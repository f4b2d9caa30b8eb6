"""Text and numbers as a file holds them: what a character set lacks, what would break a line, fields."""

import math
import re
import unicodedata

from ..messages import t
from ..survey.numbers.decimals import MINUS, decimal_text
from .model import Layout

BREAKS = re.compile(r"[ \t]*(?:\r\n|[\n\r\x0b\x0c\x1c-\x1e\x85\u2028\u2029])+[ \t]*")
UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")
NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)", re.ASCII)
MAX_DIGITS = 30
MAX_DECIMALS = 6
# Characters that Latin 1 lacks and people type: written so that the meaning stays.
SPELLED = {
    "–": "-", "—": "-", "‐": "-", "‑": "-", "−": "-", "‘": "'", "’": "'", "‚": "'", "“": '"', "”": '"',
    "„": '"', "…": "...", "•": "*", "€": "EUR", "≥": ">=", "≤": "<=", "≈": "~", "→": "->", "←": "<-",
    "∅": "dia. ", "⌀": "dia. ", "Œ": "OE", "œ": "oe", "Ł": "L", "ł": "l", "Đ": "D", "đ": "d", "ı": "i",
    "ẞ": "SS", "‰": "o/oo", "′": "'", "″": '"', "™": "TM", "№": "No.", "Ħ": "H", "ħ": "h", "Ŧ": "T",
    "ŧ": "t",
}  # fmt: skip


def one_line(text: str) -> str:
    """Return text on one line, without characters that cannot be printed."""
    joined = BREAKS.sub(" / ", text.strip())
    return UNPRINTABLE.sub("?", joined.replace("\t", " ")).strip()


def fit_charset(text: str, charset: str) -> tuple[str, list[str]]:
    """Return text that the character set can hold, and what was put otherwise ("ž as z")."""
    if charset == "UTF-8":
        return text, []
    found: list[str] = []
    changes: list[str] = []
    for sign in unicodedata.normalize("NFC", text):
        if ord(sign) < 256:
            found.append(sign)
            continue
        other = SPELLED.get(sign) or _without_marks(sign)
        found.append(other)
        changes.append(
            t("exchange.letter_spelled", sign=sign, code=f"{ord(sign):04X}", other=other)
            if other
            else t("exchange.letter_left_out", code=f"{ord(sign):04X}")
        )
    return "".join(found).strip(), changes


def _without_marks(sign: str) -> str:
    if unicodedata.combining(sign) or sign in "\u200b\u200c\u200d\u200e\u200f\ufe0e\ufe0f\ufeff":
        return ""
    parts = unicodedata.normalize("NFKD", sign)
    plain = "".join(p for p in parts if not unicodedata.combining(p))
    return plain if plain and all(32 <= ord(p) < 127 for p in plain) else "?"


def number_text(value: float, decimal: str, decimals: int | None = None) -> str:
    """Return a number without thousands sign or exponent, with so many decimals or as few as it needs."""
    if decimals is not None:
        text = decimal_text(value, decimals).replace(MINUS, "-")  # as every other page rounds it
    else:
        text = f"{round(value, MAX_DECIMALS) + 0.0:.{MAX_DECIMALS}f}".rstrip("0").rstrip(".")
    return text.replace(".", decimal)


def read_number(text: str) -> float | None:
    """Return the number that a field holds, with a decimal point or comma; None if it is none."""
    stripped = text.strip()
    if len(stripped) > MAX_DIGITS or not NUMBER.fullmatch(stripped):
        return None
    value = float(stripped.replace(",", "."))
    if not math.isfinite(value):
        return None
    return int(value) if value.is_integer() else value


def field_text(text: str, layout: Layout) -> tuple[str, list[str]]:
    """Return a field as it stands in a line, and what had to be put otherwise."""
    changes = []
    if layout.quote and layout.quote in text:
        other = "'" if layout.quote == '"' else "`"
        text = text.replace(layout.quote, other)
        changes.append(t("exchange.spelled", sign=layout.quote, other=other))
    risky = layout.separator in text or text.startswith("#") or text != text.strip()
    if not risky:
        return text, changes
    if layout.quote:
        return f"{layout.quote}{text}{layout.quote}", changes
    other = "/" if layout.separator != "/" else ";"
    if layout.separator in text:
        text = text.replace(layout.separator, other)
        changes.append(t("exchange.spelled", sign=layout.separator, other=other))
    if text.startswith("#"):
        text = f"No. {text.lstrip('#').strip()}".strip()
        changes.append(t("exchange.hash_spelled"))
    return text, changes


def split_line(line: str, separator: str, quote: str) -> tuple[list[str], bool]:
    """Return the fields of a line, and whether every text delimiter was closed."""
    if not quote or quote not in line:
        return line.split(separator), True
    fields, at, closed = [], 0, True
    while True:
        text, at, whole = _next_field(line, at, separator, quote)
        fields.append(text)
        closed = closed and whole
        if at > len(line):
            return fields, closed


def _next_field(line: str, at: int, separator: str, quote: str) -> tuple[str, int, bool]:
    """A field begins quoted or is taken as it stands; a delimiter inside it, doubled, is one."""
    if not line.startswith(quote, at):
        end = line.find(separator, at)
        end = len(line) if end < 0 else end
        return line[at:end], end + 1, True
    found: list[str] = []
    here = at + 1
    while True:
        end = line.find(quote, here)
        if end < 0:
            return "".join([*found, line[here:]]), len(line) + 1, False
        found.append(line[here:end])
        if line.startswith(quote, end + 1):
            found.append(quote)
            here = end + 2
            continue
        after = line.find(separator, end + 1)
        after = len(line) if after < 0 else after
        return "".join([*found, line[end + 1 : after]]), after + 1, True
