"""What changed since a stamp, and nothing else."""

import json

import pytest
from servers import Server, entries, entry
from sqlalchemy import text

from webapp.store import change_rows
from webapp.store.engine import writing
from webapp.sync import wanted as wanted_photos
from webapp.timesource import new_id

A, B, C = "writer-aaaa", "writer-bbbb", "writer-cccc"


def ask(server, job_id, state, sent=(), **lists):
    """Return the answer to a sender that keeps lists."""
    answer = server.sync(sent, {job_id: state}, lists=lists)
    assert answer.status_code == 200, answer.text
    return answer.json


def agreed(server, job_id, have):
    """Return the stamp at which a sender holds what the server does."""
    state = ask(server, job_id, {"have": have})["jobs"][job_id]
    assert state["have"] == have
    return state["stamp"]


def test_only_what_changed_is_told(server, job_id):
    server.fates([*entries(job_id, A, 1, 3), *entries(job_id, B, 1, 2)])
    stamp = agreed(server, job_id, {A: 3, B: 2})
    sent = entries(job_id, C, 1, 1)
    answer = ask(server, job_id, {"since": stamp, "have": {C: 1}}, sent)
    state = answer["jobs"][job_id]
    assert (state["since"], state["have"], answer["entries"]) == (stamp, {C: 1}, [])
    assert state["stamp"] != stamp
    later = ask(server, job_id, {"since": stamp, "have": {}})
    assert later["jobs"][job_id] == state and later["entries"] == sent
    again = ask(server, job_id, {"since": state["stamp"], "have": {}})
    assert again["jobs"][job_id] == {"since": state["stamp"], "have": {}, "stamp": state["stamp"]}


def test_of_a_writer_that_went_on_only_the_rest_comes(server, job_id):
    server.fates(entries(job_id, A, 1, 3))
    stamp = agreed(server, job_id, {A: 3})
    for number in (4, 5):
        server.fates(entries(job_id, A, number, number))
    answer = ask(server, job_id, {"since": stamp, "have": {}})
    assert [one["number"] for one in answer["entries"]] == [4, 5]
    assert answer["jobs"][job_id]["have"] == {A: 5}


def test_a_sender_that_lost_some_says_so_and_gets_them(server, job_id):
    server.fates([*entries(job_id, A, 1, 3), *entries(job_id, B, 1, 1)])
    stamp = agreed(server, job_id, {A: 3, B: 1})
    answer = ask(server, job_id, {"since": stamp, "have": {A: 1, B: 0}})
    assert [(one["writer"], one["number"]) for one in answer["entries"]] == [(A, 2), (A, 3), (B, 1)]


def test_more_than_fits_comes_in_the_next_answers(server, job_id):
    server.fates(entries(job_id, A, 1, 3))
    stamp = agreed(server, job_id, {A: 3})
    server.fates([*entries(job_id, A, 4, 6), *entries(job_id, B, 1, 1)])
    answer = server.sync(jobs={job_id: {"since": stamp, "have": {}}}, pull=2, lists={}).json
    assert answer["more"] and [one["number"] for one in answer["entries"]] == [4, 5]
    new = answer["jobs"][job_id]["stamp"]
    rest = ask(server, job_id, {"since": new, "have": {A: 5, B: 0}})
    assert [(one["writer"], one["number"]) for one in rest["entries"]] == [(A, 6), (B, 1)]
    assert not rest["more"]


@pytest.mark.parametrize("stamp", ["1-0000000000000000-0", "999-0000000000000000-0", "1-2-3", "0"])
def test_a_stamp_that_is_not_of_this_server_is_answered_by_the_whole(server, job_id, stamp):
    server.fates([*entries(job_id, A, 1, 3), *entries(job_id, B, 1, 1)])
    answer = ask(server, job_id, {"since": stamp, "have": {C: 1}}, entries(job_id, C, 1, 1))
    state = answer["jobs"][job_id]
    assert "since" not in state and state["have"] == {A: 3, B: 1, C: 1}
    assert answer["entries"] == [] and answer["fates"] == [[f"{C}:1", "kept"]]


