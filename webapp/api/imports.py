"""Job files and packs from elsewhere."""

import tempfile
from pathlib import Path

from flask import Blueprint, Response, request

from .. import config
from ..access import guard
from ..errors import AppError
from ..headers import need_type
from ..importing import open_job
from ..jobs import take_job
from ..state import state
from .bodies import answer_value

bp = Blueprint("imports", __name__)
_BLOCK_BYTES = 1024 * 1024


@bp.post("/api/import")
def take() -> Response:
    """Take a job file, a pack, a job saved by a phone or an exchange file; ``report`` tells of the last."""
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
        with open_job(path, report.extend) as (job, photo_bytes):
            taken = take_job(job, photo_bytes, state().photos, guard.by())
        return answer_value({"ok": True, **taken, **({"report": report} if report else {})})
