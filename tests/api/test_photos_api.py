"""Photos in pieces, and out again."""

import base64
import hashlib
import threading

import pytest
from servers import error_of

from webapp.messages import t
from webapp.web.state import state_of

DATA = bytes(range(256)) * 40
WHOLE = {"ok": True, "offset": len(DATA), "complete": True, "note": t("api.photo_not_shown.kind")}
SIZE = len(DATA)
SHA256 = hashlib.sha256(DATA).hexdigest()


def put(server, piece, offset, total=SIZE, sha256=SHA256, media_type="image/jpeg", **headers):
    own = {"Upload-Offset": offset, "Upload-Length": total, "Content-Type": media_type, **headers}
    return server.client.put(f"/api/photos/{sha256}", data=piece, headers=own)


def offset(server, sha256=SHA256):
    answer = server.client.head(f"/api/photos/{sha256}")
    assert answer.status_code == 200
    return int(answer.headers["Upload-Offset"]), answer.headers["Upload-Complete"]


def test_a_photo_in_one_piece_comes_back_byte_for_byte(server):
    assert offset(server) == (0, "?0")
    assert put(server, DATA, 0).json == WHOLE
    assert offset(server) == (len(DATA), "?1")
    got = server.client.get(f"/media/photos/{SHA256}")
    assert got.data == DATA and got.content_type == "image/jpeg"
    assert "immutable" in got.headers["Cache-Control"]
    assert got.headers["X-Content-Type-Options"] == "nosniff"
    again = server.client.get(f"/media/photos/{SHA256}", headers={"If-None-Match": got.headers["ETag"]})
    assert again.status_code == 304


class NoFiles:
    """A place of photos that has streams only, as a bucket has."""

    def __init__(self, place):
        self.place = place

    def __getattr__(self, name):
        return getattr(self.place, name)

    def path(self, sha256):
        return None


@pytest.mark.parametrize("files", [True, False])
def test_a_download_that_broke_off_goes_on_from_its_byte(server, files):
    put(server, DATA, 0)
    photos = state_of(server.app).photos
    photos.place = photos.place if files else NoFiles(photos.place)
    whole = server.client.get(f"/media/photos/{SHA256}")
    assert whole.data == DATA and whole.headers["Content-Length"] == str(SIZE)
    assert whole.headers["Accept-Ranges"] == "bytes"
    rest = server.client.get(f"/media/photos/{SHA256}", headers={"Range": "bytes=1000-"})
    assert rest.status_code == 206 and rest.data == DATA[1000:]
    assert rest.headers["Content-Range"] == f"bytes 1000-{SIZE - 1}/{SIZE}"
    beyond = server.client.get(f"/media/photos/{SHA256}", headers={"Range": f"bytes={SIZE}-"})
    assert 400 <= beyond.status_code < 500 and error_of(beyond)["code"]


def test_a_broken_upload_goes_on_where_it_stopped(server, tmp_path):
    assert put(server, DATA[:4000], 0).json == {"ok": True, "offset": 4000, "complete": False}
    assert server.client.get(f"/media/photos/{SHA256}").status_code == 404
    assert offset(server) == (4000, "?0")
    refused = put(server, DATA[6000:], 6000)
    assert refused.status_code == 409 and error_of(refused)["code"] == "photo_offset_mismatch"
    assert refused.json["offset"] == 4000
    assert put(server, DATA[4000:], 4000).json["complete"] is True
    assert server.client.get(f"/media/photos/{SHA256}").data == DATA
    assert list((server.folder / "photos").rglob("*.part")) == []


def test_the_same_photo_twice_is_stored_once(server):
    put(server, DATA, 0)
    before = server.all_rows()
    assert put(server, DATA[:10], 0).json == WHOLE
    assert put(server, b"rubbish", 17, total=99).json["complete"] is True
    assert server.all_rows() == before
    assert server.client.get(f"/media/photos/{SHA256}").data == DATA


def test_wrong_bytes_are_thrown_away(server):
    refused = put(server, b"x" * len(DATA), 0)
    assert (refused.status_code, error_of(refused)["code"]) == (422, "photo_hash_mismatch")
    assert offset(server) == (0, "?0")
    assert server.all_rows()["photo"] == []
    assert [p for p in (server.folder / "photos").rglob("*") if p.is_file() and p.name != "mark"] == []
    assert put(server, DATA, 0).json["complete"] is True


