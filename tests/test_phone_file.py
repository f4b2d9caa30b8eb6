"""The file of everything that a phone held: what makes no sense keeps nothing else from being taken."""

import hashlib
import json
import zipfile

import pytest
from servers import Server, entry

from webapp.errors import AppError
from webapp.intake import phone_file
from webapp.intake.jobs import take_jobs
from webapp.intake.open_job import open_job, open_jobs
from webapp.web.state import state_of

JOBS = ("01890000-0000-7000-8000-0000000000d1", "01890000-0000-7000-8000-0000000000d2")
WRITER = "writer-of-a-phone"
PHOTOS = [b"\xff\xd8\xff first", b"\xff\xd8\xff second", b"\xff\xd8\xff third"]
HASHES = [hashlib.sha256(p).hexdigest() for p in PHOTOS]


def rows(*values):
    return [[n, value] for n, value in enumerate(values)]


def photo_row(n):
    return {"sha256": HASHES[n], "media_type": "image/jpeg", "size_bytes": len(PHOTOS[n])}


def write(path, photos=(), **stores):
    value = {"format": "fallbook-phone", "version": 1, "stores": stores, "part": 1, "parts": 1}
    value["photos"] = [photo_row(n) for n in photos]
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("phone.json", json.dumps(value))
        for n in photos:
            archive.writestr(f"photos/{HASHES[n]}.jpg", PHOTOS[n])
    return path


def photo(job_id, number, n):
    fields = {"sha256": HASHES[n], "size_bytes": len(PHOTOS[n]), "media_type": "image/jpeg"}
    return entry(job_id, WRITER, number, "photo", fields)


@pytest.fixture
def office(tmp_path):
    server = Server(tmp_path / "office")
    yield server
    server.close()


def take(office, path):
    reported = []
    with office.app.app_context(), open_jobs(path, reported.extend) as jobs:
        return take_jobs(jobs, state_of(office.app).photos), reported, len(jobs)


def test_all_jobs_and_photos_are_taken_and_twice_changes_nothing(office, tmp_path):
    held = [
        entry(JOBS[0], WRITER, 1, "job", {"title": "Dell Lane"}),
        photo(JOBS[0], 2, 0),
        entry(JOBS[1], WRITER, 1, "job", {"title": "Bell Lane"}),
        photo(JOBS[1], 2, 1),
    ]
    path = write(tmp_path / "a.zip", (0, 1, 2), entries=rows(*held), meta=rows({"$base64": "AAA="}))
    found, reported, count = take(office, path)
    assert (found["kept"], found["photos"], found["photos_missing"], reported, count) == (4, 3, 0, [], 3)
    again, _, _ = take(office, path)
    assert (again["kept"], again["kept_already"], again["photos"]) == (0, 4, 0)
    with office.app.app_context():
        assert all(state_of(office.app).photos.row(one) for one in HASHES), "one that no record names, too"


def test_a_part_with_photos_alone_brings_them(office, tmp_path):
    first = write(tmp_path / "1.zip", (0,), entries=rows(*[photo(JOBS[0], 1, 0), photo(JOBS[0], 2, 1)]))
    second = write(tmp_path / "2.zip", (1,), **{"": []})
    assert take(office, first)[0]["photos_missing"] == 1
    found, _, _ = take(office, second)
    assert (found["job_id"], found["photos"]) == (None, 1)
    assert take(office, first)[0]["photos_missing"] == 0


def test_rows_that_make_no_sense_are_told_and_keep_nothing_out(office, tmp_path):
    nonsense = [None, 7, {"job_id": JOBS[0]}, {"job_id": JOBS[0], "writer": WRITER, "number": 0}]
    odd = entry(JOBS[0], WRITER, 2, "job", {"title": 7})
    shapeless = {"job_id": JOBS[0], "writer": WRITER, "number": 3}
    good = [entry(JOBS[0], WRITER, 1, "job", {"title": "Dell Lane"}), odd, shapeless]
    mark = {"job_id": JOBS[0], "writer": WRITER, "number": 2, "code": "entry_refused", "dismissed": False}
    stores = {"entries": [*rows(*nonsense, *good), "no row"], "aside": rows(mark, None, {"code": "x"})}
    found, reported, _ = take(office, write(tmp_path / "a.zip", **stores))
    assert (found["kept"], found["set_aside"], len(reported)) == (1, 2, 5)
    assert reported[0].startswith("Entry 1 of the file has no identity and was not taken:")


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ([], "job_file_kind"),
        ({"format": "fallbook-job", "version": 1}, "job_file_kind"),
        ({"format": "fallbook-phone", "version": 2}, "job_file_newer"),
        ({"format": "fallbook-phone"}, "job_file_newer"),
    ],
)
def test_what_is_no_such_file_is_refused(value, code):
    with pytest.raises(AppError) as refused:
        phone_file.read(json.dumps(value).encode())
    assert refused.value.code == code


def test_a_phone_that_held_nothing_is_said(office, tmp_path):
    with pytest.raises(AppError, match="There was nothing on the phone"):
        take(office, write(tmp_path / "a.zip", entries=[]))


def test_where_one_job_is_wanted_it_says_how_to_take_it(tmp_path):
    path = write(tmp_path / "a.zip", entries=rows(entry(JOBS[0], WRITER, 1, "job", {"title": "x"})))
    with pytest.raises(AppError, match="take it with fallbook import"), open_job(path):
        pass


def test_the_office_page_takes_it(office, tmp_path):
    path = write(tmp_path / "a.zip", (0,), entries=rows(photo(JOBS[0], 1, 0), photo(JOBS[1], 1, 0)))
    answer = office.client.post("/api/import", data=path.read_bytes(), content_type="application/zip")
    assert answer.status_code == 200, answer.text
    assert (answer.json["job_id"], answer.json["kept"], answer.json["photos"]) == (JOBS[0], 2, 1)
