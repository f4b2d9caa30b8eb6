"""Packs: asked for, watched, fetched."""

from functools import partial
from typing import Any, BinaryIO

from flask import Blueprint, Flask, Response, current_app, request, send_file

from ..access import guard
from ..errors import AppError
from ..intake.jobs import stored_job_file
from ..web.headers import need_type
from ..web.pack_states import PackState
from ..web.packing import Progress
from ..web.state import state, state_of
from .bodies import answer_value
from .jobs import check_job_id

bp = Blueprint("packs", __name__)


@bp.post("/api/jobs/<job_id>/packs")
def make(job_id: str) -> Response:
    """Start to make a pack of the job."""
    need_type(request, "application/json")
    guard.one_more_pack()
    stored_job_file(check_job_id(job_id))
    app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
    pack = state().packing.start(job_id, partial(build_pack, app, job_id))
    response = answer_value(pack.as_json(), 202)
    response.headers["Location"] = f"/api/packs/{pack.pack_id}"
    return response


def build_pack(app: Flask, job_id: str, out: BinaryIO, progress: Progress) -> Any:
    """Make the pack of a job as it stands now."""
    from .. import job_pack  # Typst and the fonts load only when a pack is made

    with app.app_context():
        return job_pack.build(stored_job_file(job_id), state_of(app).photos.bytes_of, out, progress)


@bp.get("/api/packs/<pack_id>")
def watch(pack_id: str) -> Response:
    """Say how far a pack is."""
    return answer_value(_find(pack_id).as_json())


def _find(pack_id: str) -> PackState:
    found = state().packing.find(pack_id)
    guard.see_job(found.job_id, "pack_not_found")
    return found


@bp.get("/api/packs/<pack_id>/file")
def fetch(pack_id: str) -> Response:
    """Give a finished pack."""
    found = _find(pack_id)
    path = state().packing.path(pack_id)
    if found.state != "done" or not path.exists():
        raise AppError("pack_not_found")
    name = f"fallbook-{found.job_id}.zip"
    response = send_file(path, mimetype="application/zip", as_attachment=True, download_name=name)
    response.headers["Cache-Control"] = "private"
    return response
