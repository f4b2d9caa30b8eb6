"""What may come in at once: each budget one below, at and one above, and what it protects."""

import dataclasses
import gzip
import json
import tracemalloc

import pytest
from servers import entries, entry, erase, error_of

from webapp.budgets import BUDGETS
from webapp.records import canonical, entry_budget, job_file, json_size, vectors
from webapp.store.engine import writing
from webapp.sync import apply, beside, exchange, pulling
from webapp.timesource import new_id

A, B = "writer-aaaa", "writer-bbbb"
OVER = [(-1, "entry_refused"), (0, "entry_refused"), (1, "entry_too_large")]
GZIP = {"Content-Type": "application/json", "Content-Encoding": "gzip"}


def smaller(monkeypatch, **numbers):
    """Make some budgets smaller wherever they are read."""
    changed = dataclasses.replace(BUDGETS, **numbers)
    for module in (
        apply,
        beside,
        entry_budget,
        vectors,
        exchange,
        "webapp.api.bodies",
        "webapp.store.entry_rows",
        "webapp.store.whole_jobs",
    ):
        where = f"{module}.BUDGETS" if isinstance(module, str) else f"{module.__name__}.BUDGETS"
        monkeypatch.setattr(where, changed)


def of_size(job_id, number, size_bytes):
    """Return an entry whose text has so many bytes; its text is too long for a remark, so it is set aside."""
    bare = entry(job_id, A, number, kind="remark", fields={"text": ""})
    room = size_bytes - len(canonical.dumps(bare))
    found = entry(job_id, A, number, kind="remark", fields={"text": "x" * room}, record_id=bare["record_id"])
    assert len(canonical.dumps(found)) == size_bytes
    return found


@pytest.mark.parametrize(
    ("over", "code"), [(-1, "entry_refused"), (0, "entry_refused"), (1, "entry_too_large")]
)
def test_bytes_of_an_entry(server, job_id, over, code):
    sent = of_size(job_id, 1, BUDGETS.entry_bytes + over)
    (outcome,) = server.fates([sent])
    assert outcome[1:3] == ["set_aside", code]
    (held,) = server.pull(job_id)["entries"]
    assert held == (sent if code == "entry_refused" else entry_budget.frame_of(sent))


