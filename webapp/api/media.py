"""Photos out."""

from flask import Blueprint, Response, request, send_file
from werkzeug.exceptions import RequestedRangeNotSatisfiable

from ..access import guard
from ..errors import AppError
from ..web.state import state

bp = Blueprint("media", __name__)

# Shown in the page; anything else (SVG above all) could carry a script and is only offered to be saved.
SHOWN = {"image/jpeg", "image/png", "image/webp", "image/gif", "image/avif"}


@bp.get("/media/photos/<sha256>")
def photo(sha256: str) -> Response:
    """Serve a photo's bytes, which never change under their name."""
    guard.see_photo(sha256)
    photos = state().photos
    row = photos.row(sha256)
    if row is None:
        raise AppError("photo_not_found")
    shown = row["media_type"] in SHOWN
    response = send_file(
        photos.place.path(sha256) or photos.open(sha256),
        mimetype=row["media_type"] if shown else "application/octet-stream",
        as_attachment=not shown,
        download_name=None if shown else f"{sha256[:16]}.bin",
        etag=sha256,
        conditional=False,
    )
    response.content_length = row["size_bytes"]
    # Also where the place has no files: a photo that broke off goes on from the byte it came to.
    try:
        response.make_conditional(request, accept_ranges=True, complete_length=row["size_bytes"])
    except RequestedRangeNotSatisfiable:
        response.close()
        raise
    response.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    return response
