"""A QR code on the terminal, where there is one that can show it."""

import io
import shutil
import sys

import segno

from ...messages import t
from ..output import say

_WHITE_ON_BLACK, _AS_BEFORE = "\x1b[97;40m", "\x1b[0m"


def lines_of(text: str) -> list[str]:
    """Return the QR code of a text in half blocks, light where the terminal writes."""
    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue().splitlines()


def show(text: str) -> None:
    """Print the QR code of a text on a terminal; elsewhere nothing, for nobody scans a file."""
    if sys.stdout is None or not sys.stdout.isatty():
        return
    lines = lines_of(text)
    try:
        "".join(lines).encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        say(t("cli.qr_not_shown"))
        return
    if shutil.get_terminal_size().columns < len(lines[0]):
        say(t("cli.qr_too_wide"))
        return
    for line in lines:  # in these colours, so that it is no negative on a light terminal
        say(f"{_WHITE_ON_BLACK}{line}{_AS_BEFORE}")
