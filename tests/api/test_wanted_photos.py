"""Of the photos that are wanted an answer tells what changed; a list that was missed is told whole."""

import hashlib
from functools import reduce
from operator import xor

import picture_files
import pytest
from servers import entries, entry

from webapp.records.wants import digest_text, share_of
from webapp.store import change_rows, photo_rows
from webapp.store.engine import writing
from webapp.sync import wanted
from webapp.timesource import new_id
from webapp.web.state import state_of

A, B = "writer-aaaa", "writer-bbbb"
PHOTOS = [b"photo %d" % n for n in range(6)]
HASHES = [hashlib.sha256(photo).hexdigest() for photo in PHOTOS]


@pytest.fixture
def job_id():
    return new_id()


def list_digest(hashes):
    return digest_text(reduce(xor, map(share_of, hashes), 0))


class Phone:
    """Keeps a list by what it is told, as a phone does, and counts how much that was."""

    def __init__(self, server, *job_ids, differences=True):
        self.server, self.differences = server, differences
        self.jobs = {job_id: {"have": {}} for job_id in job_ids}
        self.list, self.stamp, self.told, self.whole = set(), "", 0, False
        self.heard, self.remarks = False, None  # those of the last answer

    def sync(self, sent=()):
        more = {"photo_differences": True, "photo_remarks": self.heard} if self.differences else {}
        lists = {"photos": self.stamp} if self.stamp else {}
        answer = self.server.sync(list(sent), self.jobs, lists=lists, **more).json
        assert all(fate[1] == "kept" for fate in answer["fates"])
        self.remarks = answer.get("photo_remarks")
        self.heard |= self.remarks is not None
        wants, gone = answer.get("photos_wanted"), answer.get("photos_unwanted", [])
        self.whole = wants is not None and "photos_since" not in answer
        self.told = len(wants or ()) + len(gone)
        self.list = set(wants) if self.whole else (self.list | set(wants or ())) - set(gone)
        stamp = answer["lists"]["photos"]
        sound = not self.differences or stamp.endswith("." + list_digest(self.list))
        self.stamp = stamp if sound else ""
        for job_id, state in answer["jobs"].items():
            if "stamp" in state:
                self.jobs[job_id] = {"since": state["stamp"], "have": {}}
        return self.list


def photo(job_id, number, which, record_id=None, **fields):
    return entry(job_id, A, number, "photo", {"sha256": HASHES[which], **fields}, record_id)


def bring(server, which):
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(PHOTOS[which])), "Content-Type": "image/jpeg"}
    return server.client.put(f"/api/photos/{HASHES[which]}", data=PHOTOS[which], headers=headers)


def test_one_more_wanted_is_told_as_one_and_one_that_came_as_one(server, job_id):
    phone, other = Phone(server, job_id), Phone(server, job_id)
    records = [new_id() for _ in range(4)]
    phone.sync([photo(job_id, n + 1, n, records[n]) for n in range(3)])
    assert phone.whole and other.sync() == phone.list == set(HASHES[:3])
    assert phone.sync([photo(job_id, 4, 3, records[3])]) == set(HASHES[:4])
    assert (phone.whole, phone.told) == (False, 1)
    phone.sync(entries(job_id, B, 1, 3))
    assert (phone.whole, phone.told) == (False, 0)
    bring(server, 1)
    assert phone.sync() == {HASHES[0], HASHES[2], HASHES[3]} and (phone.whole, phone.told) == (False, 1)
    removal = entry(job_id, A, 5, "photo", {"removed": True}, records[0], seen={"*": [f"{A}:1"]})
    renamed = photo(job_id, 6, 5, records[2]) | {"seen": {"sha256": [f"{A}:3"]}}
    assert phone.sync([removal, renamed]) == {HASHES[3], HASHES[5]} and not phone.whole
    assert other.sync() == phone.list and (other.whole, other.told) == (False, 5)


