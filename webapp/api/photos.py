"""Photos in: a piece of one, or several small ones whole."""

import http_sf
from flask import Blueprint, Response, request

from .. import config
from ..access import granting, guard
from ..errors import AppError
from ..messages import t
from ..picture_header import why_not_shown
from ..sync.photo_remarks import HEAD_BYTES
from ..sync.photos import OffsetMismatch, Progress, Whole
from ..web.headers import need_type
from ..web.state import state
from . import upload_parts
from .bodies import answer_value, raw

bp = Blueprint("photos", __name__)


@bp.route("/api/photos/<sha256>", methods=["HEAD"])
def offset(sha256: str) -> Response:
    """Say where an upload goes on; where it is asked for, prove by its hash that the whole is here."""
    guard.see_photo(sha256)
    photos = state().photos
    progress = photos.progress(sha256)
    response = Response(status=200)
    if progress.complete and "sha-256" in request.headers.get("Want-Repr-Digest", ""):
        if photos.prove(sha256):
            response.headers["Repr-Digest"] = http_sf.ser({"sha-256": bytes.fromhex(sha256)})
        else:
            progress = photos.progress(sha256)
    response.headers["Upload-Offset"] = http_sf.ser(progress.offset)
    response.headers["Upload-Complete"] = http_sf.ser(progress.complete)
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
        granting.note_photos([(sha256, total)], guard.by())
    note = _note(state().photos.why_not_shown(sha256)) if progress.complete else {}
    return answer_value({"ok": True, "offset": progress.offset, "complete": progress.complete, **note})


@bp.put("/api/photos")
def together() -> Response:
    """Take several whole photos, one behind the other in the body; the header says which."""
    need_type(request, "application/octet-stream")
    wholes = upload_parts.cut(request.headers.get(upload_parts.NAME, ""), raw(config.PHOTO_PIECE_BYTES))
    seen = guard.seen_photos([one.sha256 for one in wholes])
    outcomes: dict[str, Progress | AppError] = {
        one.sha256: AppError("photo_not_found") for one in wholes if one.sha256 not in seen
    }
    own = [one for one in wholes if one.sha256 in seen]
    taken = state().photos.take_wholes(own)
    outcomes.update({one.sha256: outcome for one, outcome in zip(own, taken, strict=True)})
    if not guard.who().local:
        whole = [(one.sha256, len(one.data)) for one in own if not isinstance(outcomes[one.sha256], AppError)]
        granting.note_photos(whole, guard.by())
    return answer_value({"ok": True, "photos": [_outcome_value(one, outcomes[one.sha256]) for one in wholes]})


def _note(why: str) -> dict[str, str]:
    """Say of a photo that is kept whole why the report will not show it; nothing where it will."""
    return {"note": t(f"api.photo_not_shown.{why}")} if why else {}


def _outcome_value(one: Whole, outcome: Progress | AppError) -> dict[str, object]:
    sha256 = one.sha256
    if isinstance(outcome, Progress):
        reported = {"sha256": sha256, "offset": outcome.offset, "complete": outcome.complete}
        return reported | _note(why_not_shown(bytes(one.data[:HEAD_BYTES]), len(one.data)))
    offset = outcome.offset if isinstance(outcome, OffsetMismatch) else 0
    reported = {"sha256": sha256, "offset": offset, "complete": False}
    return reported | {"code": outcome.code, "message": outcome.sentence}


def _whole_number(header: str) -> int:
    text = request.headers.get(header, "")
    if not (text.isascii() and text.isdigit() and len(text) <= 15):
        raise AppError("request_malformed", t("api.header_bytes", header=header), field=header)
    return int(text)
