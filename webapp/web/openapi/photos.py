"""Photos in and out."""

from ... import config
from ...errors import ERRORS
from ...schemas.examples import PHOTO_SHA256
from ...sync.photos import MAX_BYTES, MAX_TOGETHER
from .parts import (
    COUNT,
    FILE,
    FLAG,
    SHA256,
    TEXT,
    TRUE,
    Operation,
    answer,
    array,
    file,
    given,
    in_path,
    obj,
)

_NOTE = {
    "type": "string",
    "description": "Why the report will not show the photo, which is kept all the same",
}
_NAMED = (in_path("sha256", SHA256, PHOTO_SHA256),)
_PART = '"[0-9a-f]{64}";length=[1-9][0-9]{0,6};type="image/[a-z]{3,4}"'
_PARTS = {"type": "string", "pattern": f"^{_PART}(, {_PART}){{0,{MAX_TOGETHER - 1}}}$"}
_FATE = obj(
    "sha256 offset complete",
    sha256=SHA256,
    offset=COUNT,
    complete=FLAG,
    code={"enum": sorted(ERRORS)},
    message=TEXT,
    note=_NOTE,
)
_TAKEN = obj("ok offset complete", ok=TRUE, offset=COUNT, complete=FLAG, note=_NOTE)
_SO_FAR = {
    "Upload-Offset": {"description": "Bytes that are here", "schema": COUNT},
    "Upload-Complete": {"description": "Whether that is all", "schema": {"enum": ["?0", "?1"]}},
    "Repr-Digest": {
        "description": "The SHA-256 of the bytes as they lie there now, if asked for",
        "schema": TEXT,
    },
}
_TOGETHER = {"ok": True, "photos": [{"sha256": PHOTO_SHA256, "offset": 4, "complete": True}]}

OPERATIONS = (
    Operation(
        "photos.together",
        "put",
        "/api/photos",
        "putPhotosTogether",
        f"Take up to {MAX_TOGETHER} whole photos, one behind the other in a body of at most "
        f"{config.PHOTO_PIECE_BYTES:,} bytes. The header is a list of such parts with commas between.",
        {"200": answer("What became of each, in order", obj("*", ok=TRUE, photos=array(_FATE)), _TOGETHER)},
        "photos",
        "media_type body_too_large photo_store_down",
        parameters=(given("header", "Upload-Parts", _PARTS, f'"{PHOTO_SHA256}";length=4;type="image/jpeg"'),),
        body={"required": True, "content": {"application/octet-stream": {}}},
    ),
    Operation(
        "photos.offset",
        "head",
        "/api/photos/{sha256}",
        "photoOffset",
        "Where does an upload go on?",
        {"200": {"description": "So far", "headers": _SO_FAR}},
        "photos",
        in_path=_NAMED,
    ),
    Operation(
        "photos.piece",
        "put",
        "/api/photos/{sha256}",
        "putPhotoPiece",
        f"Take a piece of a photo of at most {MAX_BYTES:,} bytes.",
        {"200": answer("Taken", _TAKEN, {"ok": True, "offset": 4, "complete": True})},
        "photos",
        "photo_offset_mismatch photo_hash_mismatch photo_too_large photo_erased body_too_large",
        in_path=_NAMED,
        parameters=(
            given("header", "Upload-Offset", COUNT, 0),
            given("header", "Upload-Length", COUNT, 4),
        ),
        body={"required": True, "content": {"*/*": {}}},
    ),
    Operation(
        "media.photo",
        "get",
        "/media/photos/{sha256}",
        "photo",
        "A photo's bytes.",
        FILE | {"200": file("The bytes", "image/*", "application/octet-stream")},
        "photos",
        in_path=_NAMED,
    ),
)
