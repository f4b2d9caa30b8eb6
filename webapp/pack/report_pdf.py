"""report.pdf: PDF/A-2b and PDF/UA-1, set by Typst in a folder of its own that holds nothing else.

A report of many runs has further files, report_2.pdf and so on (report_parts.py).
"""

import dataclasses
import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import typst

from ..errors import AppError
from ..report_model.contents import PackContents
from .drawing import run_svgs
from .glyphs import Cleaner, font_files
from .pictures import picture
from .plan_drawing import plan_svg
from .report import Drawings, report_data
from .report_parts import Part, parts, whole
from .report_records import Pictures
from .stand_ins import put_in, stand_in
from .template import CONTINUED, FIRST, PART, WHOLE, template
from .typesetting import FONTS, MAIN, DocumentFault, fonts, typeset, typeset_apart

FILENAME = "report.pdf"
MEDIA_TYPE = "application/pdf"
PHOTOS = "photos"
UNDATED = datetime(2000, 1, 1, tzinfo=UTC)

Step = Callable[[], None]


@dataclass(frozen=True)
class _Document:
    """One file of the report: what is printed of what, in which folder."""

    contents: PackContents
    folder: Path
    pictures: Pictures
    template: str
    part: Part | None = None
    elsewhere: tuple[Part, ...] = ()


def files(contents: PackContents, step: Step = lambda: None) -> Iterator[tuple[str, bytes]]:
    """Yield the files of the report by their names; ``step`` is called after each photo."""
    first, *later = parts(contents, FILENAME)
    if not later:
        yield FILENAME, render(contents, step)
        return
    with tempfile.TemporaryDirectory(prefix="fallbook-report-") as name:
        folder = Path(name)
        pictures = _set_parts(contents, later, folder, step)
        in_runs = {p.sha256 for run in contents.runs for p in whole(run).all_photos}
        of_job = tuple(p for p in contents.photos if p.sha256 not in in_runs)
        place = folder / "first"
        pictures |= _write_pictures(dataclasses.replace(contents, photos=of_job), place, step)
        document = _Document(contents, place, pictures, FIRST, elsewhere=tuple(later))
        yield first.filename, _set(document, typeset_apart)
        for part in later:
            yield part.filename, (folder / part.filename).read_bytes()


def render(contents: PackContents, step: Step = lambda: None) -> bytes:
    """Return the report in one file, however many runs it has."""
    with tempfile.TemporaryDirectory(prefix="fallbook-report-") as name:
        folder = Path(name)
        pictures = _write_pictures(contents, folder, step)
        return _set(_Document(contents, folder, pictures, WHOLE), typeset)


def _set_parts(contents: PackContents, later: list[Part], folder: Path, step: Step) -> Pictures:
    """Write the parts beside each other; return how each photo fared."""
    found: Pictures = {}
    for part in later:
        of_part, place = part.contents(contents), folder / "part"
        pictures = _write_pictures(of_part, place, step)
        form = CONTINUED if part.continued else PART
        data = _set(_Document(of_part, place, pictures, form, part), typeset_apart)
        (folder / part.filename).write_bytes(data)
        shutil.rmtree(place)
        found |= pictures
    return found


def _set(document: _Document, by: Callable[[Path, datetime], bytes]) -> bytes:
    (document.folder / FONTS).mkdir(parents=True, exist_ok=True)
    report_fonts(document.folder / FONTS)
    (document.folder / MAIN).write_text(template(document.template), encoding="utf-8")
    timestamp = dated(document.contents.dated_at)
    photos = {int(path.stem): path for path in (document.folder / PHOTOS).glob("*.jpg")}
    try:
        _write_data(document, Cleaner())
        return put_in(by(document.folder, timestamp), photos)
    except DocumentFault:
        # A cluster that the fonts inside Typst cannot shape; then only what our own font surely has.
        try:
            _write_data(document, Cleaner(embedded=False))
            return put_in(by(document.folder, timestamp), photos)
        except DocumentFault as error:
            raise AppError("report_failed", str(error)[:300]) from error


def _write_pictures(contents: PackContents, folder: Path, step: Step) -> Pictures:
    (folder / PHOTOS).mkdir(parents=True)
    pictures: Pictures = {}
    for photo in contents.photos:
        if photo.sha256 not in pictures:
            found = picture(photo.sha256, contents.photo_bytes)
            number = len(pictures)
            name = f"/photo{number}.jpg"
            if found.data is not None:
                (folder / name[1:]).write_bytes(stand_in(found.data, number))
                (folder / PHOTOS / f"{number}.jpg").write_bytes(found.data)
            pictures[photo.sha256] = (name, dataclasses.replace(found, data=None))
        step()
    return pictures


def _write_data(document: _Document, cleaner: Cleaner) -> None:
    contents = document.contents
    drawn = document.template in (WHOLE, PART)
    drawings = _write_drawings(contents, document.folder, cleaner) if drawn else {}
    data = cleaner.whole(report_data(contents, document.pictures, drawings, document.part))
    if lacking := cleaner.sentence(contents.words):
        data["warnings"].append([lacking, ""])
    if document.elsewhere:
        _without_runs(data, contents, document.elsewhere)
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    (document.folder / "data.json").write_text(text, encoding="utf-8")


def _write_drawings(contents: PackContents, folder: Path, cleaner: Cleaner) -> Drawings:
    drawings: Drawings = {}
    for place, run in enumerate(contents.runs):
        for strip, svg in enumerate(run_svgs(contents.words, run, cleaner.drawn)):
            drawings.setdefault(run.record_id, []).append(f"/run{place}-{strip}.svg")
            (folder / f"run{place}-{strip}.svg").write_text(svg, encoding="utf-8")
        if plan := plan_svg(contents.words, run, cleaner.drawn):
            drawings[f"{run.record_id} plan"] = [f"/plan{place}.svg"]
            (folder / f"plan{place}.svg").write_text(plan, encoding="utf-8")
    return drawings


def _without_runs(data: dict[str, Any], contents: PackContents, later: tuple[Part, ...]) -> None:
    """Say where the runs are; what led to one of them leads nowhere."""
    ids = (run.record_id for run in contents.runs)
    refs = {key: run["ref"] for key, run in zip(ids, data["runs"], strict=True)}  # as they can be printed
    data["elsewhere"] = [[refs[p.run.record_id], part.filename] for part in later for p in part.pieces]
    data["runs"] = []
    for name in ("warnings", "all_warnings"):
        data[name] = [[words, "" if to.startswith("run-") else to] for words, to in data[name]]


def report_fonts(folder: Path) -> typst.Fonts:
    """The four faces alone: a folder with more of them might be read in another order elsewhere."""
    for path in font_files():
        shutil.copyfile(path, folder / path.name)
    return fonts(folder)


def dated(stamp: str) -> datetime:
    """Return the date of the pack: from its records, never from a clock."""
    try:
        found = datetime.fromisoformat(stamp)
        found = (found if found.tzinfo else found.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, OverflowError):
        return UNDATED
    return found.replace(microsecond=0) if found.year >= 1970 else UNDATED
