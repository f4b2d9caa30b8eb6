"""Packs: asked for, watched, fetched."""

import shutil
from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path

from flask import Blueprint, Flask, Response, current_app, request, send_file

from .. import timesource
from ..access import guard
from ..errors import AppError
from ..store import entry_rows, erasure_rows, photo_rows, whole_jobs
from ..store.engine import reading
from ..web import pack_process
from ..web.headers import need_type
from ..web.pack_states import PackState
from ..web.state import state, state_of
from .bodies import answer_value
from .jobs import check_job_id

bp = Blueprint("packs", __name__)


@bp.post("/api/jobs/<job_id>/packs")
def make(job_id: str) -> Response:
    """Start to make a pack of the job."""
    need_type(request, "application/json")
    guard.one_more_pack()
    check_job_id(job_id)
    with reading() as connection:
        if not entry_rows.holds_job(connection, job_id):
            raise AppError("job_not_found")
    app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
    pack = state().packing.start(job_id, partial(build_pack, app))
    response = answer_value(pack.as_json(), 202)
    response.headers["Location"] = f"/api/packs/{pack.pack_id}"
    return response


def build_pack(app: Flask, task: pack_process.Task) -> None:
    """Make the pack of a job as it stands now."""
    pack_process.make(task, JobSource(app, task.job_id), app.config["PACK_BUDGET"])


class JobSource:
    """What the process that makes a pack asks of the database and of the photos."""

    def __init__(self, app: Flask, job_id: str) -> None:
        self._app, self._job_id = app, job_id

    def entries(self) -> Iterator[tuple[str, str | None]]:
        """Yield the text of each entry of the job, and of the reasons why it stands aside."""
        with self._app.app_context(), reading() as connection:
            yield from whole_jobs.texts_of_job(connection, self._job_id)

    def photo_rows(self, hashes: Iterable[str]) -> list[dict[str, object]]:
        """Return the rows of those photos that are here."""
        with self._app.app_context(), reading() as connection:
            found = photo_rows.find_all(connection, hashes).values()
        return [{name: row[name] for name in ("sha256", "size_bytes", "media_type")} for row in found]

    def photo_file(self, sha256: str, folder: Path) -> Path | None:
        """Return a file that holds a photo; one that had to be fetched lies in ``folder``."""
        photos = state_of(self._app).photos
        with self._app.app_context():
            if not photos.row(sha256) or not (photos.place.trusted or photos.prove(sha256)):
                return None
            if (path := photos.place.path(sha256)) is not None:
                return path.absolute()
            fetched = folder / "photo"
            with photos.open(sha256) as stream, fetched.open("wb") as file:
                shutil.copyfileobj(stream, file, 1024 * 1024)
            return fetched


@bp.get("/api/packs/<pack_id>")
def watch(pack_id: str) -> Response:
    """Say how far a pack is."""
    return answer_value(_find(pack_id).as_json())


def _find(pack_id: str) -> PackState:
    found = state().packing.find(pack_id)
    guard.see_job(found.job_id, "pack_not_found")
    return found


def _is_before_erasure(pack: PackState) -> bool:
    """Say whether something of its job was erased, or brought back, since a pack was asked for."""
    with reading() as connection:
        changed = [act.changed_at for act in erasure_rows.acts(connection, [pack.job_id])]
    return any(timesource.moment_of(pack.pack_id) <= moment for moment in changed)


@bp.get("/api/packs/<pack_id>/file")
def fetch(pack_id: str) -> Response:
    """Give a finished pack."""
    found = _find(pack_id)
    path = state().packing.path(pack_id)
    if found.state != "done" or not path.exists() or _is_before_erasure(found):
        raise AppError("pack_not_found")
    state().packing.note_use(pack_id)
    name = f"fallbook-{found.job_id}.zip"
    response = send_file(path, mimetype="application/zip", as_attachment=True, download_name=name)
    response.headers["Cache-Control"] = "private"
    return response
