"""The pages of the office: jobs on this server, one job, its packs."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, TypedDict

from flask import Blueprint, Response, current_app, render_template, request
from sqlalchemy import Connection

from ..access import guard
from ..access.permissions import FIELD
from ..config import KeepDays
from ..messages import t
from ..office.index import Index
from ..office.kept import NotReady
from ..office.pages import LISTED, Reader
from ..records.fold import AnyRecord
from ..store import photo_rows
from ..store.damage import one_job
from ..store.rows import PhotoRow
from ..web.office_page import View
from ..web.state import state
from . import office_aside
from .jobs import check_job_id, list_jobs
from .media import SHOWN

bp = Blueprint("office", __name__)


@bp.get("/office")
def home() -> Response:
    """Show the jobs."""
    access, keep = current_app.config["ACCESS"], current_app.config["KEEP_DAYS"]
    return page("office/jobs.html", jobs=list_jobs(), access=access, cleaned=_cleaned(keep))


def _cleaned(keep: KeepDays) -> str:
    """Return the sentence on what is cleared away by age."""
    after = {
        name: t("office.cleaned.after", n=days) if days else t("office.cleaned.never")
        for name, days in asdict(keep).items()
    }
    return t("office.cleaned", **after)


@bp.get("/office/jobs/<job_id>")
def job(job_id: str) -> Response:
    """Show one job, or of a large one the page that ``page`` names."""
    check_job_id(job_id)
    try:
        with state().office.look(job_id) as (connection, index):
            shown = _shown(connection, job_id, index)
    except NotReady as error:
        return page("office/preparing.html", 202, reader=_is_reader(), done=error.done, total=error.total)
    access = current_app.config["ACCESS"]
    return page("office/job.html", **shown, job_id=job_id, access=access, reader=_is_reader())


def _is_reader() -> bool:
    return guard.who().role not in FIELD


def _shown(connection: Connection, job_id: str, index: Index) -> dict[str, object]:
    """Return what the page is made from; the first one also says what needs attention."""
    reader = Reader(connection, job_id, index)
    view, own = View(reader.named), reader.record("job", job_id)
    place = reader.place(request.args.get("page", 1, type=int))
    found = view.page(reader.slices(place.number))
    with one_job(connection):
        here = photo_rows.find_all(connection, {str(r.fields.get("sha256")) for r in found.photos})
    shown = {
        "title": view.title(own),
        "page": found,
        "place": place,
        "runs": [(one.run.id, view.run_title(one.run), one.page) for one in place.runs],
        "photos": [_photo(record.fields, here) for record in found.photos],
        "entries": index.entries,
        "removed": index.removed,
    }
    return shown | (_of_first(reader, view, own) if place.number == 1 else {})


def _of_first(reader: Reader, view: View, own: AnyRecord | None) -> dict[str, object]:
    """Return what only the first page shows: the site sheet, and what needs attention."""
    index = reader.index
    conflicts = [one for record in reader.records(index.contested(LISTED)) for one in view.conflicts(record)]
    return {
        "site": view.facts(own),
        "conflicts": conflicts[:LISTED],
        "conflicts_count": index.conflicts,
        **office_aside.shown(reader),
    }


class JobPhoto(TypedDict):
    """A photo as the page of a job shows it."""

    sha256: str | None
    caption: str
    counter_m: float | None
    width_px: int | None
    height_px: int | None
    here: bool
    shown: bool


def _photo(fields: Mapping[str, Any], here: Mapping[str, PhotoRow]) -> JobPhoto:
    row = here.get(str(fields.get("sha256")))
    return {
        "sha256": fields.get("sha256"),
        "caption": fields.get("caption") or t("office.photo_without_caption"),
        "counter_m": fields.get("counter_m"),
        "width_px": fields.get("width_px"),
        "height_px": fields.get("height_px"),
        "here": row is not None,
        "shown": row is not None and row["media_type"] in SHOWN,
    }


def page(template: str, status: int = 200, /, **values: Any) -> Response:
    """Return a page of the office, which every sender has looked up anew."""
    response = Response(render_template(template, **values), status, content_type="text/html; charset=utf-8")
    response.headers["Cache-Control"] = "no-cache"
    return response
