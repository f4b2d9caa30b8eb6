"""What the server says of a photo that the report will not show.  It is kept, to the byte, all the same."""

import hashlib

import picture_files as files
import pytest

ODD = {
    "kind": (files.POSTSCRIPT, "is not a JPEG, PNG, WebP or HEIC picture"),
    "too_large": (files.png(9_000, 9_000, 0), "too many pixels"),
    "not_decoded": (files.saved("PNG")[:20], "cut off or damaged"),
}


def name_of(data):
    return hashlib.sha256(data).hexdigest()


def put(server, data, start=0, size=None):
    piece = data[start : len(data) if size is None else start + size]
    headers = {"Upload-Offset": str(start), "Upload-Length": str(len(data))}
    path = f"/api/photos/{name_of(data)}"
    return server.client.put(path, data=piece, headers=headers, content_type="image/jpeg").json


def kept(server, data):
    return server.client.get(f"/media/photos/{name_of(data)}").data == data


@pytest.mark.parametrize("why", ODD)
def test_an_odd_photo_is_kept_and_the_answer_says_why_it_is_not_shown(server, why):
    data, words = ODD[why]
    answer = put(server, data)
    assert answer["complete"] is True and words in answer["note"] and kept(server, data)


def test_in_pieces_it_is_told_with_the_last(server):
    data, words = ODD["kind"]
    assert "note" not in put(server, data, 0, 40)
    assert words in put(server, data, 40)["note"] and kept(server, data)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_what_will_be_shown_has_no_note(server, form):
    data = files.saved(form)
    assert put(server, data) == {"ok": True, "offset": len(data), "complete": True} and kept(server, data)


def test_several_together_are_told_one_by_one(server):
    photos = [files.saved("JPEG"), *(data for data, _ in ODD.values())]
    parts = ", ".join(f'"{name_of(data)}";length={len(data)};type="image/jpeg"' for data in photos)
    answer = server.client.put(
        "/api/photos", data=b"".join(photos), headers={"Upload-Parts": parts},
        content_type="application/octet-stream",
    ).json  # fmt: skip
    notes = [one.get("note", "") for one in answer["photos"]]
    assert notes[0] == "" and all(
        words in note for note, (_, words) in zip(notes[1:], ODD.values(), strict=True)
    )
    assert all(one["complete"] for one in answer["photos"]) and all(kept(server, data) for data in photos)
