"""What can be erased of a large job, page by page: the same as if all of it were read, each record once."""

import re

import pytest
from servers import Server, entry, erase
from test_office_large_job import A, B, Job, made, surveyed

from webapp.office import erasable, kept, pages
from webapp.records.erasure import is_erased
from webapp.records.fold import entry_id, fold
from webapp.store import whole_jobs
from webapp.store.engine import reading
from webapp.timesource import new_id

OPTION = re.compile(r'<option value="(\w+):([^"]*)"( selected)?>([^<]*)<')


@pytest.fixture(autouse=True)
def every_job_is_large(monkeypatch):
    monkeypatch.setattr(kept, "MAX_SMALL_ENTRIES", 0)
    monkeypatch.setattr(kept, "PATIENCE_S", 60.0)
    monkeypatch.setattr(pages, "ROWS_A_PAGE", 7)
    monkeypatch.setattr(erasable, "WRITERS_A_PAGE", 2)


@pytest.fixture
def here(tmp_path):
    one = Server(tmp_path / "data")
    yield one
    one.close()


def look(server, job_id, query=""):
    answer = server.client.get(f"/office/jobs/{job_id}/erase{query}")
    assert answer.status_code == 200, answer.text
    return answer.text


def listed(server, job_id, what):
    first = look(server, job_id)
    last = max([1, *map(int, re.findall(r"Page 1 of (\d+)", first))])
    found = [OPTION.findall(look(server, job_id, f"?page={n}")) for n in range(1, last + 1)]
    return [(target, words) for page in found for kind, target, _, words in page if kind == what]


def standing(server, job_id):
    """The records and the entries of each writer, of everything that is stored."""
    with server.app.app_context(), reading() as connection:
        entries, aside = whole_jobs.whole_job(connection, job_id, framed=True)
    live = [one for one in entries if not is_erased(one)]
    writers = {}
    for one in live:
        writers[one["writer"]] = writers.get(one["writer"], 0) + 1
    return fold(one for one in live if entry_id(one) not in aside), writers


def test_every_record_and_writer_is_on_one_page(here, job_id):
    """Records that change, are disputed, removed, refused, erased, and hang on a run that comes later."""
    job = Job(job_id, 3)
    erased = 0
    for size in (40, 1, 30):
        here.fates([job.entry() for _ in range(size)])
        records, writers = standing(here, job_id)
        found = listed(here, job_id, "record")
        assert sorted(target for target, _ in found) == sorted(one.id for one in records if one.kind != "job")
        said = {
            writer: int(re.search(r"(\d+) entr", words)[1])
            for writer, words in listed(here, job_id, "writer")
        }
        assert said == writers
        if not erased:
            erase(here, job_id, "record", next(one.id for one in records if one.kind == "reading"))
            erase(here, job_id, "entry", "writer-aaaa:1")
            erased += 1
    assert any(one.removed for one in records)


def test_a_writer_of_which_nothing_is_left_is_not_offered_and_times_are_of_what_is(here, job_id):
    surveyed(here, job_id, 3)
    stamps = [f"2026-03-0{day}T10:00:00Z" for day in (1, 2, 3)]
    here.fates(
        [
            entry(job_id, B, n + 1, "remark", {"text": "x"}) | {"recorded_at": stamp}
            for n, stamp in enumerate(stamps)
        ]
    )
    assert dict(listed(here, job_id, "writer"))[B].endswith(
        "3 entries, 1 Mar 2026, 10:00 UTC to 3 Mar 2026, 10:00 UTC"
    )
    erase(here, job_id, "entry", f"{B}:1")
    assert dict(listed(here, job_id, "writer"))[B].endswith(
        "2 entries, 2 Mar 2026, 10:00 UTC to 3 Mar 2026, 10:00 UTC"
    )
    erase(here, job_id, "writer", B)
    assert [writer for writer, _ in listed(here, job_id, "writer")] == [A]


def test_the_record_that_was_asked_for_is_chosen_whatever_page_it_is_on(here, job_id):
    surveyed(here, job_id, 30)
    target, words = listed(here, job_id, "record")[-1]
    chosen = [found[:2] for found in OPTION.findall(look(here, job_id, f"?target={target}")) if found[2]]
    assert chosen == [("record", target)] and "29.5 m" in words
    assert not [found for found in OPTION.findall(look(here, job_id, f"?target={new_id()}")) if found[2]]


def test_a_look_reads_what_it_shows(here, job_id, monkeypatch):
    surveyed(here, job_id, 100)
    look(here, job_id)
    count, read = made(monkeypatch), []
    some = kept.entry_some.some
    monkeypatch.setattr(
        kept.entry_some,
        "some",
        lambda *args, **more: (read.extend(found := some(*args, **more)), found)[1],
    )
    assert "Page 1 of 15" in look(here, job_id)
    assert not count and len(read) < 3 * pages.ROWS_A_PAGE


def test_while_the_index_is_made_the_page_says_so(here, job_id, monkeypatch):
    surveyed(here, job_id, 30)
    monkeypatch.setattr(kept, "PATIENCE_S", 0.0)
    answer = here.client.get(f"/office/jobs/{job_id}/erase?page=2")
    assert answer.status_code == 202 and f'href="/office/jobs/{job_id}/erase?page=2"' in answer.text
