"""Several small photos in one request."""

import errno

import pytest
from photo_bundles import PHOTOS, files_of, name_of, part, put
from servers import Server, error_of
from sqlalchemy.dialects import postgresql

from webapp.errors import AppError
from webapp.messages import t
from webapp.store import photo_rows, photo_storage
from webapp.web.state import state_of

LIMIT = 8 * 1024 * 1024
NO_PICTURE = {"note": t("api.photo_not_shown.kind")}


@pytest.fixture
def embedded(tmp_path):
    """A server whose photos lie in its folder."""
    one = Server(tmp_path / "embedded")
    yield one
    one.close()


def test_photos_come_back_byte_for_byte_and_are_told_of_in_order(server):
    header = f"{part(PHOTOS[3])} ,\t{part(PHOTOS[1], 'image/png')},{part(PHOTOS[2], 'text/html')}"
    header = header.replace(";length", ";  length", 1)
    answer = put(server, PHOTOS[3], PHOTOS[1], PHOTOS[2], header=header)
    sent = [PHOTOS[3], PHOTOS[1], PHOTOS[2]]
    reported = [
        {"sha256": name_of(data), "offset": len(data), "complete": True, **NO_PICTURE} for data in sent
    ]
    assert (answer.status_code, answer.json) == (200, {"ok": True, "photos": reported})
    kinds = []
    for data in sent:
        got = server.client.get(f"/media/photos/{name_of(data)}")
        assert got.data == data
        kinds.append(got.content_type)
    assert kinds == ["image/jpeg", "image/png", "application/octet-stream"]
    assert len(server.all_rows()["photo"]) == 3 == len(files_of(server))
    before = server.all_rows()
    assert put(server, *sent).json["photos"] == reported, "again: the same answer, nothing twice"
    assert server.all_rows() == before


def test_length_and_type_stand_in_any_order_and_a_type_may_be_escaped(server):
    header = f'"{name_of(PHOTOS[1])}";type="image/\\"x\\\\"; length={len(PHOTOS[1])}'
    assert put(server, PHOTOS[1], header=header).json["photos"][0]["complete"] is True
    assert server.all_rows()["photo"][0][2] == "application/octet-stream"


def test_one_that_is_damaged_and_one_that_has_gathered_hold_up_no_other(server):
    gathered, damaged, fine = PHOTOS[5], PHOTOS[6], PHOTOS[7]
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(gathered))}
    server.client.put(f"/api/photos/{name_of(gathered)}", data=gathered[:300], headers=headers)
    header = ", ".join([part(gathered), part(damaged), part(fine)])
    first, second, third = put(server, header=header, body=gathered + b"x" + damaged[1:] + fine).json[
        "photos"
    ]
    assert (first["offset"], first["complete"], first["code"]) == (300, False, "photo_offset_mismatch")
    assert (second["offset"], second["complete"], second["code"]) == (0, False, "photo_hash_mismatch")
    assert first["message"] and second["message"]
    assert third == {"sha256": name_of(fine), "offset": len(fine), "complete": True, **NO_PICTURE}
    assert files_of(server) == sorted([f"{name_of(gathered)}.part", name_of(fine)])
    assert [row[0] for row in server.all_rows()["photo"]] == [name_of(fine)]
    go_on = {"Upload-Offset": "300", "Upload-Length": str(len(gathered))}
    answer = server.client.put(f"/api/photos/{name_of(gathered)}", data=gathered[300:], headers=go_on)
    assert answer.json["complete"] is True
    assert server.client.get(f"/media/photos/{name_of(gathered)}").data == gathered


def test_a_file_that_stands_there_without_its_row_gets_one(server):
    place = state_of(server.app).photos.place
    place.append(name_of(PHOTOS[1]), 0, PHOTOS[1])
    place.complete(name_of(PHOTOS[1]))
    assert all(one["complete"] for one in put(server, PHOTOS[1], PHOTOS[2]).json["photos"])
    assert len(server.all_rows()["photo"]) == 2


def test_a_disk_that_fills_in_the_middle_keeps_what_it_could(embedded, monkeypatch):
    real, calls = photo_storage.write_all, []

    def write(file, data):
        calls.append(len(data))
        if len(calls) == 2:
            file.write(data[:10])
            raise OSError(errno.ENOSPC, "No space left on device")
        real(file, data)

    monkeypatch.setattr(photo_storage, "write_all", write)
    reported = put(embedded, *PHOTOS[1:4]).json["photos"]
    assert [one["complete"] for one in reported] == [True, False, True]
    assert (reported[1]["code"], reported[1]["offset"]) == ("disk_full", 0)
    assert files_of(embedded) == sorted([name_of(PHOTOS[1]), name_of(PHOTOS[3])]), "no half of it"