def test_a_server_put_back_from_a_backup_knows_no_later_stamp(server, job_id):
    server.fates(entries(job_id, A, 1, 1))
    before = server.all_rows()
    server.fates(entries(job_id, B, 1, 1))
    stamp = agreed(server, job_id, {A: 1, B: 1})
    with server.app.app_context(), writing() as connection:
        for table in ("entry", "change"):
            connection.execute(text(f"DELETE FROM {table}"))
            for row in before[table]:
                places = ", ".join(f":v{n}" for n in range(len(row)))
                values = {f"v{n}": value for n, value in enumerate(row)}
                connection.execute(text(f"INSERT INTO {table} VALUES ({places})"), values)
    server.fates(entries(job_id, C, 1, 1))  # a batch at the same place in the log
    state = ask(server, job_id, {"since": stamp, "have": {}})["jobs"][job_id]
    assert "since" not in state and state["have"] == {A: 1, C: 1}


def test_after_too_many_changes_the_whole_is_told(server, job_id, monkeypatch):
    monkeypatch.setattr(change_rows, "ITEMS", 2)
    server.fates(entries(job_id, A, 1, 1))
    stamp = agreed(server, job_id, {A: 1})
    server.fates([*entries(job_id, B, 1, 1), *entries(job_id, C, 1, 1)])
    assert ask(server, job_id, {"since": stamp, "have": {}})["jobs"][job_id]["have"] == {B: 1, C: 1}
    server.fates(entries(job_id, A, 2, 2))
    assert "since" not in ask(server, job_id, {"since": stamp, "have": {}})["jobs"][job_id]


def test_the_log_is_kept_short(server, job_id, monkeypatch):
    monkeypatch.setattr(change_rows, "BATCHES", 2)
    server.fates(entries(job_id, A, 1, 1))
    first = agreed(server, job_id, {A: 1})
    for number in (2, 3, 4):
        server.fates(entries(job_id, A, number, number))
    assert [row[1] for row in server.all_rows()["change"] if row[0] == job_id] == [3, 4]
    assert "since" not in ask(server, job_id, {"since": first, "have": {}})["jobs"][job_id]


def test_what_an_earlier_version_stored_gets_a_stamp(server, job_id):
    server.fates([entry(job_id, A, 1, "job", {"title": "x"}), *entries(job_id, A, 2, 3)])
    with server.app.app_context(), writing() as connection:
        connection.execute(text("DELETE FROM change"))
    found = ask(server, job_id, {"have": {A: 3}})
    stamp = found["jobs"][job_id]["stamp"]
    assert ask(server, job_id, {"since": stamp, "have": {}})["jobs"][job_id]["have"] == {}
    assert found["lists"]["others"] and ask(server, job_id, {"have": {}}, others=found["lists"]["others"])
    server.fates(entries(job_id, A, 4, 4))
    assert ask(server, job_id, {"since": stamp, "have": {}})["jobs"][job_id]["have"] == {A: 4}


def test_a_sender_of_an_earlier_version_is_answered_as_before(server, job_id):
    sent = [entry(job_id, A, 1, "job", {"title": "x"})]
    for have in ({A: 1}, {}):
        answer = server.sync(sent, {job_id: {"have": have}}).json
        assert answer["jobs"] == {job_id: {"have": {A: 1}}}
        assert set(answer) == {
            "ok", "protocol", "jobs", "fates", "entries", "aside", "more", "photos_wanted", "others",
            "max_entries", "limits",
        }  # fmt: skip
        assert answer["others"] == []


def titled(job_id, number, **fields):
    return entry(job_id, A, number, "job", fields)


def test_of_the_other_jobs_only_those_that_changed_are_told(server, job_id):
    one, two, three = sorted(new_id() for _ in range(3))
    server.fates([titled(job, 1, title="x", site="y") for job in (one, two)])
    found = ask(server, job_id, {"have": {}})
    assert [row["job_id"] for row in found["others"]] == [one, two] and "others_since" not in found
    stamp = found["lists"]["others"]
    same = ask(server, job_id, {"have": {}}, others=stamp)
    assert "others" not in same and same["lists"]["others"] == stamp
    removal = titled(two, 2, removed=True) | {"seen": {"*": [f"{A}:1"]}}
    server.fates([titled(three, 1, title="new"), removal, *entries(one, A, 2, 3)])
    news = ask(server, job_id, {"have": {}}, others=stamp)
    assert news["others_since"] == stamp and news["lists"]["others"] != stamp
    assert news["others"] == [
        {"job_id": two, "gone": True}, {"job_id": three, "title": "new", "site": ""},
    ]  # fmt: skip
    other = ask(server, job_id, {"have": {}}, others="1-0000000000000000-0")
    assert [row["job_id"] for row in other["others"]] == [one, three] and "others_since" not in other


