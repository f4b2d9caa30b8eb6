"""Photos in, in pieces."""

from flask import Blueprint, Response, request

from .. import config
from ..access import granting, guard
from ..errors import AppError
from ..state import state
from .bodies import answer_value, raw

bp = Blueprint("photos", __name__)


@bp.route("/api/photos/<sha256>", methods=["HEAD"])
def offset(sha256: str) -> Response:
    """Say where an upload goes on."""
    guard.see_photo(sha256)
    progress = state().photos.progress(sha256)
    response = Response(status=200)
    response.headers["Upload-Offset"] = str(progress.offset)
    response.headers["Upload-Complete"] = "?1" if progress.complete else "?0"
    return response


@bp.put("/api/photos/<sha256>")
def piece(sha256: str) -> Response:
    """Take a piece of a photo."""
    guard.see_photo(sha256)
    start, total = _whole_number("Upload-Offset"), _whole_number("Upload-Length")
    data = raw(config.PHOTO_PIECE_BYTES)
    media_type = request.headers.get("Content-Type", "")
    progress = state().photos.take_piece(sha256, start, total, data, media_type)
    if progress.complete and not guard.who().local:
        granting.note_photo(sha256, total, guard.by())
    return answer_value({"ok": True, "offset": progress.offset, "complete": progress.complete})


def _whole_number(header: str) -> int:
    text = request.headers.get(header, "")
    if not (text.isascii() and text.isdigit() and len(text) <= 15):
        raise AppError("request_malformed", f"{header} must be a whole number of bytes.", field=header)
    return int(text)
