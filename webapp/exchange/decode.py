"""Bytes -> lines of text: is it such a file at all, which character set, which line ends."""

import codecs
import re

from ..errors import AppError
from ..messages import t
from .model import Note

MAX_BYTES = 20_000_000
LOOKED_AT_BYTES = 4_096
FIRST_LINE = re.compile(rb"(?:\xef\xbb\xbf)?\s*#(?:A[1-9]|B\d{1,3})=")
CHARSET_LINE = re.compile(rb"^(?:\xef\xbb\xbf)?#A1=([^\r\n]*)", re.M)
NAMES = {
    "iso88591": "ISO-8859-1", "latin1": "ISO-8859-1", "windows1252": "ISO-8859-1", "cp1252": "ISO-8859-1",
    "ascii": "ISO-8859-1", "usascii": "ISO-8859-1", "utf8": "UTF-8",
}  # fmt: skip
UNPRINTABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")


def looks_like(data: bytes) -> bool:
    """Say whether bytes (the first few hundred are enough) begin like an exchange file."""
    return bool(FIRST_LINE.match(data[:LOOKED_AT_BYTES]))


def decode(data: bytes) -> tuple[list[str], str, list[Note]]:
    """Return the lines of a file, its character set and what had to be assumed."""
    _refuse(data)
    notes: list[Note] = []
    charset, text = _text(data, notes)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    cleaned = []
    for number, line in enumerate(lines, start=1):
        plain = UNPRINTABLE.sub("?", line)
        if plain != line:
            notes.append(Note(number, "changed", t("exchange.unprintable"), t("exchange.now_question_mark")))
        cleaned.append(plain)
    return cleaned, charset, notes


def _refuse(data: bytes) -> None:
    if len(data) > MAX_BYTES:
        raise AppError("exchange_too_large", t("exchange.size", size_mb=f"{len(data) / 1e6:.0f}"))
    if not data.strip(b"\xef\xbb\xbf \t\r\n"):
        raise AppError("exchange_empty")
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise AppError("exchange_unreadable", t("exchange.utf16"))
    if not looks_like(data):
        raise AppError("exchange_unreadable", t("exchange.no_first_line"))
    if b"\0" in data:
        raise AppError("exchange_unreadable", t("exchange.no_text"))


def _text(data: bytes, notes: list[Note]) -> tuple[str, str]:
    found = CHARSET_LINE.search(data[:LOOKED_AT_BYTES])
    named = found[1].decode("latin-1").strip() if found else ""
    charset = NAMES.get(re.sub(r"[^a-z0-9]", "", named.lower()), "")
    if data.startswith(codecs.BOM_UTF8):
        data = data[len(codecs.BOM_UTF8) :]
        if charset != "UTF-8":
            notes.append(Note(1, "assumed", t("exchange.charset_utf8"), t("exchange.mark_of_utf8")))
            charset = "UTF-8"
    if charset == "ISO-8859-1":
        _suspect(data, notes)
        return charset, _latin(data)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        if error.end == len(data) and error.start > 0 and "end of data" in error.reason:
            notes.append(Note(line, "left_out", t("exchange.last_character"), t("exchange.cut_inside")))
            return "UTF-8", data[: error.start].decode("utf-8")
        notes.append(Note(line, "assumed", t("exchange.charset_latin"), t("exchange.not_utf8")))
        return "ISO-8859-1", _latin(data)
    if not charset:
        why = (
            t("exchange.charset_unknown", named=f"{named[:40]!r}") if named else t("exchange.charset_unsaid")
        )
        notes.append(Note(1, "assumed", t("exchange.charset_utf8"), why))
    return "UTF-8", text


def _latin(data: bytes) -> str:
    """ISO-8859-1 has no letters from 0x80 to 0x9F; files that use them mean Windows 1252."""
    text = data.decode("latin-1")
    return re.sub(r"[\x80-\x9f]", lambda m: m[0].encode("latin-1").decode("cp1252", "replace"), text)


def _suspect(data: bytes, notes: list[Note]) -> None:
    if data.isascii():
        return
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return
    why = t("exchange.also_utf8")
    notes.append(Note(1, "assumed", t("exchange.charset_latin"), why))
