"""POST /api/sync as another client sees it."""

import dataclasses
import gzip
import hashlib
import json

import pytest
from servers import entries, entry, error_of

from webapp import budgets
from webapp.sync import exchange
from webapp.timesource import new_id

A, B = "writer-aaaa", "writer-bbbb"


def test_a_batch_is_kept_and_comes_back_as_it_was_sent(server, job_id):
    sent = [entry(job_id, A, 1, "job", {"title": "Ditch 🐸"}), *entries(job_id, A, 2, 5)]
    answer = server.sync(sent, {job_id: {"have": {A: 5}}}).json
    assert answer["fates"] == [[f"{A}:{n}", "kept"] for n in range(1, 6)]
    assert answer["jobs"] == {job_id: {"have": {A: 5}}}
    assert (answer["ok"], answer["protocol"], answer["entries"], answer["more"]) == (True, 1, [], False)
    assert server.pull(job_id)["entries"] == sent


def test_the_same_batch_twice_changes_nothing(server, job_id):
    sent = entries(job_id, A, 1, 20)
    server.fates(sent)
    before = server.all_rows()
    assert {outcome for _, outcome in server.fates(sent)} == {"kept_already"}
    assert server.all_rows() == before


def test_a_lost_answer_then_a_batch_that_overlaps(server, job_id):
    sent = entries(job_id, A, 1, 10)
    server.fates(sent)  # committed; suppose the answer never arrived
    fates = server.fates([*sent, *entries(job_id, A, 11, 12)])
    assert [f[1] for f in fates] == ["kept_already"] * 10 + ["kept"] * 2
    assert server.pull(job_id)["jobs"][job_id]["have"] == {A: 12}


def test_one_entry_twice_in_one_batch_is_kept_once(server, job_id):
    one = entry(job_id, A, 1)
    assert [f[1] for f in server.fates([one, one])] == ["kept", "kept_already"]
    assert len(server.all_rows()["entry"]) == 1


def test_numbers_written_by_javascript_are_the_same_entry(server, job_id):
    one = entry(job_id, A, 1, fields={"counter_m": 12.0})
    server.fates([one])
    assert server.fates([{**one, "fields": {"counter_m": 12}}])[0][1] == "kept_already"


def test_a_gap_is_not_taken(server, job_id):
    fates = server.fates([*entries(job_id, A, 1, 2), *entries(job_id, A, 4, 5)])
    assert fates[2:] == [[f"{A}:4", "not_taken", "number_gap"], [f"{A}:5", "not_taken", "number_gap"]]
    assert server.pull(job_id)["jobs"][job_id]["have"] == {A: 2}


def test_a_bad_entry_is_set_aside_whole_and_counts_as_held(server, job_id):
    bad = entry(job_id, A, 1, fields={"counter_m": -1})
    fates = server.fates([bad, *entries(job_id, A, 2, 2)])
    identity, outcome, code, reasons = fates[0]
    assert (identity, outcome, code) == (f"{A}:1", "set_aside", "entry_refused")
    assert reasons["counter_m"] == ["Counter reading must lie between 0 and 5000 m."]
    assert fates[1] == [f"{A}:2", "kept"]
    pulled = server.pull(job_id)
    assert pulled["entries"][0] == bad
    assert pulled["aside"] == {job_id: {f"{A}:1": {"code": "entry_refused", "reasons": reasons}}}
    assert pulled["jobs"][job_id]["have"] == {A: 2}


def test_the_reasons_are_told_again_when_the_answer_was_lost(server, job_id):
    bad = entry(job_id, A, 1, fields={"nonsense": 1})
    assert server.fates([bad]) == server.fates([bad])
    assert server.fates([bad])[0][1] == "set_aside"


@pytest.mark.parametrize(
    "change",
    [
        {"kind": "ufo"},
        {"kind": 7},
        {"record_id": "no"},
        {"fields": None},
        {"fields": {}},
        {"fields": []},
        {"seen": {"counter_m": "x"}},
        {"device_id": "\ud800"},
        {"extra": True},
        {"recorded_at": 5},
        {"fields": {"remark": "\u0000 and \ud800"}},
        {"fields": {"counter_m": True}},
    ],
    ids=str,
)
def test_whatever_has_an_identity_is_kept_or_set_aside(server, job_id, change):
    sent = {**entry(job_id, A, 1), **change}
    answer = server.sync([sent])
    assert answer.status_code == 200, answer.text
    assert answer.json["fates"][0][1] == ("kept" if change == {"device_id": "\ud800"} else "set_aside")
    assert server.pull(job_id)["entries"] == [sent]
    assert server.fates([sent])[0][1] in ("kept_already", "set_aside")
    assert server.all_rows()["clash"] == []