def test_a_photo_that_two_jobs_want_is_told_once_and_stays_until_it_comes(server, job_id):
    second = new_id()
    phone = Phone(server, job_id, second)
    phone.sync([photo(job_id, 1, 0), photo(second, 1, 0, record := new_id()), photo(second, 2, 1)])
    phone.sync()
    assert phone.list == set(HASHES[:2]) and phone.stamp
    removal = entry(second, A, 3, "photo", {"removed": True}, record, seen={"*": [f"{A}:1"]})
    assert phone.sync([removal]) == set(HASHES[:2]) and phone.stamp and not phone.whole
    bring(server, 0)
    assert phone.sync() == {HASHES[1]} and phone.stamp and not phone.whole


def test_what_no_log_tells_of_is_told_by_the_whole_list(server, job_id, monkeypatch):
    phone, rows = Phone(server, job_id), state_of(server.app).summaries
    phone.sync([photo(job_id, n + 1, n) for n in range(3)])
    bring(server, 0)
    assert phone.sync() == set(HASHES[1:3])
    # A file is lost, and found.
    for whole, listed in ((False, set(HASHES[:3])), (True, set(HASHES[1:3]))):
        monkeypatch.setattr(rows.wanted, "is_whole", lambda *_, whole=whole: whole)
        phone.sync()
        assert phone.sync() == listed and phone.stamp
    # A photo came that was not noted, as an earlier version of the server would take it.
    monkeypatch.setattr(change_rows, "note_photos", lambda *_: None)
    bring(server, 1)
    rows.wanted = wanted.Wanted(state_of(server.app).photos.is_whole)  # and it was started again
    assert phone.sync() == {HASHES[2]} and phone.whole
    # One that came while something else changed too: the list has not the digest, and is asked for whole.
    bring(server, 2)
    rows.wanted = wanted.Wanted(state_of(server.app).photos.is_whole)
    assert phone.sync([photo(job_id, 4, 3)]) != {HASHES[3]} and phone.stamp == ""
    assert phone.sync() == {HASHES[3]} and phone.whole


def test_two_processes_tell_one_story(server, job_id):
    phone, state = Phone(server, job_id), state_of(server.app)
    others = [state.summaries.wanted, wanted.Wanted(state.photos.is_whole)]
    phone.sync([photo(job_id, n + 1, n) for n in range(3)])
    for turn in range(3):
        state.summaries.wanted = others[turn % 2]
        bring(server, turn)
        state.summaries.wanted = others[1 - turn % 2]
        assert phone.sync() == set(HASHES[turn + 1 : 3]) and (phone.whole, phone.told) == (False, 1)


def test_a_phone_of_the_version_before_gets_whole_lists(server, job_id):
    phone, new = Phone(server, job_id, differences=False), Phone(server, job_id)
    for number in range(3):
        assert phone.sync([photo(job_id, number + 1, number)]) == new.sync() == set(HASHES[: number + 1])
        assert phone.whole and len(phone.stamp) == 16
    phone.sync()
    assert not phone.whole, "left out where it is the same"
    phone.differences = True  # the app was brought up to date, and later back
    assert phone.sync() == set(HASHES[:3]) and phone.whole and "." in phone.stamp
    phone.differences = False
    assert phone.sync() == set(HASHES[:3]) and phone.whole and "." not in phone.stamp


def test_what_the_office_erases_and_gives_back_is_told(server, job_id):
    phone = Phone(server, job_id)
    record = new_id()
    phone.sync([photo(job_id, 1, 0, record), photo(job_id, 2, 1)])
    body = {"what": "record", "target": record, "reason": "on request", "days": 30}
    made = server.client.post(f"/api/jobs/{job_id}/erasures", json=body).json
    phone.sync()
    assert phone.sync() == {HASHES[1]}
    assert server.client.post(f"/api/erasures/{made['id']}/undo", json={}).status_code == 200
    phone.sync()
    assert phone.sync() == set(HASHES[:2])


