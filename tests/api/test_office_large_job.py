"""The pages of a large job: what is kept of it stands for what is stored, always."""

import random
import re
import sqlite3
import threading
from contextlib import closing

import pytest
from servers import ONE_IN_80, Server, entries, entry, erase, error_of
from sqlalchemy import text

from webapp.office import kept, pages
from webapp.store.engine import writing
from webapp.timesource import new_id
from webapp.web.state import state_of

A, B = "writer-aaaa", "writer-bbbb"


@pytest.fixture(autouse=True)
def every_job_is_large(monkeypatch):
    monkeypatch.setattr(kept, "MAX_SMALL_ENTRIES", 0)
    monkeypatch.setattr(kept, "PATIENCE_S", 60.0)
    monkeypatch.setattr(pages, "ROWS_A_PAGE", 7)


def look(server, job_id, number=1):
    answer = server.client.get(f"/office/jobs/{job_id}?page={number}")
    assert answer.status_code == 200, answer.text
    return answer.text


def all_pages(server, job_id):
    first = look(server, job_id)
    last = max([1, *map(int, re.findall(r"Page 1 of (\d+)", first))])
    return [first, *(look(server, job_id, number) for number in range(2, last + 1))]


def anew(server, job_id):
    """All pages, of an index that is made anew from everything that is stored."""
    state_of(server.app).office.slots.clear()
    return all_pages(server, job_id)


def made(monkeypatch):
    """Count how often an index is made."""
    found = []
    whole = kept.index_of
    monkeypatch.setattr(kept, "index_of", lambda *args: found.append(1) or whole(*args))
    return found


class Job:
    """A job that grows by whatever a phone may send."""

    def __init__(self, job_id, seed):
        self.job_id, self.chance = job_id, random.Random(seed)
        self.runs, self.records = [new_id() for _ in range(4)], {}
        self.numbers = {"writer-aaaa": 0, "writer-bbbb": 0, "writer-cccc": 0}
        self.last = {}

    def entry(self):
        chance = self.chance
        writer = chance.choice(list(self.numbers))
        self.numbers[writer] += 1
        kind = chance.choice(
            ["run", "reading", "reading", "reading", "observation", "remark", "node", "photo", "job"]
        )
        known = [one for one, own in self.records.items() if own == kind]
        if kind == "run":
            record_id = chance.choice(self.runs)
        elif kind == "job":
            record_id = self.job_id
        else:
            record_id = chance.choice(known) if known and chance.random() < 0.4 else new_id()
        self.records[record_id] = kind
        seen = {}
        fields = self.fields(kind)
        if chance.random() < 0.15:
            fields = {"removed": chance.random() < 0.7}
            seen = {"*": self.last.get(record_id, [])}
        if chance.random() < 0.6:
            seen |= {name: self.last.get(record_id, []) for name in fields}
        own = f"{writer}:{self.numbers[writer]}"
        self.last[record_id] = [*self.last.get(record_id, []), own]
        return entry(self.job_id, writer, self.numbers[writer], kind, fields, record_id, seen=seen)

    def fields(self, kind):
        chance = self.chance
        run = chance.choice([*self.runs, None]) if kind == "remark" else chance.choice(self.runs)
        counter_m = chance.choice([-5, *range(1, 40)])  # one that is refused
        return {
            "job": {"title": f"Job {counter_m}"},
            "run": {"run_ref": f"R{counter_m}", "start_node_id": chance.choice([*self.records, new_id()])},
            "node": {"node_ref": f"N{counter_m}"},
            "reading": {"run_id": run, "counter_m": counter_m, "inclination": ONE_IN_80},
            "observation": {"run_id": run, "counter_m": counter_m, "code": "BAB", "characterisation_1": "A"},
            "remark": {"run_id": run, "text": f"Remark {counter_m}"},
            "photo": {"sha256": f"{abs(counter_m):064x}", "size_bytes": 1, "media_type": "image/png"},
        }[kind]