def test_bytes_count_and_not_characters(server, job_id):
    sent = entry(job_id, A, 1, kind="remark", fields={"text": "ä" * (BUDGETS.entry_bytes // 2)})
    assert server.fates([sent])[0][2] == "entry_too_large"


@pytest.mark.parametrize(
    ("over", "code"), [(-1, "entry_refused"), (0, "entry_refused"), (1, "entry_too_large")]
)
def test_fields_values_and_depth_of_an_entry(server, job_id, over, code):
    fields = {f"f{n}": 1 for n in range(BUDGETS.entry_fields + over)}
    bare = json_size.json_size(canonical.dumps(entry(job_id, A, 1, fields={"x": [1]})).encode()).values
    values = {"x": [1] * (BUDGETS.entry_values - bare + 1 + over)}
    depth = BUDGETS.entry_depth - 2 + over
    deep = {"x": json.loads("[" * depth + "]" * depth)}
    sent = [entry(job_id, A, n, fields=f) for n, f in enumerate((fields, values, deep), start=1)]
    assert [one[2] for one in server.fates(sent)] == [code] * 3


def test_an_entry_too_large_stops_none_after_it_and_is_told_why(server, job_id):
    large = of_size(job_id, 2, 2_000_000)
    sent = [entry(job_id, A, 1), large, entry(job_id, A, 3)]
    kept, told, after = server.fates(sent)
    assert (kept[1], told[1], after[1]) == ("kept", "set_aside", "kept")
    assert told[3]["entry"][0].startswith("One entry may have 64 kB")
    assert server.fates(sent) == [[kept[0], "kept_already"], told, [after[0], "kept_already"]]
    found = server.pull(job_id)
    assert found["aside"][job_id][f"{A}:2"]["code"] == "entry_too_large"
    assert [one["number"] for one in found["entries"]] == [1, 2, 3]
    assert server.fates([entry_budget.frame_of(large)])[0][:3] == told[:3]
    assert not server.all_rows()["clash"]


def test_a_frame_that_says_more_than_a_frame_is_an_entry_like_any_other(server, job_id):
    odd = entry(job_id, A, 1) | {"too_large": True}
    assert server.fates([odd])[0][2] == "entry_refused"
    assert server.pull(job_id)["entries"] == [odd]


def put_large(server, job_id, writer, number, size):
    """Store an entry as an earlier version would have taken it."""
    sent = entry(job_id, writer, number, kind="remark", fields={"text": "x" * size})
    body = canonical.dumps(sent)
    row = {
        "job_id": job_id, "writer": writer, "number": number, "record_id": sent["record_id"],
        "kind": "remark", "body": body, "sha256": canonical.digest(sent), "received_at": "2026-01-01",
        "aside": json.dumps({"code": "entry_refused", "reasons": {"text": ["Too long."]}}),
    }  # fmt: skip
    with server.app.app_context(), writing() as connection:
        apply.entry_rows.add(connection, [row])
    return sent


def test_what_an_earlier_version_took_comes_one_by_one_and_last(server, job_id):
    large = [put_large(server, job_id, A, n, 300_000) for n in (1, 2)]
    server.fates(entries(job_id, B, 1, 3))
    first = server.pull(job_id)
    assert [one["writer"] for one in first["entries"]] == [B, B, B] and first["more"] is True
    second = server.pull(job_id, {B: 3})
    assert (second["entries"], second["more"]) == ([large[0]], True)
    assert second["aside"][job_id][f"{A}:1"]["code"] == "entry_refused"
    third = server.pull(job_id, {B: 3, A: 1})
    assert (third["entries"], third["more"]) == ([large[1]], False)
    assert server.pull(job_id, {B: 3, A: 2})["entries"] == []


def test_what_an_earlier_version_took_stays_taken(server, job_id):
    large = put_large(server, job_id, A, 1, 300_000)
    for again in (large, entry_budget.frame_of(large)):
        assert server.fates([again])[0][1:3] == ["set_aside", "entry_refused"]
    assert server.pull(job_id)["entries"] == [large] and not server.all_rows()["clash"]
    other = {**large, "recorded_at": "2026-11-25T11:00:00.000+00:00"}
    assert server.fates([other])[0][2] == "identity_taken"


def test_a_pull_never_takes_much_more_memory_than_an_answer(server, job_id):
    """60 entries of 1 MB: an answer of one, not of all."""
    for number in range(1, 61):
        put_large(server, job_id, A, number, 1_000_000)
    tracemalloc.start()
    found = server.pull(job_id)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(found["entries"]) == 1 and found["more"] is True
    assert peak < 12_000_000


def test_a_pull_of_good_entries_ends_at_its_bytes(server, job_id, monkeypatch):
    monkeypatch.setattr(pulling, "MAX_PULL_BYTES", 2000)
    server.fates(entries(job_id, A, 1, 20))
    have, rounds = 0, 0
    while True:
        found = server.pull(job_id, {A: have})
        sizes = [len(canonical.dumps(one)) for one in found["entries"]]
        assert sum(sizes[:-1]) < 2000
        have, rounds = have + len(sizes), rounds + 1
        if not found["more"]:
            break
    assert (have, rounds > 2) == (20, True)


@pytest.mark.parametrize(("over", "status"), [(-1, 200), (0, 200), (1, 422)])
def test_jobs_and_writers_of_a_request(server, job_id, monkeypatch, over, status):
    smaller(monkeypatch, jobs_a_request=10, writers_a_request=20)
    jobs = {new_id(): {"have": {}} for _ in range(10 + over)}
    writers = {job_id: {"have": {f"writer-{n:04}": 1 for n in range(20 + over)}}}
    for asked in (jobs, writers):
        answer = server.sync(jobs=asked)
        assert answer.status_code == status
        if status == 422:
            assert error_of(answer)["code"] == "too_many_jobs"


@pytest.mark.parametrize(("over", "status"), [(-1, 422), (0, 422), (1, 413)])
def test_values_of_a_request(server, monkeypatch, over, status):
    smaller(monkeypatch, request_values=100)
    text = json.dumps([1] * (99 + over)).encode()
    for data, headers in ((text, {"Content-Type": "application/json"}), (gzip.compress(text), GZIP)):
        assert server.client.post("/api/sync", data=data, headers=headers).status_code == status


def test_unknown_jobs_cost_little_and_are_forgotten(server, job_id):
    server.fates(entries(job_id, A, 1, 1))
    summaries = server.app.extensions["fallbook"].summaries
    asked = {new_id(): {"have": {}} for _ in range(BUDGETS.jobs_a_request - 1)} | {job_id: {"have": {}}}
    answer = server.sync(jobs=asked)
    assert answer.status_code == 200 and len(answer.json["jobs"]) == BUDGETS.jobs_a_request
    remembered = [set(one) for one in vars(summaries).values() if isinstance(one, dict)]
    assert {job_id} in remembered and all(one <= {job_id} for one in remembered)
    over = server.sync(jobs={new_id(): {"have": {}} for _ in range(40_000)})
    assert error_of(over)["code"] == "too_many_jobs"


@pytest.mark.parametrize("inside", [b" ", b"[],", b'{"a":1},', b'"', b"[", b"1,"])
def test_a_small_body_never_costs_much_memory(server, inside):
    """31 kB of gzip took 938 MB."""
    packed = gzip.compress(inside * (30_000_000 // len(inside)), 9)
    tracemalloc.start()
    answer = server.client.post("/api/sync", data=packed, headers=GZIP)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert answer.status_code in (400, 413)
    assert peak < 40_000_000


def test_photos_of_a_job(server, job_id, monkeypatch):
    smaller(monkeypatch, photos_a_job=3)

    def photos(first, last, **more):
        fields = {"sha256": "a" * 64, "size_bytes": 5, "media_type": "image/jpeg"}
        return entries(job_id, A, first, last, kind="photo", fields=fields, **more)

    first, *rest = photos(1, 3)
    assert [one[1] for one in server.fates([first, *rest])] == ["kept"] * 3
    (fourth,) = server.fates(photos(4, 4))
    assert fourth[1:3] == ["set_aside", "too_many_photos"]
    change = entry(job_id, A, 5, kind="photo", fields={"caption": "Joint"}, record_id=first["record_id"])
    assert server.fates([change])[0][1] == "kept"


def test_the_office_page_shows_no_more_of_a_large_entry_than_its_frame(server, job_id):
    """60 of 31 MB made a page of 7.4 GB."""
    server.fates([entry(job_id, B, 1, kind="job", fields={"title": "Dell Lane"})])
    for number in range(1, 21):
        put_large(server, job_id, A, number, 1_000_000)
    tracemalloc.start()
    page = server.client.get(f"/office/jobs/{job_id}")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert page.status_code == 200 and b"Dell Lane" in page.data and f"{A}:20".encode() in page.data
    assert len(page.data) < 100_000
    assert peak < 12_000_000


def test_an_import_goes_by_the_same_budget(server, job_id):
    large = of_size(job_id, 2, BUDGETS.entry_bytes + 1)
    sent = [entry(job_id, A, 1, kind="job", fields={"title": "T"}), large, entry(job_id, A, 3)]
    why = {"code": "entry_refused", "reasons": {"text": ["Too long."]}}
    job = job_file.dumps(job_file.build(job_id, sent, {f"{A}:2": why}, []))
    answer = server.client.post("/api/import", data=job, content_type="application/json")
    assert (answer.status_code, answer.json["kept"], answer.json["set_aside"]) == (200, 2, 1)
    held = server.pull(job_id)["entries"]
    assert held[1] == entry_budget.frame_of(large)
    assert server.fates(sent)[1][1] == "set_aside" and not server.all_rows()["clash"]


@pytest.fixture
def small_room(monkeypatch):
    """Room for three rejected entries of a writer, five of a job, two contents of an identity, four held
    back in a job."""
    smaller(monkeypatch, rejected_a_writer=3, rejected_a_job=5, held_back_an_entry=2, held_back_a_job=4)


def rejected(job_id, writer, first, last):
    return entries(job_id, writer, first, last, fields={"counter_m": "far"})


def test_of_rejected_entries_a_writer_may_have_so_many_and_the_rest_stays_on_the_phone(
    server, job_id, small_room
):
    def said(sent):
        return [one[1:3] for one in server.fates(sent)]

    assert said(rejected(job_id, A, 1, 2)) == [["set_aside", "entry_refused"]] * 2
    assert said(entries(job_id, A, 3, 9)) == [["kept"]] * 7, "others go on"
    aside, full = ["set_aside", "entry_refused"], ["not_taken", "too_many_rejected"]
    third = rejected(job_id, A, 10, 12)
    assert said(third) == [aside, full, ["not_taken", "number_gap"]]
    assert said(third) == [aside, full, ["not_taken", "number_gap"]], "and again: nothing is stored of it"
    assert server.pull(job_id)["jobs"][job_id]["have"] == {A: 10}
    assert said(rejected(job_id, B, 1, 1)) == [aside] and said(rejected(new_id(), A, 1, 1)) == [aside]
    erase(server, job_id, "entry", f"{A}:1")
    assert said(third)[:2] == [aside, aside], "an erased one gives room"


def test_of_rejected_entries_a_job_may_have_so_many_whoever_sends_them(server, job_id, small_room):
    def said(sent):
        return [one[1:3] for one in server.fates(sent)]

    aside, full = ["set_aside", "entry_refused"], ["not_taken", "too_many_rejected"]
    three = [one for w in ("writer-1111", "writer-2222") for one in rejected(job_id, w, 1, 2)]
    assert said(three) == [aside] * 4
    late, later = rejected(job_id, "writer-3333", 1, 2), rejected(job_id, "writer-4444", 1, 1)
    assert said([late[0], *later]) == [aside, full], "within one batch too"
    assert said(later) == [full] and said(late) == [aside, full], "what is here stays as it was"
    assert said(entries(job_id, "writer-4444", 1, 9)) == [["kept"]] * 9, "what is good goes on"
    assert said(rejected(new_id(), "writer-3333", 1, 2)) == [aside] * 2, "and another job has its own room"
    assert server.pull(job_id)["jobs"][job_id]["have"]["writer-3333"] == 1
    erase(server, job_id, "entry", "writer-1111:1")
    assert said(late) == [aside, aside], "an erased one gives room"


def test_a_file_of_the_office_may_bring_more_that_was_set_aside(server, job_id, small_room):
    sent = [entry(job_id, A, 1, kind="job", fields={"title": "T"}), *rejected(job_id, B, 1, 6)]
    why = {f"{B}:{n}": {"code": "entry_refused", "reasons": {"counter_m": ["Far."]}} for n in range(1, 7)}
    job = job_file.dumps(job_file.build(job_id, sent, why, []))
    answer = server.client.post("/api/import", data=job, content_type="application/json")
    assert (answer.status_code, answer.json["set_aside"]) == (200, 6)


def test_what_is_held_back_fills_nothing(server, job_id, small_room):
    def other(number, text):
        sent = entry(job_id, A, number, kind="remark", fields={"text": text}, record_id=job_id)
        return server.fates([sent])[0][1:3]

    server.fates(entries(job_id, A, 1, 5))
    aside, full = ["set_aside", "identity_taken"], ["not_taken", "held_back_full"]
    assert [other(1, text) for text in "abc"] == [aside, aside, full]
    assert other(1, "a") == aside, "what is held back already"
    assert [other(2, "a"), other(3, "a"), other(4, "a")] == [aside, aside, full]
    assert len(server.all_rows()["clash"]) == 4