def test_a_server_that_died_between_file_and_row_finds_the_file(server):
    place = state_of(server.app).photos.place
    place.append(SHA256, 0, DATA)
    place.complete(SHA256)
    assert offset(server) == (0, "?0")
    assert put(server, DATA[:100], 0).json == WHOLE
    assert server.client.get(f"/media/photos/{SHA256}").data == DATA


@pytest.mark.parametrize("media_type", ["image/svg+xml", "text/html", "image/heic", "Ünsinn", ""])
def test_what_could_carry_a_script_is_only_offered_to_be_saved(server, media_type):
    put(server, DATA, 0, media_type=media_type.encode("latin-1").decode("latin-1"))
    got = server.client.get(f"/media/photos/{SHA256}")
    assert got.content_type == "application/octet-stream"
    assert got.headers["Content-Disposition"].startswith("attachment")


@pytest.mark.parametrize(
    ("changes", "status", "code"),
    [
        ({"sha256": "zz"}, 422, "photo_name"),
        ({"sha256": SHA256.upper()}, 422, "photo_name"),
        ({"sha256": "..%2f..%2fetc%2fpasswd"}, 404, "not_found"),
        ({"total": 200_000_001}, 413, "photo_too_large"),
        ({"total": 10}, 422, "request_malformed"),
        ({"total": 0, "piece": b""}, 422, "request_malformed"),
        ({"Upload-Offset": "-1"}, 422, "request_malformed"),
        ({"Upload-Offset": "x"}, 422, "request_malformed"),
        ({"Upload-Length": ""}, 422, "request_malformed"),
        ({"offset": len(DATA) + 1}, 422, "request_malformed"),
        ({"piece": b"x" * (8 * 1024 * 1024 + 1), "total": 100_000_000}, 413, "body_too_large"),
        ({"Origin": "http://elsewhere.example"}, 403, "cross_site"),
    ],
    ids=lambda v: str(v)[:50],
)
def test_what_is_refused(server, changes, status, code):
    arguments = {"piece": DATA, "offset": 0, **changes}
    answer = put(server, **arguments)
    assert (answer.status_code, error_of(answer)["code"]) == (status, code)
    assert server.all_rows()["photo"] == []


def test_head_of_a_bad_name_is_refused(server):
    assert server.client.head("/api/photos/nonsense").status_code == 422


def test_a_photo_that_is_not_here(server):
    answer = server.client.get(f"/media/photos/{SHA256}")
    assert (answer.status_code, error_of(answer)["code"]) == (404, "photo_not_found")


def test_two_phones_send_the_same_photo_at_once(server):
    data = b"picture" * 200_000
    sha256 = hashlib.sha256(data).hexdigest()
    size, answers = 100_000, []

    def send():
        client, start = server.app.test_client(), 0
        while True:
            headers = {"Upload-Offset": start, "Upload-Length": len(data), "Content-Type": "image/png"}
            piece = data[start : start + size]
            got = client.put(f"/api/photos/{sha256}", data=piece, headers=headers)
            answers.append(got.status_code)
            start = got.json["offset"]
            if got.json.get("complete"):
                return

    threads = [threading.Thread(target=send) for _ in range(3)]
    [t.start() for t in threads]
    [t.join(60) for t in threads]
    assert set(answers) <= {200, 409}
    assert server.client.get(f"/media/photos/{sha256}").data == data
    assert len(server.all_rows()["photo"]) == 1


def test_a_whole_photo_is_proved_by_its_hash_where_that_is_asked_for(server):
    ask = {"Want-Repr-Digest": "sha-256=1"}
    address = f"/api/photos/{SHA256}"
    assert "Repr-Digest" not in server.client.head(address, headers=ask).headers
    put(server, DATA, 0)
    assert "Repr-Digest" not in server.client.head(address).headers, "hashing is for those who ask"
    proof = base64.b64encode(bytes.fromhex(SHA256)).decode()
    assert server.client.head(address, headers=ask).headers["Repr-Digest"] == f"sha-256=:{proof}:"
    place = state_of(server.app).photos.place
    damaged = b"x" * SIZE  # as long as before
    if path := place.path(SHA256):
        path.chmod(0o644)
        path.write_bytes(damaged)
    else:
        place.put(SHA256, damaged)
    assert "Repr-Digest" not in server.client.head(address, headers=ask).headers
