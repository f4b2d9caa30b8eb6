"""Real damage: pages of a database are overwritten, and everything is asked.

A job whose rows plain SQL still reads as they were is answered as before; every other one is `data_damaged`
alone.  Nothing is answered with 500.
"""

import json
import random
import sqlite3
from contextlib import closing

import pytest
from damaged_book import DAMAGE, Book, spoil
from servers import entry


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    one = Book(tmp_path_factory.mktemp("damage") / "data")
    yield one
    one.server.close()


def code_of(answer):
    return answer.json["errors"][0]["code"]


def check_all(book):
    """Ask for everything; return the jobs that were answered."""
    answered = set()
    for job, before in book.jobs.items():
        answer = book.get(job)
        page = book.server.client.get(f"/office/jobs/{job}")
        proof = book.server.client.get(f"/api/jobs/{job}/proof")
        assert proof.status_code == answer.status_code, "a damaged job is not proved"
        if answer.status_code == 200:
            assert answer.json == before
            assert proof.json["entries"] == len(before["entries"])
            answered.add(job)
            assert page.status_code in (200, 503)
        else:
            assert (answer.status_code, code_of(answer)) == (503, "data_damaged"), answer.text
            assert page.status_code == 503 and b"damaged" in page.data
    for path in ("/api/jobs", "/office"):
        assert book.server.client.get(path).status_code in (200, 503)
    return answered


def sync_all(book):
    """Pull everything and push to every job; return which jobs were pulled whole, and which took an entry."""
    answer = book.server.sync(jobs={job: {"have": {}} for job in book.jobs})
    if answer.status_code != 200:
        assert code_of(answer) == "data_damaged"
        return set(), set()
    pulled = {}
    for one in answer.json["entries"]:
        pulled.setdefault(one["job_id"], []).append(one)
    for job, state in answer.json["jobs"].items():
        assert state == {"refused": "data_damaged"} or "have" in state
        assert state != {"refused": "data_damaged"} or job not in pulled
    before = {job: sorted(file["entries"], key=repr) for job, file in book.jobs.items()}
    whole = {job for job, found in pulled.items() if sorted(found, key=repr) == before[job]}
    took = book.server.sync([entry(job, "writer-new", 1) for job in book.jobs])
    assert took.status_code == 200 or code_of(took) == "data_damaged", took.text
    fates = took.json["fates"] if took.status_code == 200 else []
    assert all(f[1] in ("kept", "kept_already") or f[2] == "data_damaged" for f in fates), fates
    return whole, {job for job, fate in zip(book.jobs, fates, strict=False) if fate[1] == "kept"}


@pytest.mark.parametrize("seed", range(15))
def test_a_damaged_page_stops_no_job_that_is_not_on_it(book, seed):
    book.put(spoil(book.bytes, random.Random(seed)))
    whole = book.whole()
    answered = check_all(book)
    assert answered == whole
    pulled, took = sync_all(book)
    assert whole <= pulled
    book.let_go()
    with closing(sqlite3.connect(book.path)) as connection:  # what was acknowledged is there
        for job in took:
            query = "SELECT body FROM entry WHERE job_id = ? AND writer = 'writer-new'"
            assert json.loads(connection.execute(query, [job]).fetchone()[0])["job_id"] == job
    assert whole <= book.whole(), "to write spoilt what was whole"


@pytest.mark.parametrize("spoilt", DAMAGE)
def test_the_first_page_or_a_cut_file_stops_everything_and_says_so(book, spoilt):
    chance = random.Random(7)
    first = spoilt(book.bytes[:4096], chance)
    for damaged in (first + book.bytes[4096:], book.bytes[:4096], book.bytes[: len(book.bytes) // 2 + 100]):
        book.put(damaged)
        assert check_all(book) <= book.whole()
        sync_all(book)


def test_a_list_names_the_jobs_around_a_bad_page(book):
    """The damaged one is in the list too, with the title that was last known."""
    book.put(book.bytes)
    assert {row["job_id"] for row in book.server.client.get("/api/jobs").json["jobs"]} == set(book.jobs)
    found = 0
    for n in range(1, book.pages, 3):
        book.put(book.bytes[: n * 4096] + bytes(4096) + book.bytes[(n + 1) * 4096 :])
        answer = book.server.client.get("/api/jobs")
        if answer.status_code != 200 or not (whole := book.whole()):
            continue
        rows = {row["job_id"]: row for row in answer.json["jobs"]}
        assert whole <= set(rows) <= set(book.jobs)
        assert all(rows[job].get("title") for job in whole)
        found += any(row.get("damaged") for row in rows.values())
    assert found > 5, "no page was one of a job"