@pytest.mark.parametrize("seed", range(2))
def test_what_came_since_is_shown_as_if_all_were_read_again(server, job_id, seed, monkeypatch):
    """Records that come, change, are disputed, removed, refused, and hang on a run that comes later."""
    job, count = Job(job_id, seed), made(monkeypatch)
    for size in (60, 1, 5, 30, 1):
        server.fates([job.entry() for _ in range(size)])
        shown, times = all_pages(server, job_id), len(count)
        assert shown == anew(server, job_id)
        assert len(count) == times + 1
    assert times == 5, "the first look, and each that was to make it anew"
    assert any("Remark" in page for page in shown) and any(
        "on which phones disagree" in page for page in shown
    )


@pytest.fixture
def here(tmp_path):
    one = Server(tmp_path / "data")
    yield one
    one.close()


def surveyed(server, job_id, readings=20):
    """A job with a run of some readings; return the run."""
    run = new_id()
    fields = {"run_id": run, "inclination": ONE_IN_80}
    server.fates(
        [
            entry(job_id, A, 1, "job", {"title": "Weir"}),
            entry(job_id, A, 2, "run", {"run_ref": "R1"}, run),
            *(entry(job_id, A, n + 3, fields={**fields, "counter_m": n + 0.5}) for n in range(readings)),
        ]
    )
    return run


def test_a_look_reads_what_it_shows_and_takes_what_came(here, job_id, monkeypatch):
    surveyed(here, job_id, 100)
    first, count, read = look(here, job_id), made(monkeypatch), []
    some = kept.entry_some.some
    monkeypatch.setattr(
        kept.entry_some,
        "some",
        lambda *args, **more: (read.extend(found := some(*args, **more)), found)[1],
    )
    assert look(here, job_id) == first
    here.fates([entry(job_id, B, 1, "node", {"node_ref": "MH 7"})])
    assert ">103 entries." in look(here, job_id)
    assert "MH 7" in all_pages(here, job_id)[-1]
    assert not count and len(read) < 18 * 2 * pages.ROWS_A_PAGE


def test_pages_hold_every_row_once_and_say_which_they_are(here, job_id):
    run = surveyed(here, job_id, 20)
    shown = all_pages(here, job_id)
    assert [page.count("<tr>") - page.count("<thead>") for page in shown] == [6, 7, 7]
    metres = re.findall(r"<td[^>]*>(\d+\.5)</td>", "".join(shown))
    assert metres == [f"{n}.5" for n in range(20)]
    for page, part in zip(shown, ("1 to 6 of 20,", "7 to 13 of 20,", "14 to 20 of 20,"), strict=True):
        assert part in page and "Run R1" in page and f'id="run-{run}"' in page
    assert f'href="?page=1#run-{run}"' in shown[0]
    assert "Make the pack" in shown[0] and "Make the pack" not in shown[1]
    for number, same in (
        ("0", 0),
        ("-3", 0),
        ("x", 0),
        ("9" * 5000, 0),
        ("3", 2),
        ("99999999999999999999", 2),
    ):
        assert look(here, job_id, number) == shown[same], number


def test_a_run_that_is_removed_gives_back_what_hangs_on_it(here, job_id, monkeypatch):
    run = surveyed(here, job_id, 3)
    before, count = look(here, job_id), made(monkeypatch)
    assert "Job and site" not in before
    here.fates([entry(job_id, B, 1, "run", {"removed": True}, run, seen={"*": [f"{A}:2"]})])
    assert "Job and site" in (gone := look(here, job_id)) and "2.5" in gone and "Run R1" not in gone
    here.fates([entry(job_id, B, 2, "run", {"removed": False}, run, seen={"removed": [f"{B}:1"]})])
    assert "Run R1" in (back := look(here, job_id)) and "Job and site" not in back and not count


def test_what_is_erased_goes_at_once_and_comes_back_when_that_is_undone(here, job_id):
    surveyed(here, job_id, 3)
    here.fates([entry(job_id, B, 1, "remark", {"text": "A person's name"})])
    before = look(here, job_id)
    act = erase(here, job_id, "writer", B)
    hidden = look(here, job_id)
    assert "A person" in before and "A person" not in hidden and "Set aside" in hidden
    undone = here.client.post(f"/api/erasures/{act['id']}/undo", json={})
    assert undone.status_code == 200 and look(here, job_id) == before
    act = erase(here, job_id, "writer", B)
    here.client.post(f"/api/erasures/{act['id']}/expunge", json={})
    assert "A person" not in look(here, job_id)


