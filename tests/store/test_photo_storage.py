"""Where photos lie: a folder and an S3-compatible store keep the same promises."""

import errno
import hashlib
import shutil
from pathlib import Path

import pytest
from grown import bucket, s3_endpoint
from servers import Server, error_of

from webapp.errors import AppError
from webapp.store.photo_storage import FolderStorage, copy_whole
from webapp.store.photo_storage_s3 import S3Storage

__all__ = ["bucket", "s3_endpoint"]
DATA = bytes(range(256)) * 400
NAME = hashlib.sha256(DATA).hexdigest()


@pytest.fixture(params=["folder", "s3"])
def place(request, tmp_path):
    if request.param == "folder":
        return FolderStorage(tmp_path)
    return S3Storage(request.getfixturevalue("bucket"), request.getfixturevalue("s3_endpoint"))


def put(place, *pieces):
    offset = 0
    for piece in pieces:
        place.append(NAME, offset, piece)
        offset += len(piece)


def test_pieces_gather_and_become_whole_at_once(place):
    put(place, DATA[:1000], DATA[1000:50_000])
    assert (place.part_size(NAME), place.size(NAME)) == (50_000, None)
    assert list(place.names()) == [(f"{NAME}.part", 50_000, False)]
    place.append(NAME, 50_000, DATA[50_000:])
    assert place.part_hash(NAME) == NAME
    place.complete(NAME)
    assert (place.part_size(NAME), place.size(NAME)) == (0, len(DATA))
    assert list(place.names()) == [(NAME, len(DATA), True)]
    with place.open(NAME) as stream:
        assert stream.read() == DATA


def test_a_whole_photo_stands_there_at_once(place):
    place.put(NAME, memoryview(DATA))
    place.settle([NAME])
    assert (place.part_size(NAME), place.size(NAME)) == (0, len(DATA))
    assert list(place.names()) == [(NAME, len(DATA), True)]
    with place.open(NAME) as stream:
        assert stream.read() == DATA


def test_a_folder_that_somebody_took_away_is_made_again(tmp_path):
    place = FolderStorage(tmp_path)
    for _ in range(2):
        place.put(NAME, DATA)
        place.settle([NAME])
        assert place.path(NAME).read_bytes() == DATA
        shutil.rmtree(tmp_path / "photos")


def test_a_disk_with_no_room_for_the_first_byte_is_full_and_nothing_else(tmp_path, monkeypatch):
    def full(path, *mode):
        raise OSError(errno.ENOSPC, "No space left on device")

    place = FolderStorage(tmp_path)
    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(OSError, match="No space left"):
        place.append(NAME, 0, DATA)


def test_what_gathered_can_be_thrown_away(place):
    put(place, DATA[:1000])
    place.drop_part(NAME)
    place.drop_part(NAME)
    assert place.part_size(NAME) == 0 and list(place.names()) == []


def test_what_is_not_here_is_said_to_be_missing(place):
    with pytest.raises(FileNotFoundError):
        place.open(NAME)


def test_a_copy_is_proved_by_its_hash(place, tmp_path):
    other = FolderStorage(tmp_path / "other")
    put(other, DATA)
    other.complete(NAME)
    assert copy_whole(other, place, NAME) and not copy_whole(other, place, NAME)
    with place.open(NAME) as stream:
        assert stream.read() == DATA
    worse = FolderStorage(tmp_path / "worse")
    put(worse, DATA[:-1] + b"x")
    worse.complete(NAME)
    last = FolderStorage(tmp_path / "last")
    with pytest.raises(OSError, match="damaged"):
        copy_whole(worse, last, NAME)
    assert last.size(NAME) is None and last.part_size(NAME) == 0


def test_an_upload_goes_on_at_another_server_with_the_same_store(bucket, s3_endpoint, tmp_path):
    settings = {"PHOTOS_URL": bucket, "S3_ENDPOINT": s3_endpoint}
    one = Server(tmp_path / "one", **settings)
    url = one.app.config["SQLALCHEMY_DATABASE_URI"]
    two = Server(tmp_path / "two", DATABASE_URL=url, **settings)

    def piece(server, start, end):
        headers = {"Upload-Offset": str(start), "Upload-Length": str(len(DATA)), "Content-Type": "image/jpeg"}
        return server.client.put(f"/api/photos/{NAME}", data=DATA[start:end], headers=headers)

    try:
        assert piece(one, 0, 700).json == {"ok": True, "offset": 700, "complete": False}
        assert two.client.head(f"/api/photos/{NAME}").headers["Upload-Offset"] == "700"
        assert error_of(piece(two, 500, 900))["code"] == "photo_offset_mismatch"
        assert piece(two, 700, len(DATA)).json["complete"] is True
        assert one.client.head(f"/api/photos/{NAME}").headers["Upload-Complete"] == "?1"
        answer = one.client.get(f"/media/photos/{NAME}")
        assert (answer.data, answer.content_type) == (DATA, "image/jpeg")
    finally:
        one.close()
        two.close()


def test_a_store_that_does_not_answer_is_a_reason_to_try_again(bucket, s3_endpoint, tmp_path):
    server = Server(
        tmp_path / "data", PHOTOS_URL=bucket.replace("tests-", "nobody-has-made-"), S3_ENDPOINT=s3_endpoint
    )
    try:
        headers = {"Upload-Offset": "0", "Upload-Length": str(len(DATA)), "Content-Type": "image/jpeg"}
        answer = server.client.put(f"/api/photos/{NAME}", data=DATA, headers=headers)
        assert (answer.status_code, answer.json["retry"]) == (503, True)
        assert error_of(answer)["code"] == "photo_store_down"
    finally:
        server.close()


@pytest.mark.parametrize("url", ["s3:/x", "https://store/x", "bucket"])
def test_a_setting_that_cannot_be_is_told(url):
    with pytest.raises(AppError) as caught:
        S3Storage(url)
    assert caught.value.code == "photo_store_setting"
