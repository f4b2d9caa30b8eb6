"""report.pdf: PDF/A-2b and PDF/UA-1, set by Typst in a folder of its own that holds nothing else."""

import dataclasses
import json
import shutil
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import typst

from .. import paths
from ..errors import AppError
from ..report_model.contents import PackContents
from .drawing import run_svgs
from .glyphs import Cleaner, font_files
from .pictures import picture
from .plan_drawing import plan_svg
from .report import Drawings, Pictures, report_data

FILENAME = "report.pdf"
MEDIA_TYPE = "application/pdf"
UNDATED = datetime(2000, 1, 1, tzinfo=UTC)

Step = Callable[[], None]


def render(contents: PackContents, step: Step = lambda: None) -> bytes:
    """Return the file; ``step`` is called after each photo."""
    with tempfile.TemporaryDirectory(prefix="fallbook-report-") as name:
        folder = Path(name)
        (folder / "fonts").mkdir()
        pictures = _write_pictures(contents, folder, step)
        try:
            return _compile(contents, folder, pictures, Cleaner())
        except typst.TypstError:
            # A cluster that the fonts inside Typst cannot shape; then only what our own font surely has.
            try:
                return _compile(contents, folder, pictures, Cleaner(embedded=False))
            except typst.TypstError as error:
                raise AppError("report_failed", str(error)[:300]) from error


def _write_pictures(contents: PackContents, folder: Path, step: Step) -> Pictures:
    pictures: Pictures = {}
    for photo in contents.photos:
        if photo.sha256 not in pictures:
            found = picture(photo.sha256, contents.photo_bytes)
            name = f"/photo{len(pictures)}.jpg"
            if found.data is not None:
                (folder / name[1:]).write_bytes(found.data)
            pictures[photo.sha256] = (name, dataclasses.replace(found, data=None))
        step()
    return pictures


def _compile(contents: PackContents, folder: Path, pictures: Pictures, cleaner: Cleaner) -> bytes:
    drawings: Drawings = {}
    for place, run in enumerate(contents.runs):
        for strip, svg in enumerate(run_svgs(contents.words, run, cleaner.drawn)):
            drawings.setdefault(run.record_id, []).append(f"/run{place}-{strip}.svg")
            (folder / f"run{place}-{strip}.svg").write_text(svg, encoding="utf-8")
        if plan := plan_svg(contents.words, run, cleaner.drawn):
            drawings[f"{run.record_id} plan"] = [f"/plan{place}.svg"]
            (folder / f"plan{place}.svg").write_text(plan, encoding="utf-8")
    data = cleaner.whole(report_data(contents, pictures, drawings))
    if lacking := cleaner.sentence(contents.words):
        data["warnings"].append([lacking, ""])
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    (folder / "data.json").write_text(text, encoding="utf-8")
    main = folder / "report.typ"
    shutil.copyfile(paths.TEMPLATES / "print" / "report.typ", main)
    return typst.compile(
        main,
        root=folder,
        font_paths=report_fonts(folder / "fonts"),
        format="pdf",
        pdf_standards=["a-2b", "ua-1"],
        timestamp=dated(contents.dated_at),
    )


def report_fonts(folder: Path) -> typst.Fonts:
    """The four faces alone: a folder with more of them might be read in another order elsewhere."""
    for path in font_files():
        shutil.copyfile(path, folder / path.name)
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(folder)])


def dated(stamp: str) -> datetime:
    """Return the date of the pack: from its records, never from a clock."""
    try:
        found = datetime.fromisoformat(stamp)
        found = (found if found.tzinfo else found.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):
        return UNDATED
    return found.replace(microsecond=0) if found.year >= 1970 else UNDATED