@pytest.mark.parametrize(
    "number", [10**400, 2**53, -(2**53), 1e15], ids=["400 digits", "2^53", "-2^53", "1e15"]
)
def test_a_number_that_a_phone_would_change_leaves_its_entry_where_it_was_made(server, job_id, number):
    sent = entry(job_id, A, 1, fields={"counter_m": number})
    assert server.fates([sent])[0][1:3] == ["set_aside", "entry_too_large"]
    assert server.fates([sent])[0][1:3] == ["set_aside", "entry_too_large"]
    (frame,) = server.pull(job_id)["entries"]
    assert frame == {k: v for k, v in sent.items() if k != "fields"} | {"too_large": True}
    assert server.all_rows()["clash"] == []


def test_the_same_identity_with_other_content_is_set_aside_beside_the_first(server, job_id):
    one, other = entry(job_id, A, 1), entry(job_id, A, 1, fields={"counter_m": 99})
    server.fates([one])
    fates = server.fates([other])
    assert fates[0][:3] == [f"{A}:1", "set_aside", "identity_taken"]
    assert server.pull(job_id)["entries"] == [one]
    assert server.pull(job_id)["aside"] == {}
    server.fates([other])
    clashes = server.all_rows()["clash"]
    assert len(clashes) == 1 and json.loads(clashes[0][4])["fields"] == {"counter_m": 99}


def test_two_writers_each_get_what_they_lack(server, job_id):
    server.sync(entries(job_id, A, 1, 3), {job_id: {"have": {A: 3}}})
    answer = server.sync(entries(job_id, B, 1, 2), {job_id: {"have": {B: 2}}}).json
    assert [(e["writer"], e["number"]) for e in answer["entries"]] == [(A, 1), (A, 2), (A, 3)]
    assert answer["jobs"][job_id]["have"] == {A: 3, B: 2}
    assert server.pull(job_id, {A: 3})["entries"][0]["writer"] == B


def test_pull_goes_in_steps_until_nothing_is_left(server, job_id):
    for first in range(1, 701, 100):
        server.fates([*entries(job_id, A, first, first + 99), *entries(job_id, B, first, first + 99)])
    have, rounds, got = {}, 0, []
    while True:
        answer = server.pull(job_id, have, pull=280)
        got += answer["entries"]
        for one in answer["entries"]:
            assert one["number"] == have.get(one["writer"], 0) + 1, "ascending within a writer"
            have[one["writer"]] = one["number"]
        rounds += 1
        if not answer["more"]:
            break
    assert (rounds, len(got), have) == (5, 1400, {A: 700, B: 700})


def test_one_number_says_how_many_go_at_once(server, job_id, monkeypatch):
    monkeypatch.setattr(exchange, "MAX_ENTRIES", 3)
    refused = server.sync(entries(job_id, A, 1, 4))
    assert (refused.status_code, error_of(refused)["code"]) == (422, "too_many_entries")
    assert error_of(refused)["message"] == "Too many entries were sent at once. Send at most 3 in a request."
    answer = server.sync(entries(job_id, A, 1, 3)).json
    assert answer["max_entries"] == 3 and len(answer["fates"]) == 3
    server.fates(entries(job_id, A, 4, 5))
    pulled = server.pull(job_id)
    assert len(pulled["entries"]) == 3 and pulled["more"] is True
    assert "from 0 to 3." in error_of(server.sync(pull=4))["message"]


def test_pull_of_nothing_says_that_there_is_more(server, job_id):
    server.fates(entries(job_id, A, 1, 3))
    answer = server.pull(job_id, pull=0)
    assert (answer["entries"], answer["more"]) == ([], True)
    assert server.pull(job_id, {A: 3}, pull=0)["more"] is False


def digest(vector):
    lines = sorted(f"{w}:{n}" for w, n in vector.items())
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:32]


def test_the_digest_stands_for_the_vector(server, job_id):
    server.fates([*entries(job_id, B, 1, 2), *entries(job_id, A, 1, 11)])
    same = server.sync(jobs={job_id: {"digest": digest({A: 11, B: 2})}}).json
    assert same["jobs"] == {job_id: {"same": True}}
    unlike = server.sync(jobs={job_id: {"digest": digest({A: 10, B: 2})}}).json
    assert unlike["jobs"] == {job_id: {"have": {A: 11, B: 2}}}
    assert unlike["entries"] == [] and unlike["more"] is False


def test_a_server_restored_from_an_old_backup_says_what_it_lacks(server, job_id):
    server.fates(entries(job_id, A, 1, 2))
    answer = server.pull(job_id, {A: 50, B: 7})
    assert answer["jobs"][job_id]["have"] == {A: 2} and answer["entries"] == []


