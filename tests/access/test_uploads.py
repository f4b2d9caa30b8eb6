"""What somebody may try with files: wrong types, bombs, names that leave their folder, too much of it."""

import gzip
import hashlib
import io
import json
import struct
import zipfile
import zlib

import pytest
from servers import entry, error_of

from webapp import config
from webapp.records import job_file


def photo(server, data, media_type="image/jpeg", name=None, total=None, offset=0):
    sha256 = name or hashlib.sha256(data).hexdigest()
    headers = {"Upload-Offset": str(offset), "Upload-Length": str(len(data) if total is None else total)}
    return server.client.put(f"/api/photos/{sha256}", data=data, headers=headers, content_type=media_type)


def files_of(server):
    return sorted(p.relative_to(server.folder).as_posix() for p in server.folder.rglob("*") if p.is_file())


@pytest.mark.parametrize(
    ("media_type", "data"),
    [
        ("text/html", b"<script>alert(1)</script>"),
        ("image/svg+xml", b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"),
        ("application/javascript", b"alert(1)"),
        ("image/jpeg; charset=utf-8\r\nX: y", b"<html>"),
        ("../../etc/passwd", b"x"),
    ],
)
def test_what_could_carry_a_script_is_never_shown(server, media_type, data):
    sha256 = hashlib.sha256(data).hexdigest()
    if "\r" not in media_type:
        assert photo(server, data, media_type).json["complete"] is True
        answer = server.client.get(f"/media/photos/{sha256}")
        assert answer.content_type == "application/octet-stream"
        assert answer.headers["Content-Disposition"].startswith("attachment")
    else:
        with pytest.raises(ValueError, match="newline"):
            photo(server, data, media_type)
        assert photo(server, data, "image/jpeg").json["complete"] is True
        answer = server.client.get(f"/media/photos/{sha256}")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "script-src 'self'" in answer.headers["Content-Security-Policy"]


def png_of(width, height):
    """Return a small file that says it is a picture of any size."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1_000_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def test_a_picture_that_would_unpack_to_gigabytes_is_kept_as_bytes_and_named_in_the_pack(server, job_id):
    """The server never unpacks a picture when it comes in; making a pack refuses to."""
    from webapp.job_pack import build

    bomb = png_of(60_000, 60_000)
    sha256 = hashlib.sha256(bomb).hexdigest()
    fields = {"sha256": sha256, "media_type": "image/png", "size_bytes": len(bomb), "caption": "Bomb"}
    server.fates(
        [
            entry(job_id, "writer-aaaa", 1, kind="job", fields={"title": "T"}),
            entry(job_id, "writer-aaaa", 2, kind="photo", fields=fields),
        ]
    )
    assert photo(server, bomb, "image/png").json["complete"] is True
    job = server.client.get(f"/api/jobs/{job_id}").json
    out = io.BytesIO()
    build(job, lambda _sha: bomb, out)
    with zipfile.ZipFile(out) as archive:
        names = archive.namelist()
    assert "report.pdf" in names and any(sha256 in name for name in names)


@pytest.mark.parametrize(
    "name",
    ["../../../etc/passwd", "..%2f..%2fx", "A" * 64, "a" * 63, "a" * 65, "%00" * 64, "a" * 60 + "/../b", "."],
)
def test_a_photo_has_no_other_name_than_its_hash(server, name):
    before = files_of(server)
    answer = photo(server, b"x", name=name)
    assert answer.status_code in (404, 405, 422)
    assert error_of(answer)["code"] in ("photo_name", "not_found", "method_not_allowed")
    assert files_of(server) == before


def test_too_large_is_refused_before_it_is_read(server):
    piece = b"\0" * (config.PHOTO_PIECE_BYTES + 1)
    assert error_of(photo(server, piece))["code"] == "body_too_large"
    assert error_of(photo(server, b"x", total=10**12))["code"] == "photo_too_large"
    reported = {
        "CONTENT_LENGTH": str(config.PHOTO_PIECE_BYTES + 1),
        "CONTENT_TYPE": "application/octet-stream",
    }
    answer = server.client.put("/api/photos", environ_overrides={**reported, "wsgi.input": io.BytesIO(b"x")})
    assert error_of(answer)["code"] == "body_too_large"
    for path, most in (
        ("/api/sync", config.SYNC_BYTES),
        ("/api/import", config.IMPORT_BYTES),
        ("/api/join", 2**20),
    ):
        reported = {"CONTENT_LENGTH": str(most + 1), "CONTENT_TYPE": "application/json"}
        answer = server.client.post(path, environ_overrides={**reported, "wsgi.input": io.BytesIO(b"{}")})
        assert error_of(answer)["code"] == "body_too_large", path
    packed = gzip.compress(b" " * (config.SYNC_UNPACKED_BYTES + 1))
    assert len(packed) < 100_000
    headers = {"Content-Encoding": "gzip"}
    answer = server.client.post("/api/sync", data=packed, headers=headers, content_type="application/json")
    assert error_of(answer)["code"] == "body_too_large"


def zip_of(*members):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("../../evil.txt", "zip_unsafe_name"),
        ("/etc/evil.txt", "zip_unsafe_name"),
        ("photos\\..\\..\\evil", "zip_unsafe_name"),
        ("C:/evil.txt", "zip_unsafe_name"),
    ],
)
def test_a_zip_cannot_leave_its_folder(server, job_id, name, code):
    before = files_of(server)
    job = job_file.dumps(job_file.build(job_id, [], {}, []))
    answer = server.client.post(
        "/api/import", data=zip_of(("job.json", job), (name, b"x")), content_type="application/zip"
    )
    assert error_of(answer)["code"] == code
    assert files_of(server) == before


def test_a_zip_that_unpacks_to_too_much(server, monkeypatch):
    monkeypatch.setattr("webapp.intake.open_job.MAX_JOB_FILE_BYTES", 1_000_000)
    bomb = zip_of(("job.json", b"{}" + b" " * 5_000_000))
    assert len(bomb) < 10_000
    answer = server.client.post("/api/import", data=bomb, content_type="application/zip")
    assert error_of(answer)["code"] == "zip_too_large"


@pytest.mark.parametrize(
    "media_type", ["text/plain", "text/html", "multipart/form-data", "application/x-www-form-urlencoded", ""]
)
def test_files_of_another_type_are_not_looked_at(server, media_type):
    answer = server.client.post("/api/import", data=b"{}", content_type=media_type)
    assert (answer.status_code, error_of(answer)["code"]) == (415, "media_type")


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff\xd8\xff\xe0" + b"\0" * 500, b"MZ" + b"\0" * 300, b"PK\x03\x04" + b"\0" * 90, b"[" * 100_000],
)
def test_what_is_no_job_is_refused_in_words(server, data):
    before = server.all_rows()
    answer = server.client.post("/api/import", data=data, content_type="application/octet-stream")
    assert answer.status_code == 422 and error_of(answer)["message"]
    assert server.all_rows() == before and json.loads(answer.data)["ok"] is False