def test_an_answer_from_before_leaves_what_is_known_since(server, job_id):
    """A request that read the database first is answered by what another one has learned meanwhile."""
    phone, known = Phone(server, job_id), state_of(server.app).summaries.wanted
    phone.sync([photo(job_id, 1, 0)])
    with server.app.app_context():
        from webapp.store.engine import reading

        with reading() as early:
            before = change_rows.stamp(early, job_id), change_rows.stamp(early, change_rows.PHOTOS)
            phone.sync([photo(job_id, 2, 1)])
            with writing() as connection:
                about = {"size_bytes": 1, "media_type": "image/jpeg", "received_at": "2026-11-30"}
                photo_rows.add(connection, [{"sha256": "f" * 64, **about}])
            phone.sync()
            reads = []
            known.read_anew, read = lambda *asked: reads.append(asked) or read(*asked), known.read_anew
            known.bring_up(early, job_id, wanted.Version(before[0], "", before[1]))
            assert known.all_of([job_id]) == set(HASHES[:2]) and not reads


def remark(*which):
    note = "The photo is kept. It is not a JPEG, PNG, WebP or HEIC picture, so the report will not show it."
    return [{"note": note, "photos": sorted(HASHES[n] for n in which)}]


def test_a_photo_that_no_report_will_show_is_told_with_the_exchange(server, job_id):
    """Should the answer to its upload be cut; to everybody who has the job, once."""
    phone, other = Phone(server, job_id), Phone(server, job_id)
    phone.sync([photo(job_id, n + 1, n) for n in range(3)])
    assert phone.remarks == [] and phone.heard, "none yet"
    bring(server, 1)
    phone.sync()
    assert phone.remarks == remark(1) and not phone.whole
    phone.sync(entries(job_id, B, 1, 3))
    assert phone.remarks is None, "not again"
    bring(server, 0)
    other.sync()
    assert other.remarks == remark(0, 1)
    phone.sync([photo(job_id, 4, 1)])
    assert phone.remarks == remark(0, 1), "touched again by a record"
    old = server.sync([], {job_id: {"have": {}}}, lists={}, photo_differences=True).json
    assert "photo_remarks" not in old, "a phone of the version before"
    elsewhere = Phone(server, new_id())
    elsewhere.sync()
    assert elsewhere.remarks == [], "nor is it told of other jobs"


def test_a_picture_gets_no_remark_and_several_together_each_its_own(server, job_id):
    shown = picture_files.saved("PNG")
    photos = [shown, picture_files.png(9_000, 9_000, 0), b"%!PS together"]
    names = [hashlib.sha256(data).hexdigest() for data in photos]
    parts = ", ".join(f'"{n}";length={len(d)};type="image/png"' for n, d in zip(names, photos, strict=True))
    server.client.put(
        "/api/photos", data=b"".join(photos), headers={"Upload-Parts": parts},
        content_type="application/octet-stream",
    )  # fmt: skip
    phone = Phone(server, job_id)
    phone.sync([entry(job_id, A, n + 1, "photo", {"sha256": name}) for n, name in enumerate(names)])
    assert {hash_ for one in phone.remarks for hash_ in one["photos"]} == set(names[1:])
    assert "too many pixels" in next(one["note"] for one in phone.remarks if names[1] in one["photos"])


def test_what_an_earlier_version_took_is_told_once_it_was_looked_at(server, job_id, monkeypatch):
    phone, state = Phone(server, job_id), state_of(server.app)
    with monkeypatch.context() as earlier:
        earlier.setattr(photo_rows, "put_remarks", lambda *_: None)
        bring(server, 0)
    phone.sync([photo(job_id, 1, 0)])
    assert phone.remarks == []
    with server.app.app_context():
        for _ in range(2):
            state.photos.look_whether_shown(HASHES[0], len(PHOTOS[0]))
    phone.sync()
    assert phone.remarks == remark(0)
    phone.sync()
    assert phone.remarks is None
    assert bring(server, 0).json["note"] == remark(0)[0]["note"], "sent again it is said as well"


def test_a_share_is_the_first_64_bits():
    assert share_of("ffffffff00000001" + "0" * 48) == 0xFFFFFFFF00000001
    assert share_of("no hash") == 0 and list_digest([]) == "0" * 16
    assert list_digest([HASHES[0], HASHES[1], HASHES[0]]) == HASHES[1][:16]