def test_an_entry_that_comes_whole_in_the_place_of_its_frame_is_shown(here, job_id):
    surveyed(here, job_id, 3)
    whole = entry(job_id, B, 1, "remark", {"text": "Whole again"})
    act = erase(here, job_id, "entry", f"{A}:5")["id"]
    frame = {k: whole[k] for k in ("job_id", "writer", "number", "record_id", "kind")} | {
        "erased": {"act": act}
    }
    assert here.fates([frame])[0][1] == "set_aside"
    assert "Whole again" not in look(here, job_id)
    assert here.fates([whole]) == [[f"{B}:1", "kept"]]
    assert "Whole again" in look(here, job_id)


def test_what_is_refused_or_held_back_is_shown_at_the_next_look(here, job_id, monkeypatch):
    surveyed(here, job_id, 3)
    look(here, job_id)
    count = made(monkeypatch)
    here.fates([entry(job_id, B, 1, fields={"counter_m": -5})])
    assert "Counter reading must lie" in look(here, job_id)
    here.fates([entry(job_id, A, 1, "job", {"title": "Another"})])
    assert f"Another entry is already stored as <b>{A}:1</b>" in look(here, job_id) and not count


def test_of_much_that_stands_outside_the_page_lists_some_and_counts_the_rest(here, job_id, monkeypatch):
    surveyed(here, job_id, 1)
    monkeypatch.setattr("webapp.api.office_aside.LISTED", 5)
    monkeypatch.setattr("webapp.api.office_aside.MAX_SHOWN", 300)
    here.fates(entries(job_id, B, 1, 9, kind="remark", fields={"text": "x" * 100, "counter_m": -5}))
    here.fates([entry(job_id, A, 1, "job", {"title": f"Title {n} {'y' * 100}"}) for n in range(7)])
    page = look(here, job_id)
    assert page.count("Counter reading must lie") == 5 and "4 more are in the job file." in page
    assert page.count("Another entry is already stored") == 5 and "2 more entries are held back." in page
    assert page.count("What was sent is in the job file.") == 3 and page.count("x" * 100) == 2
    assert page.count("What was sent is too long to show here.") == 5


def break_rows(folder, where):
    with closing(sqlite3.connect(folder / "fallbook.sqlite")) as raw, raw:
        raw.execute(f"UPDATE entry SET body = replace(body, '.5', '.6') WHERE {where}")


def mend_rows(folder, where):
    with closing(sqlite3.connect(folder / "fallbook.sqlite")) as raw, raw:
        raw.execute(f"UPDATE entry SET body = replace(body, '.6', '.5') WHERE {where}")


@pytest.mark.parametrize("number", [4, 40])
def test_damage_is_told_where_it_is_shown_at_once_and_elsewhere_in_turn(here, job_id, number, monkeypatch):
    monkeypatch.setattr(kept, "PROVED_A_LOOK", 10)
    surveyed(here, job_id, 60)
    before = look(here, job_id)
    break_rows(here.folder, f"number = {number}")
    answers = [here.client.get(f"/office/jobs/{job_id}") for _ in range(1 if number == 4 else 8)]
    damaged = [one for one in answers if one.status_code == 503]
    assert damaged and "damaged" in damaged[0].text and answers[-1].status_code == 503
    assert error_of(here.client.get(f"/api/jobs/{job_id}"))["code"] == "data_damaged"
    mend_rows(here.folder, f"number = {number}")
    assert look(here, job_id) == before


@pytest.mark.parametrize("lost", ["number = 62", "number = 5"])
def test_a_row_that_is_lost_is_damage_and_the_last_one_gone(here, job_id, lost):
    surveyed(here, job_id, 60)
    look(here, job_id)
    with closing(sqlite3.connect(here.folder / "fallbook.sqlite")) as raw, raw:
        raw.execute(f"DELETE FROM entry WHERE {lost}")
    answer = here.client.get(f"/office/jobs/{job_id}")
    assert (answer.status_code, ">61 entries." in answer.text) == (
        (200, True) if "62" in lost else (503, False)
    )


