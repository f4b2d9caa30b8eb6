"""Typst, on a folder that holds nothing but one document; in a process of its own where there are several.

Typst keeps in memory what it has set, so that the second document of a process costs as much more.
"""

import os
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import typst

from .. import paths
from ..errors import AppError
from ..process_limits import end_with

MAIN, FONTS, RESULT, FAULT = "report.typ", "fonts", "report.pdf", "fault.txt"
_NO_MEMORY = (b"memory allocation of", b"bad_alloc", b"MemoryError")


class DocumentFault(Exception):
    """What Typst found wrong with a document."""


def typeset(folder: Path, timestamp: datetime) -> bytes:
    """Return the document of a folder as PDF/A-2b and PDF/UA-1; DocumentFault where it cannot be one."""
    try:
        return typst.compile(
            folder / MAIN,
            root=folder,
            font_paths=fonts(folder / FONTS),
            format="pdf",
            pdf_standards=["a-2b", "ua-1"],
            timestamp=timestamp,
        )
    except typst.TypstError as error:
        raise DocumentFault(str(error)) from error


def fonts(folder: Path) -> typst.Fonts:
    """Those of a folder, and those that are inside Typst."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(folder)])


def typeset_apart(folder: Path, timestamp: datetime) -> bytes:
    """Do the same in a process of its own, which gives its memory back."""
    words = [sys.executable, "-P", "-m", "webapp.pack.typesetting", str(folder), timestamp.isoformat()]
    here = os.pathsep.join([str(paths.PACKAGE.parent), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
    done = subprocess.run(  # noqa: S603
        [*words, str(os.getpid())], env=os.environ | {"PYTHONPATH": here}, capture_output=True, check=False
    )
    if (folder / RESULT).exists() and done.returncode == 0:
        return (folder / RESULT).read_bytes()
    if (folder / FAULT).exists():
        raise DocumentFault((folder / FAULT).read_text(encoding="utf-8"))
    if any(words in done.stderr for words in _NO_MEMORY):
        raise MemoryError
    raise AppError("report_failed", done.stderr.decode(errors="replace")[-300:])


def main(folder: Path, timestamp: str, parent: str) -> None:
    """Typeset a folder and leave the result, or the fault, in it."""
    end_with(int(parent))
    try:
        result = typeset(folder, datetime.fromisoformat(timestamp))
    except DocumentFault as error:
        (folder / FAULT).write_text(str(error), encoding="utf-8")
        return
    (folder / RESULT).write_bytes(result)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3])
