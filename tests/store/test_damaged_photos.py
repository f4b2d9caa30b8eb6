"""A photo that is cut, changed or lost is asked for again, and what is damaged is kept aside."""

import hashlib

import pytest
from servers import entry

from webapp.web.state import state_of

A = "writer-a"
DATA = b"not really a picture, but whole" * 40
SHA256 = hashlib.sha256(DATA).hexdigest()
PUT = f"/api/photos/{SHA256}"
FIELDS = {"sha256": SHA256, "size_bytes": len(DATA), "media_type": "image/jpeg"}
HEADERS = {"Upload-Offset": 0, "Upload-Length": len(DATA), "Content-Type": "image/jpeg"}


@pytest.fixture
def held(server, job_id):
    """A server that has a photo whole and has said so."""
    server.fates([entry(job_id, A, 1, "photo", FIELDS)])
    assert send(server)["complete"] is True
    assert wanted(server, job_id) == []
    return server.folder / "photos" / SHA256[:2] / SHA256


def send(server):
    return server.client.put(PUT, data=DATA, headers=HEADERS).json


def send_together(server):
    parts = f'"{SHA256}";length={len(DATA)};type="image/jpeg"'
    own = {"Upload-Parts": parts, "Content-Type": "application/octet-stream"}
    return server.client.put("/api/photos", data=DATA, headers=own).json["photos"][0]


def send_in_pieces(server):
    half = len(DATA) // 2
    server.client.put(PUT, data=DATA[:half], headers=HEADERS)
    return server.client.put(PUT, data=DATA[half:], headers=HEADERS | {"Upload-Offset": half}).json


def wanted(server, job_id):
    return server.pull(job_id, {A: 1})["photos_wanted"]


def kept_aside(server):
    return [path.read_bytes() for path in sorted((server.folder / "damaged_photos").glob(f"{SHA256}*"))]


@pytest.mark.parametrize("again", [send, send_together, send_in_pieces])
@pytest.mark.parametrize("length", [0, 1, len(DATA) - 1, len(DATA) + 5])
def test_a_photo_of_another_length_is_wanted_and_taken_again(server, job_id, held, length, again):
    spoilt = (DATA + b"extra")[:length]
    held.write_bytes(spoilt)
    assert wanted(server, job_id) == [SHA256]
    assert server.client.head(PUT).headers["Upload-Complete"] == "?0"
    assert server.client.get(f"/media/photos/{SHA256}").status_code == 404
    assert again(server)["complete"] is True
    assert held.read_bytes() == DATA and wanted(server, job_id) == []
    assert kept_aside(server) == [spoilt]


def test_a_photo_of_the_right_length_with_other_bytes_is_found_by_its_hash(server, job_id, held):
    spoilt = bytes(reversed(DATA))
    held.write_bytes(spoilt)
    photos = state_of(server.app).photos
    with server.app.app_context():
        assert photos.bytes_of(SHA256) is None, "no pack holds bytes that are not those of the name"
        assert photos.prove(SHA256) is False
    assert wanted(server, job_id) == [SHA256]
    assert send(server)["complete"] is True and held.read_bytes() == DATA
    assert kept_aside(server) == [spoilt]


def test_what_is_damaged_stays_until_the_whole_one_is_proved(server, job_id, held):
    held.write_bytes(b"")
    wrong = server.client.put(PUT, data=bytes(len(DATA)), headers=HEADERS)
    assert wrong.json["errors"][0]["code"] == "photo_hash_mismatch"
    assert held.read_bytes() == b"" and kept_aside(server) == []


def test_each_damaged_one_is_kept(server, job_id, held):
    for spoilt in (b"", b"once", b"twice"):
        held.write_bytes(spoilt)
        assert send(server)["complete"] is True
    assert kept_aside(server) == [b"", b"once", b"twice"]


def test_of_many_photos_each_gets_its_turn(server, job_id, held, monkeypatch):
    monkeypatch.setattr("webapp.sync.wanted.LOOKED_AT", 2)
    more = [bytes([n]) * 9 for n in range(5)]
    names = [hashlib.sha256(data).hexdigest() for data in more]
    for number, (name, data) in enumerate(zip(names, more, strict=True), start=2):
        fields = {"sha256": name, "size_bytes": 9, "media_type": "image/jpeg"}
        server.fates([entry(job_id, A, number, "photo", fields)])
        headers = HEADERS | {"Upload-Length": 9}
        assert server.client.put(f"/api/photos/{name}", data=data, headers=headers).json["complete"]
    assert wanted(server, job_id) == []
    for name in names:
        (server.folder / "photos" / name[:2] / name).write_bytes(b"cut")
    for _ in range(4):
        found = wanted(server, job_id)
    assert found == sorted(names)


def test_a_wrong_size_in_the_database_is_put_right_by_the_next_whole_one(server, job_id, held):
    from sqlalchemy import text

    from webapp.store.engine import writing

    with server.app.app_context(), writing() as connection:
        connection.execute(text("UPDATE photo SET size_bytes = 7"))
    assert server.client.head(PUT).headers["Upload-Complete"] == "?0"
    assert send(server)["complete"] is True
    assert server.client.head(PUT).headers["Upload-Complete"] == "?1"
    assert wanted(server, job_id) == [] and held.read_bytes() == DATA
    assert kept_aside(server) == [], "it was whole all the time"
