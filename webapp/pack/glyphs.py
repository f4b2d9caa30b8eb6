"""Text that the report's fonts can show.  One uncovered character would stop the whole report.

Latin, Greek and Cyrillic come from Source Sans Pro (a package of its own): what all its upright faces have.
Its italic face has less; where it lacks a letter Typst sets that letter in the next font of the list,
Libertinus Serif, whose italic has them.  Hebrew and Arabic come from the fonts inside the Typst package; what
of them is sure is listed here and tested.
"""

import functools
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import font_source_sans_pro  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

from ..survey.wording.messages import Words, listed, message

UPRIGHT = ("SourceSansPro", "SourceSansProSemibold", "SourceSansProBold")
FACES = (*UPRIGHT, "SourceSansProIt")
MARK = "■"
BREAK = "\u200b"  # a zero width space: a line may end here
LONG_WORD, CHUNK = re.compile(r"\S{28,}"), re.compile(r".{1,14}", re.S)
# Hebrew points and letters (Libertinus Serif); Arabic and Persian letters and digits (DejaVu Sans Mono)
EMBEDDED = (
    (0x05B0, 0x05BC), (0x05C1, 0x05C2), (0x05D0, 0x05EA), (0x05F0, 0x05F4), (0x060C, 0x060C),
    (0x061B, 0x061B), (0x061F, 0x061F), (0x0621, 0x063A), (0x0640, 0x0655), (0x0660, 0x066D),
    (0x067E, 0x067E), (0x0686, 0x0686), (0x0698, 0x0698), (0x06A9, 0x06A9), (0x06AF, 0x06AF),
    (0x06CC, 0x06CC), (0x06F0, 0x06F9),
)  # fmt: skip
VARIATION = ((0xFE00, 0xFE0F), (0xE0100, 0xE01EF))


def font_files(faces: Iterable[str] = FACES) -> list[Path]:
    """Return the font files of the report."""
    return [Path(font_source_sans_pro.font_files_ttf[face]) for face in faces]


@functools.cache
def _own() -> frozenset[int]:
    shared: set[int] | None = None
    for path in font_files(UPRIGHT):
        with TTFont(path, lazy=True) as font:
            points = set(font.getBestCmap())
        shared = points if shared is None else shared & points
    return frozenset(shared or ())


@functools.cache
def coverage(embedded: bool = True) -> frozenset[int]:
    """Return the code points that can be shown, with or without the fonts inside Typst."""
    extra = {c for low, high in EMBEDDED for c in range(low, high + 1)} if embedded else set()
    return frozenset(_own() | extra)


@functools.cache
def _plain(embedded: bool) -> frozenset[str]:
    """Return the characters that need no second look."""
    shown = (chr(c) for c in coverage(embedded))
    return frozenset(c for c in shown if unicodedata.category(c)[0] not in "CM") | {"\n", "\t", " "}


class Cleaner:
    """Replaces what cannot be printed and counts it; ``job.json`` keeps everything as typed."""

    def __init__(self, embedded: bool = True) -> None:
        self._shown, self._plain = coverage(embedded), _plain(embedded)
        self.scripts: Counter[str] = Counter()

    @property
    def replaced(self) -> int:
        """Return how many characters were replaced."""
        return self.scripts.total()

    def sentence(self, words: Words) -> str:
        """Return what could not be printed, by script, as a sentence; empty where all could."""
        if not self.scripts:
            return ""
        scripts = {
            name: message(words, f"pack.glyphs.{name}", {}) if f"pack.glyphs.{name}" in words else name
            for name in self.scripts
        }
        named = listed(words, (f"{scripts[name]} {count}" for name, count in sorted(self.scripts.items())))
        values: dict[str, str | int] = {"n": self.replaced, "mark": MARK, "scripts": named}
        return message(words, "pack.glyphs.replaced", values)

    def line(self, value: str) -> str:
        """Return ``value`` with only what the fonts can show."""
        value = unicodedata.normalize("NFC", value)
        if self._plain.issuperset(value):
            return value
        kept: list[str] = []
        for char in value:
            kept += self._char(char, kept[-1] if kept else "")
        return "".join(kept)

    def text(self, value: str) -> str:
        """Return :meth:`line` with places to break in words that are longer than a column."""
        return LONG_WORD.sub(lambda word: BREAK.join(CHUNK.findall(word[0])), self.line(value))

    def drawn(self, value: str) -> str:
        """Return :meth:`line` for a drawing: no combining marks there, and nothing counted twice."""
        before = self.scripts.copy()
        kept = "".join(c for c in self.line(value) if not unicodedata.category(c).startswith("M"))
        self.scripts = before
        return kept

    def _char(self, char: str, before: str) -> str:
        point, category = ord(char), unicodedata.category(char)
        if char in "\n\t ":
            return char
        if char == "\r" or category == "Cf" or any(low <= point <= high for low, high in VARIATION):
            return ""  # line ends of other systems, direction marks, joiners, variation selectors
        shown = point in self._shown and category not in ("Cc", "Cs", "Co", "Cn")
        if shown and (category != "Mn" or _carries(before, char)):
            return char
        self.scripts[script_name(char)] += 1
        return MARK

    def whole(self, value: Any) -> Any:
        """Return a JSON value with every text in it cleaned."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, list | tuple):
            return [self.whole(v) for v in value]
        if isinstance(value, dict):
            return {k: self.whole(v) for k, v in value.items()}
        return value


def script_name(char: str) -> str:
    """Return the script of a letter as Unicode's names begin with it; what is no letter is a symbol."""
    if unicodedata.category(char)[0] not in "LMN":
        return "symbols"
    first = unicodedata.name(char, "").split(" ")[0]
    if first in ("CJK", "IDEOGRAPHIC"):
        return "ideographs"
    return first.capitalize() if first.isalpha() else "unknown"


def _carries(before: str, mark: str) -> bool:
    """Say whether one font shows both: a mark on a letter of another script has none."""
    return bool(before) and before != MARK and _script(before) == _script(mark)


def _script(char: str) -> int:
    point = ord(char)
    return 1 if 0x0590 <= point < 0x0600 else 2 if 0x0600 <= point < 0x0700 else 0