def test_other_jobs_are_listed_until_named_or_removed(server, job_id):
    other = new_id()
    server.fates([entry(other, A, 1, "job", {"title": "Weir", "site": "By the mill"})])
    row = {"job_id": other, "title": "Weir", "site": "By the mill"}
    assert server.pull(job_id)["others"] == [row]
    assert server.pull(other)["others"] == []
    server.fates([entry(other, B, 1, "job", {"title": "Old weir"}, seen={"title": [f"{A}:1"]})])
    assert server.pull(job_id)["others"] == [row | {"title": "Old weir"}]
    seen = {"*": [f"{A}:1", f"{B}:1"]}
    server.fates([entry(other, B, 2, "job", {"removed": True}, seen=seen)])
    assert server.pull(job_id)["others"] == []


def test_photos_are_wanted_until_they_are_here(server, job_id):
    data = b"not really a picture"
    sha256 = hashlib.sha256(data).hexdigest()
    fields = {"sha256": sha256, "size_bytes": len(data), "media_type": "image/jpeg"}
    answer = server.sync([entry(job_id, A, 1, "photo", fields)], {job_id: {"have": {A: 1}}}).json
    assert answer["photos_wanted"] == [sha256]
    headers = {"Upload-Offset": 0, "Upload-Length": len(data), "Content-Type": "image/jpeg"}
    assert server.client.put(f"/api/photos/{sha256}", data=data, headers=headers).json["complete"] is True
    assert server.pull(job_id, {A: 1})["photos_wanted"] == []
    assert server.sync(jobs={job_id: {"digest": digest({A: 1})}}).json["photos_wanted"] == []


def photo_entry(job_id, number, digit, **more):
    fields = {"sha256": digit * 64, "size_bytes": 1, "media_type": "image/jpeg"}
    return entry(job_id, A, number, "photo", fields, **more)


def test_a_photo_that_is_recorded_later_is_wanted_too(server, job_id):
    server.fates([photo_entry(job_id, 1, "a")])
    assert server.pull(job_id)["photos_wanted"] == ["a" * 64]
    record_id = new_id()
    server.fates([photo_entry(job_id, 2, "b", record_id=record_id)])
    assert server.pull(job_id)["photos_wanted"] == ["a" * 64, "b" * 64]
    seen = {"*": [f"{A}:2"]}
    server.fates([entry(job_id, A, 3, "photo", {"removed": True}, record_id, seen=seen)])
    assert server.pull(job_id)["photos_wanted"] == ["a" * 64]


def test_gzip_both_ways(server, job_id):
    body = json.dumps(
        {"protocol": 1, "device_id": "x", "jobs": {job_id: {"have": {}}}, "entries": entries(job_id, A, 1, 9)}
    )
    answer = server.client.post(
        "/api/sync",
        data=gzip.compress(body.encode()),
        headers={"Content-Type": "application/json", "Content-Encoding": "gzip", "Accept-Encoding": "gzip"},
    )
    assert answer.headers["Content-Encoding"] == "gzip" and "Accept-Encoding" in answer.headers["Vary"]
    assert len(json.loads(gzip.decompress(answer.data))["entries"]) == 9
    plain = server.sync(jobs={job_id: {"have": {}}})
    assert "Content-Encoding" not in plain.headers


@pytest.mark.parametrize("server", ["embedded"], indirect=True)  # only from a folder can files be moved away
def test_a_photo_whose_file_was_lost_is_wanted_again_and_taken_again(server, job_id, tmp_path):
    data = b"not really a picture"
    sha256 = hashlib.sha256(data).hexdigest()
    fields = {"sha256": sha256, "size_bytes": len(data), "media_type": "image/jpeg"}
    server.fates([entry(job_id, A, 1, "photo", fields)])
    headers = {"Upload-Offset": 0, "Upload-Length": len(data), "Content-Type": "image/jpeg"}
    put = f"/api/photos/{sha256}"
    assert server.client.put(put, data=data, headers=headers).json["complete"] is True
    (server.folder / "photos" / sha256[:2] / sha256).unlink()
    assert server.pull(job_id, {A: 1})["photos_wanted"] == [sha256]
    assert server.client.head(put).headers["Upload-Complete"] == "?0"
    assert server.client.put(put, data=data, headers=headers).json["complete"] is True
    assert server.client.get(f"/media/photos/{sha256}").data == data
    assert server.pull(job_id, {A: 1})["photos_wanted"] == []


def test_the_limits_have_a_number_that_changes_with_each_of_them(server, job_id):
    said = server.pull(job_id)["limits"]
    others = {
        budgets.limits_of(dataclasses.replace(budgets.BUDGETS, **{one.name: 7}))
        for one in dataclasses.fields(budgets.BUDGETS)
    }
    assert said == budgets.limits_of(budgets.BUDGETS) and said not in others
    assert len(others) == len(dataclasses.fields(budgets.BUDGETS))
