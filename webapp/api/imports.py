"""Job files and packs from elsewhere."""

import tempfile
from pathlib import Path

from flask import Blueprint, Response, request

from .. import config
from ..access import guard
from ..errors import AppError
from ..intake.jobs import take_jobs
from ..intake.open_job import open_jobs
from ..web.headers import need_type
from ..web.state import state
from .bodies import answer_value

bp = Blueprint("imports", __name__)
_BLOCK_BYTES = 1024 * 1024


@bp.post("/api/import")
def take() -> Response:
    """Take a job file, a pack, what a phone saved or an exchange file; ``report`` tells what found no place.

    Where there are several jobs the counts are those of all, and the job named is the first.
    """
    need_type(request, "application/json", "application/zip", "application/octet-stream")
    if (request.content_length or 0) > config.IMPORT_BYTES:
        raise AppError("body_too_large")
    request.max_content_length = config.IMPORT_BYTES
    with tempfile.TemporaryDirectory(prefix="incoming-", dir=state().folder) as folder:
        path = Path(folder) / "incoming"
        with path.open("wb") as file:
            while block := request.stream.read(_BLOCK_BYTES):
                file.write(block)
        report: list[str] = []
        with open_jobs(path, report.extend) as jobs:
            taken = take_jobs(jobs, state().photos, guard.by())
        return answer_value({"ok": True, **taken, **({"report": report} if report else {})})
