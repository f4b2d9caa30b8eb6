"""Plain SVG elements and the colours of the drawings."""

import re
from collections.abc import Iterable
from xml.sax.saxutils import escape

INK, ACCENT, GREY, RULE, AMBER = "#1d2a30", "#0f4c5c", "#756f66", "#e4dfd7", "#a8651e"
WATER = "#6fa8c9"
STEPS = (1, 2, 5)
NO_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
FONT = 'font-family="Source Sans Pro, sans-serif"'


def text(
    x: float, y: float, words: str, size: float = 13, fill: str = GREY, anchor: str = "middle", *,
    weight: int = 400, turn: float | None = None, halo: bool = False,
) -> str:  # fmt: skip
    """Return a text element."""
    turned = f' transform="rotate({turn:g} {x:.1f} {y:.1f})"' if turn is not None else ""
    around = ' stroke="#fff" stroke-width="4" stroke-linejoin="round" paint-order="stroke"' if halo else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" {FONT} font-size="{size:g}" fill="{fill}" '
        f'text-anchor="{anchor}" font-weight="{weight}"{turned}{around}>{xml_text(words)}</text>'
    )


def xml_text(words: str) -> str:
    """Return text as it stands in XML; what XML 1.0 has no place for (section 2.2) becomes U+FFFD."""
    return escape(NO_XML.sub("\ufffd", words))


def line(
    x1: float, y1: float, x2: float, y2: float, stroke: str = RULE, width: float = 1, *, dash: str = ""
) -> str:
    """Return a line element."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke}" '
        f'stroke-width="{width:g}" stroke-linecap="round"{dashed}/>'
    )


def polygon(points: Iterable[tuple[float, float]], fill: str, more: str = "") -> str:
    """Return a polygon element."""
    listed = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polygon points="{listed}" fill="{fill}"{more}/>'