def test_the_photos_wanted_are_told_when_they_changed(server, job_id):
    sha = [f"{n:064x}" for n in (1, 2)]
    photo = entry(job_id, A, 1, "photo", {"sha256": sha[0]})
    found = ask(server, job_id, {"have": {A: 1}}, [photo])
    assert found["photos_wanted"] == [sha[0]]
    tag, stamp = found["lists"]["photos"], found["jobs"][job_id]["stamp"]
    state = {"since": stamp, "have": {A: 2}}
    assert "photos_wanted" not in ask(server, job_id, state, entries(job_id, A, 2, 2), photos=tag)
    second = entry(job_id, A, 3, "photo", {"sha256": sha[1]})
    assert ask(server, job_id, state, [second], photos=tag)["photos_wanted"] == sha
    removal = entry(job_id, A, 4, "photo", {"removed": True}, record_id=photo["record_id"])
    removal["seen"] = {"*": [f"{A}:1"]}
    assert ask(server, job_id, state, [removal], photos=tag)["photos_wanted"] == [sha[1]]
    caption = entry(job_id, B, 1, "photo", {"caption": "later"}, record_id=photo["record_id"])
    assert ask(server, job_id, state, [caption], photos=tag)["photos_wanted"] == sha


def test_photos_caught_up_with_are_those_of_the_whole(server, job_id):
    """Whatever photo entries come in whatever order: as if all were read."""
    import random

    rng = random.Random(5)
    records, ids = [new_id() for _ in range(4)], []
    for number in range(1, 60):
        record, shown = rng.choice(records), rng.sample(ids, min(len(ids), 3))
        fields = rng.choice(
            [
                {"sha256": f"{rng.randrange(6):064x}"},
                {"caption": str(number)},
                {"removed": rng.random() < 0.7},
            ]
        )
        one = entry(job_id, A, number, "photo", fields, record_id=record)
        one["seen"] = {name: shown for name in fields}
        if fields.get("removed"):
            one["seen"]["*"] = ids[-rng.randrange(1, 20) :]
        ids.append(f"{A}:{number}")
        server.fates([one])
        answer = ask(server, job_id, {"have": {A: number}})
        photos = server.client.get(f"/api/jobs/{job_id}").json["entries"]
        wanted = sorted(wanted_photos.photos_named([e for e in photos if e["kind"] == "photo"]))
        assert answer["photos_wanted"] == wanted


@pytest.mark.parametrize(
    "lists", [[], {"others": 1}, {"photos": "é"}, {"more": "1"}, {"others": "x" * 61}, "é", {"others": ""}]
)
def test_odd_stamps_are_refused(server, job_id, lists):
    answer = server.sync(jobs={job_id: {"have": {}}}, lists=lists)
    assert (answer.status_code, json.loads(answer.data)["errors"][0]["code"]) == (422, "request_malformed")
    state = {"since": lists, "have": {}}
    assert server.sync(jobs={job_id: state}).status_code == 422


def test_a_batch_that_cannot_be_noted_makes_all_stamps_unknown(tmp_path, job_id, monkeypatch):
    server = Server(tmp_path / "data")
    try:
        server.fates(entries(job_id, A, 1, 1))
        stamp = agreed(server, job_id, {A: 1})
        import sqlite3

        from sqlalchemy.exc import OperationalError

        def damaged(*_):
            raise OperationalError("", {}, sqlite3.DatabaseError("database disk image is malformed"))

        with monkeypatch.context() as patch:
            patch.setattr(change_rows, "insert", damaged)
            assert server.fates(entries(job_id, A, 2, 2)) == [[f"{A}:2", "kept"]]
        state = ask(server, job_id, {"since": stamp, "have": {}})["jobs"][job_id]
        assert "since" not in state and state["have"] == {A: 2}
        new = agreed(server, job_id, {A: 2})
        assert "since" in ask(server, job_id, {"since": new, "have": {}})["jobs"][job_id]
    finally:
        server.close()
