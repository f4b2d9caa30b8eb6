"""How each operation is brought to say each of its own refusals."""

import hashlib
import io
import json
import zipfile

from access_kit import FAR_AHEAD

from webapp import config
from webapp.access import granting
from webapp.access.secret import hash_of
from webapp.errors import AppError
from webapp.intake import open_job, safe_zip
from webapp.pack import manifest_json
from webapp.records import job_file
from webapp.schemas import examples
from webapp.schemas.wire import job_file_example
from webapp.store import access_rows
from webapp.sync.exchange import MAX_ENTRIES
from webapp.timesource import new_id
from webapp.web.state import state_of


def zipped(*members):
    """Return a zip of (name, bytes)."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in members:
            archive.writestr(name, data)
    return out.getvalue()


def job_with(**parts):
    """Return the example of a job file with some parts replaced."""
    return json.dumps(job_file_example() | parts).encode()


def with_entries(**parts):
    entry = examples.entry("job", 1) | {"record_id": examples.JOB_ID}
    return job_with(records=[], entries=[entry], photos=[], **parts)


WRONG_PHOTO = job_with(photos=[{"sha256": "0" * 64, "size_bytes": 1, "media_type": "image/png"}])
FILES = {
    "file_kind": b"%PDF-1.7",
    "file_not_json": b"{",
    "job_file_kind": b"{}",
    "job_file_newer": job_with(version=2),
    "job_file_invalid": job_with(records={}),
    "job_file_inconsistent": with_entries(),
    "exchange_unreadable": b"#A1=ISO-8859-1:1998\r\n\x00",
    "exchange_empty": b"#A1=ISO-8859-1:1998\r\n",
    "zip_unsafe_name": zipped(("../x", b"")),
    "zip_damaged": b"PK\x03\x04 and no more",
    "pack_no_manifest": zipped(("manifest.json", b"{}"), ("job.json", b"{}")),
    "photo_hash_mismatch": zipped(("job.json", WRONG_PHOTO), (f"photos/{'0' * 64}.png", b"y")),
}


def fails(code):
    """Return a stand-in for something that answers with a code."""

    def stand_in(*_args, **_words):
        raise AppError(code)

    return stand_in


def newer_pack():
    """Return a pack of a version that is not known yet."""
    return zipped(
        ("manifest.json", json.dumps({"format": manifest_json.FORMAT, "version": 99}).encode()),
        ("job.json", b"{}"),
    )


def used(world):
    code = world.van.invite()
    world.van.nobody().post("/api/join", {"code": code})
    return code


def past(world):
    with world.van.app.app_context():
        return granting.invite("surveyor", "", None, 1e-9, granting.By())


SHADES = iter(range(150, 250))  # each photo is another one: what was erased is not taken again


def photo_gone(world):
    """The hash of a photo that the office took away."""
    job_id, sha256 = world.van.job_with_photo(next(SHADES))
    world.van.erased(job_id)
    return sha256


def another_content(world):
    """A job file of which an entry is on the server with another content."""
    job_id, _ = world.van.job_with_photo(next(SHADES))
    stored = world.van.this_machine().get(f"/api/jobs/{job_id}").json
    stored["entries"][0]["fields"]["title"] = "Another"
    return json.dumps(job_file.build(job_id, stored["entries"], {}, stored["photos"])).encode()


def expunged(world):
    """The id of an erasure that can no longer be undone."""
    return world.van.erased(world.van.job_with_photo(next(SHADES))[0], days=0)


def made_ahead(world):
    """A code and a link that were made while the clock was ahead."""
    code, (secret, row) = world.van.invite(), world.link()
    world.van.dated(access_rows.INVITATION, "made_at", FAR_AHEAD, code_sha256=hash_of(code))
    world.van.dated(access_rows.LINK, "made_at", FAR_AHEAD, id=row["id"])
    return code, secret


def ended(world):
    secret, row = world.link()
    with world.van.app.app_context():
        granting.revoke_link(row["id"], granting.By())
    return secret


NOWHERE = "0" * 64
OWN = {
    ("sync", "protocol_unknown"): lambda w, o, p: w.ask(o, json={"protocol": 2}, data=None),
    ("sync", "too_many_entries"): lambda w, o, p: w.ask(
        o, json={"protocol": 1, "device_id": "x", "entries": [{}] * (MAX_ENTRIES + 1)}, data=None
    ),
    ("sync", "too_many_jobs"): lambda w, o, p: w.ask(
        o, json={"protocol": 1, "device_id": "x", "jobs": dict.fromkeys(map(str, range(5001)))}, data=None
    ),
    ("sync", "entry_malformed"): lambda w, o, p: w.ask(
        o, json={"protocol": 1, "device_id": "x", "entries": [{}]}, data=None
    ),
    ("declination", "declination_place"): lambda w, o, p: w.ask(
        o, query_string={"lat_deg": 91, "lon_deg": 0, "on": "2026-11-25"}
    ),
    ("declination", "declination_date"): lambda w, o, p: w.ask(
        o, query_string={"lat_deg": 54, "lon_deg": 0, "on": "1900-01-01"}
    ),
    ("declination", "request_malformed"): lambda w, o, p: w.ask(o, query_string={}),
    ("putPhotosTogether", "media_type"): lambda w, o, p: w.ask(o, content_type="text/plain"),
    ("putPhotosTogether", "request_malformed"): lambda w, o, p: w.ask(o, headers={"Upload-Parts": "x"}),
    ("putPhotosTogether", "body_too_large"): lambda w, o, p: w.ask(
        o, data=b"x" * (config.PHOTO_PIECE_BYTES + 1)
    ),
    ("putPhotosTogether", "photo_store_down"): lambda w, o, p: (
        p.setattr(state_of(w.van.app).photos.place, "settle", fails("photo_store_down")),
        w.ask(
            o,
            headers={"Upload-Parts": f'"{hashlib.sha256(b"q").hexdigest()}";length=1;type="image/png"'},
            data=b"q",
        ),
    )[1],
    ("photoOffset", "photo_not_found"): lambda w, o, p: w.ask(o, w.bound, {"sha256": w.foreign_photo}),
    ("putPhotoPiece", "photo_not_found"): lambda w, o, p: w.ask(o, w.bound, {"sha256": w.foreign_photo}),
    ("photo", "photo_not_found"): lambda w, o, p: w.ask(o, names={"sha256": NOWHERE}),
    ("putPhotoPiece", "request_malformed"): lambda w, o, p: w.ask(o, headers={"Upload-Offset": "x"}),
    ("putPhotoPiece", "photo_too_large"): lambda w, o, p: w.ask(
        o, names={"sha256": NOWHERE}, headers={"Upload-Length": "300000000"}
    ),
    ("putPhotoPiece", "body_too_large"): lambda w, o, p: w.ask(o, data=b"x" * (config.PHOTO_PIECE_BYTES + 1)),
    ("putPhotoPiece", "photo_offset_mismatch"): lambda w, o, p: w.ask(
        o, names={"sha256": NOWHERE}, headers={"Upload-Offset": "1"}
    ),
    ("putPhotoPiece", "photo_hash_mismatch"): lambda w, o, p: w.ask(
        o, names={"sha256": NOWHERE}, headers={"Upload-Length": "1"}
    ),
    ("importJob", "media_type"): lambda w, o, p: w.ask(o, content_type="text/plain"),
    ("importJob", "body_too_large"): lambda w, o, p: (p.setattr(config, "IMPORT_BYTES", 3), w.ask(o))[1],
    ("importJob", "file_unreadable"): lambda w, o, p: (
        p.setattr(open_job, "MAX_JOB_FILE_BYTES", 3),
        w.ask(o),
    )[1],
    ("importJob", "exchange_too_large"): lambda w, o, p: (
        p.setattr(open_job.exchange, "MAX_BYTES", 3),
        w.ask(o, data=b"#A1=ISO", content_type="application/octet-stream"),
    )[1],
    ("importJob", "zip_too_large"): lambda w, o, p: (
        p.setattr(safe_zip, "MAX_MEMBERS", 0),
        w.ask(o, data=zipped(("job.json", b"{}")), content_type="application/zip"),
    )[1],
    ("importJob", "job_file_differs"): lambda w, o, p: w.ask(o, data=another_content(w)),
    ("importJob", "pack_mismatch"): lambda w, o, p: w.ask(
        o, data=newer_pack(), content_type="application/zip"
    ),
    ("importJob", "photo_store_down"): lambda w, o, p: (
        p.setattr(state_of(w.van.app).photos.place, "put", fails("photo_store_down")),
        w.ask(
            o,
            data=zipped(
                ("job.json", job_with(photos=[photo_of(b"z")])),
                (f"photos/{hashlib.sha256(b'z').hexdigest()}.png", b"z"),
            ),
            content_type="application/zip",
        ),
    )[1],
    ("makePack", "media_type"): lambda w, o, p: w.ask(o, content_type="text/plain"),
    ("invite", "job_not_found"): lambda w, o, p: w.ask(o, json={"job_id": new_id()}, data=None),
    ("revokeDevice", "device_unknown"): lambda w, o, p: w.ask(o, names={"device_id": new_id()}),
    ("revokeClientLink", "client_link_unknown"): lambda w, o, p: w.ask(o, names={"link_id": new_id()}),
    ("audit", "job_not_found"): lambda w, o, p: w.ask(o, query_string={"job_id": "x"}),
    ("audit", "request_malformed"): lambda w, o, p: w.ask(o, query_string={"last": "0"}),
    ("table", "not_found"): lambda w, o, p: w.ask(o, names={"name": "nothing"}),
    ("staticFile", "not_found"): lambda w, o, p: w.ask(o, names={"filename": "nothing.css"}),
    ("putPhotoPiece", "photo_erased"): lambda w, o, p: w.ask(o, names={"sha256": photo_gone(w)}),
    ("previewErasure", "job_not_found"): lambda w, o, p: w.ask(o, names={"job_id": "x"}),
    ("previewErasure", "erasure_nothing"): lambda w, o, p: w.ask(o),
    ("erase", "job_not_found"): lambda w, o, p: w.ask(o, names={"job_id": "x"}),
    ("erase", "erasure_nothing"): lambda w, o, p: w.ask(o),
    ("officeErase", "job_not_found"): lambda w, o, p: w.ask(o, names={"job_id": new_id()}),
    ("undoErasure", "erasure_unknown"): lambda w, o, p: w.ask(o, names={"erasure_id": new_id()}),
    ("undoErasure", "erasure_over"): lambda w, o, p: w.ask(o, names={"erasure_id": expunged(w)}),
    ("expungeErasure", "erasure_unknown"): lambda w, o, p: w.ask(o, names={"erasure_id": new_id()}),
    ("expungeErasure", "erasure_over"): lambda w, o, p: w.ask(o, names={"erasure_id": expunged(w)}),
    ("openClientLink", "client_link_unknown"): lambda w, o, p: w.ask(o, json={"secret": "y" * 43}, data=None),
    ("openClientLink", "link_lowers"): lambda w, o, p: w.ask(
        o, w.van.let_in("office"), json={"secret": w.link()[0]}, data=None
    ),
    ("join", "join_lowers"): lambda w, o, p: w.ask(
        o, w.van.let_in("office"), json={"code": w.van.invite()}, data=None
    ),
    ("lookAtInvitation", "made_ahead"): lambda w, o, p: w.ask(o, json={"code": made_ahead(w)[0]}, data=None),
    ("join", "made_ahead"): lambda w, o, p: w.ask(o, json={"code": made_ahead(w)[0]}, data=None),
    ("openClientLink", "made_ahead"): lambda w, o, p: w.ask(o, json={"secret": made_ahead(w)[1]}, data=None),
    ("openClientLink", "access_expired"): lambda w, o, p: w.ask(o, json={"secret": ended(w)}, data=None),
}


def photo_of(data):
    return {"sha256": hashlib.sha256(data).hexdigest(), "size_bytes": len(data), "media_type": "image/png"}


def store_down(world, one, patch):
    photos = state_of(world.van.app).photos
    for name in ("part_size", "size", "path", "open"):
        patch.setattr(photos.place, name, fails("photo_store_down"))
    return world.ask(one, names={"sha256": world.photo if one.name == "photo" else NOWHERE})