@pytest.mark.parametrize(
    "change", ["UPDATE change SET name = '0123456789abcdef'", "DELETE FROM change", "PRAGMA user_version = 7"]
)
def test_another_log_or_none_makes_it_anew(here, job_id, change, monkeypatch):
    """As after a database was put back from a backup, or a damaged log."""
    surveyed(here, job_id, 3)
    before, count = look(here, job_id), made(monkeypatch)
    with here.app.app_context(), writing() as connection:
        connection.execute(text(change))
    assert look(here, job_id) == before and len(count) == 1
    assert look(here, job_id) == before and len(count) == 1
    here.fates([entry(job_id, B, 1, "job", {"title": "Sluice"})])
    assert "Weir or Sluice" in look(here, job_id)


def test_a_restart_and_a_backup_put_back_begin_anew(tmp_path, job_id):
    one = Server(tmp_path / "data")
    surveyed(one, job_id, 3)
    shown = look(one, job_id)
    one.close()
    earlier = (tmp_path / "data" / "fallbook.sqlite").read_bytes()
    two = Server(tmp_path / "data")
    two.fates([entry(job_id, B, 1, "job", {"title": "Sluice"})])
    assert "Weir or Sluice" in look(two, job_id) and not state_of(two.app).office.slots[job_id].error
    two.close()
    for more in ("-wal", "-shm"):
        (tmp_path / "data" / f"fallbook.sqlite{more}").unlink(missing_ok=True)
    (tmp_path / "data" / "fallbook.sqlite").write_bytes(earlier)
    three = Server(tmp_path / "data")
    three.fates([entry(job_id, "writer-cccc", 1, "remark", {"text": "Later"})])
    page = look(three, job_id)
    three.close()
    assert "Weir" in shown and "Later" in page and "Sluice" not in page


def test_while_it_is_made_the_page_says_so_and_others_go_on(here, job_id, monkeypatch):
    surveyed(here, job_id, 300)
    monkeypatch.setattr(kept, "PATIENCE_S", 0.01)
    go_on, reached = threading.Event(), threading.Event()

    def rest(self, done):
        self.slot.done = done
        if done >= 200:
            reached.set()
            go_on.wait(60)

    monkeypatch.setattr(kept.Rests, "__call__", rest)
    first = here.client.get(f"/office/jobs/{job_id}")
    assert reached.wait(60) and first.status_code == 202
    answer = here.client.get(f"/office/jobs/{job_id}?page=2")
    assert answer.status_code == 202 and "Read so far: 200 entries. In all: 302 entries." in answer.text
    assert 'http-equiv="refresh"' in answer.text and "Weir" not in answer.text
    assert f'href="/office/jobs/{job_id}?page=2"' in answer.text
    here.fates([entry(job_id, B, 1, "job", {"title": "Sluice"})])
    go_on.set()
    state_of(here.app).office.slots[job_id].maker.join(60)
    assert "Weir or Sluice" in look(here, job_id), "what came meanwhile is in it"


def test_what_goes_wrong_in_the_making_is_told_and_tried_again(here, job_id):
    surveyed(here, job_id, 20)
    break_rows(here.folder, "number = 10")
    for _ in range(2):
        answer = here.client.get(f"/office/jobs/{job_id}")
        assert answer.status_code == 503 and "damaged" in answer.text
    mend_rows(here.folder, "number = 10")
    assert "Weir" in look(here, job_id)


def test_only_so_much_is_kept(here, monkeypatch):
    monkeypatch.setattr(kept, "MAX_KEPT_ENTRIES", 50)
    jobs = [new_id() for _ in range(4)]
    for job_id in jobs:
        surveyed(here, job_id, 20)
        look(here, job_id)
    assert list(state_of(here.app).office.slots) == jobs[2:]
    assert "Weir" in look(here, jobs[0])


def test_a_server_that_ends_does_not_wait_for_it(tmp_path, job_id, monkeypatch):
    one = Server(tmp_path / "data")
    surveyed(one, job_id, 300)
    monkeypatch.setattr(kept, "PATIENCE_S", 0.0)
    monkeypatch.setattr(kept.timesource, "processor_s", iter(range(0, 10**9, 3600)).__next__)
    one.client.get(f"/office/jobs/{job_id}")
    maker = state_of(one.app).office.slots[job_id].maker
    one.close()
    assert not maker.is_alive()