def test_one_that_cannot_be_written_for_another_reason_holds_up_no_other(embedded):
    bad = PHOTOS[2]
    in_the_way = embedded.folder / "photos" / name_of(bad)[:2] / f"{name_of(bad)}.part"
    in_the_way.mkdir(parents=True)
    in_the_way.joinpath("x").touch()
    reported = put(embedded, *PHOTOS[1:4]).json["photos"]
    assert [one["complete"] for one in reported] == [True, False, True]
    assert reported[1]["code"] == "server_fault"
    assert len(embedded.all_rows()["photo"]) == 2


def test_a_store_that_does_not_answer_is_not_waited_for_sixteen_times(embedded, monkeypatch):
    place, requested = state_of(embedded.app).photos.place, []

    def down(sha256, _data):
        requested.append(sha256)
        raise AppError("photo_store_down")

    with monkeypatch.context() as patch:
        patch.setattr(place, "put", down)
        reported = put(embedded, *PHOTOS[:16]).json["photos"]
        assert {one["code"] for one in reported} == {"photo_store_down"} and len(requested) == 2
    real = place.put
    monkeypatch.setattr(place, "put", lambda *one: down(*one) if one[0] == name_of(PHOTOS[0]) else real(*one))
    reported = put(embedded, *PHOTOS[:16]).json["photos"]
    assert [one["complete"] for one in reported] == [False] + [True] * 15, "one may fail by itself"


def test_two_bundles_write_their_rows_in_one_order(monkeypatch):
    """PostgreSQL: two transactions with the same photos in other orders would wait for each other."""

    class Connection:
        dialect = postgresql.dialect()

        def execute(self, _statement, given):
            self.order = [row["sha256"] for row in given]

    connection = Connection()
    monkeypatch.setattr(photo_rows.change_rows, "note_photos", lambda *noted: None)
    photo_rows.add(connection, [{"sha256": name} for name in "bca"])
    assert connection.order == ["a", "b", "c"]


def test_more_than_the_photo_has_under_its_name_is_thrown_away(server):
    place = state_of(server.app).photos.place
    for photo in PHOTOS[1:3]:
        place.append(name_of(photo), 0, b"?" * (len(photo) + 1))
    assert put(server, PHOTOS[1], PHOTOS[3]).json["photos"][0]["complete"] is True
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(PHOTOS[2]))}
    for piece, complete in ((PHOTOS[2][:400], False), (PHOTOS[2][400:], True)):
        answer = server.client.put(f"/api/photos/{name_of(PHOTOS[2])}", data=piece, headers=headers)
        assert (answer.status_code, answer.json.get("complete")) == (200, complete)
        headers["Upload-Offset"] = "400"
    assert files_of(server) == sorted(map(name_of, PHOTOS[1:4]))


def test_bytes_then_names_then_rows_then_the_answer(embedded, monkeypatch):
    """What is said complete outlives a power cut: this watches in which order the disk is asked."""
    seen = []

    def watch(owner, name, word):
        real = getattr(owner, name)

        def watched(*args):
            seen.append((word, args[0] if word == "folder" else None))
            return real(*args)

        monkeypatch.setattr(owner, name, watched)

    watch(photo_storage.os, "replace", "name")
    watch(photo_storage, "sync_folder", "folder")
    watch(photo_storage, "write_all", "bytes")
    watch(photo_rows, "add", "rows")
    photos = PHOTOS[:8]
    assert all(one["complete"] for one in put(embedded, *photos).json["photos"])
    words = [word for word, _ in seen]
    assert words[:16] == ["bytes", "name"] * 8
    folders = {folder.name for word, folder in seen if word == "folder"}
    assert folders >= {name_of(data)[:2] for data in photos} | {"photos"}
    assert words[16:] == ["folder"] * (len(words) - 17) + ["rows"]
    assert len(words) - 17 == len(folders), "each folder once"
    seen.clear()
    twin = next(d for n in range(10_000) if name_of(d := b"%d" % n)[:2] == name_of(photos[0])[:2])
    assert put(embedded, twin).json["photos"][0]["complete"] is True
    assert [(w, f and f.name) for w, f in seen] == [
        ("bytes", None),
        ("name", None),
        ("folder", name_of(twin)[:2]),
        ("rows", None),
    ], "the folder's own name is on disk already"


def test_nothing_is_said_complete_when_the_rows_cannot_be_written(server, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(photo_rows, "add", full)
        refused = put(server, *PHOTOS[:3])
        assert (refused.status_code, error_of(refused)["code"]) == (507, "disk_full")
        assert refused.json["retry"] is True
    assert server.client.head(f"/api/photos/{name_of(PHOTOS[0])}").headers["Upload-Complete"] == "?0"
    assert all(one["complete"] for one in put(server, *PHOTOS[:3]).json["photos"])


def test_sixteen_photos_and_not_a_byte_more_than_a_piece(server):
    assert len(put(server, *PHOTOS[:16]).json["photos"]) == 16
    large = b"\0" * (LIMIT - 10)
    answer = put(server, large, b"x" * 11)
    assert (answer.status_code, error_of(answer)["code"]) == (413, "body_too_large")
    assert [one["complete"] for one in put(server, large, b"x" * 10).json["photos"]] == [True, True]
