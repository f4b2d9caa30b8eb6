"""Every page of the office in a second language, in every state: no stray word, no decimal point."""

import html
import json
import random
import re
import threading

import pytest
from access_kit import Van
from damaged_book import Book, spoil
from second_language import SPOKEN, second_language, spoken_here
from servers import ONE_IN_80, entries, entry

from webapp import dates, paths
from webapp.errors import AppError
from webapp.intake.jobs import take_job
from webapp.intake.open_job import open_job
from webapp.lan import setup_page
from webapp.tables import shipped
from webapp.timesource import new_id
from webapp.web.pack_states import PackState
from webapp.web.packing import Packing
from webapp.web.state import state_of

POINT = re.compile(r"(?<![\w.:])\d+\.\d+(?![\w.])")
# Names, addresses and units; "this machine" is who did something, as the audit log stores it.
KNOWN = set("Fallbook UTC mm sd https book example test phone Client The this machine".split())
KNOWN |= {"surveyor", "office", "reader", "script"}  # in the names that these tests give to devices


@pytest.fixture
def german(tmp_path):
    """The catalogue in the language made here."""
    with spoken_here(second_language(), tmp_path):
        yield


@pytest.fixture
def firm(german, tmp_path):
    one = Van(tmp_path / "data")
    yield one
    one.close()


def shown(page):
    """What a person sees or hears of a page."""
    bare = re.sub(r"<(script|style|code|pre)\b.*?</\1>", " ", page, flags=re.S)
    return html.unescape(f"{re.sub('<[^>]*>', ' ', bare)} {' '.join(SPOKEN.findall(bare))}")


def outside(text):
    while text != (text := re.sub(r"‹[^‹›]*›", " ", text)):
        pass
    return text


def words(value):
    return set(re.findall(r"[^\W\d_]{2,}", value))


MONTHS = words(" ".join(dates.day_text({"_locale": "de-DE"}, f"2026-{n:02}-01") for n in range(1, 13)))


def faults(page, data):
    """The words that stand outside the sentences, and the numbers with a point."""
    rest = outside(shown(page))
    rest = re.sub(r"\b[0-9a-f]{8}(-[0-9a-f-]+)?|[\w-]*writer[\w:-]*", " ", rest)  # ids
    points = [one for one in POINT.findall(shown(page)) if one not in json.dumps(data)]
    return sorted(words(rest) - KNOWN - MONTHS - words(json.dumps(data, ensure_ascii=False))), points


def disputed(van, job_id):
    """A job with values in dispute, set aside, held back, and a removed record."""
    run, photo = new_id(), new_id()
    reading = {"run_id": run, "counter_m": 5.25, "inclination": ONE_IN_80}
    sha256 = "ab" * 32
    shot = {"sha256": sha256, "size_bytes": 1, "media_type": "image/png", "counter_m": 2.5}
    sent = [
        entry(job_id, "writer-of-a", 1, "job", {"title": "Weir", "surveyed_on": "2026-11-25"}),
        entry(job_id, "writer-of-a", 2, "run", {"run_ref": "R1"}, run),
        entry(job_id, "writer-of-a", 3, fields=reading),
        entry(job_id, "writer-of-a", 4, "photo", shot, photo),
        entry(job_id, "writer-of-a", 5, fields={"counter_m": -5}),
    ]
    a, b = van.let_in(), van.let_in()
    a.fates(sent)
    b.fates([entry(job_id, "writer-of-b", 1, "job", {"title": "Sluice", "surveyed_on": "2026-11-26"})])
    b.fates(entries(job_id, "writer-of-a", 6, 7, device_id="phone a"), phone="phone b")
    b.fates([entry(job_id, "writer-of-b", 1, "job", {"title": "Another"})])
    return sent


@pytest.mark.parametrize("folder", sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json")), ids=str)
def test_the_page_of_a_sample(firm, folder):
    with firm.app.app_context(), open_job(folder) as (job, photo_bytes):
        take_job(job, photo_bytes, state_of(firm.app).photos)
    data = json.loads((folder / "job.json").read_text("utf-8"))
    data["codes"] = [shipped(name) for name in ("observation_codes", "materials", "shapes", "linings")]
    for sender in (firm.let_in("office"), firm.let_in("surveyor"), firm.client_of(job.job_id)):
        page = sender.get(f"/office/jobs/{job.job_id}").text
        assert "‹" in page
        strange, points = faults(page, [])
        assert set(strange) <= words(json.dumps(data, ensure_ascii=False)), strange
        assert [one for one in points if one not in json.dumps(data)] == []


def test_a_job_in_every_state(firm, job_id):
    sent = disputed(firm, job_id)
    for sender in (firm.let_in("office"), firm.this_machine(), firm.client_of(job_id)):
        page = sender.get(f"/office/jobs/{job_id}").text
        strange, points = faults(page, [*sent, "Sluice", "Another", "phone a", "phone b"])
        assert (strange, points) == ([], [])
        assert "25. Nov. 2026" in page and "5,25" in page


def test_the_other_pages(firm, job_id):
    here = firm.this_machine()
    empty = here.get("/office").text
    disputed(firm, job_id)
    firm.revoked()
    firm.client_of(job_id)
    firm.script("reader", job_id)
    firm.ended_script()
    gone = new_id()
    here.fates([entry(gone, "writer-of-c", 1, "job", {"title": "Weir", "removed": True}, gone)])
    pages = {
        path: here.get(path).text for path in ("/office", "/office/phones", "/office/audit", "/office/open")
    }
    pages |= {"empty": empty, "refused": firm.nobody().get("/office").text}
    for path, page in pages.items():
        strange, points = faults(page, ["Weir", "Sluice"])
        assert (strange, points) == ([], []), path
        assert "‹" in page
        assert not re.search(r"\d{4}-\d\d-\d\d", shown(page)), path


def test_the_page_that_a_phone_opens_first(german):
    class Own:
        fingerprint = "AB:CD"
        der = b""

    page = (
        setup_page.make(lambda: Own(), "https://192.168.7.9:8443", ["localhost"]).test_client().get("/").text
    )
    strange, _ = faults(page, ["AB:CD"])
    assert strange == [] and "‹" in page


@pytest.mark.parametrize("text", ["<p>‹Run ‹F1›› stray</p>", '<img alt="A picture">'])
def test_a_word_outside_is_seen(text):
    assert faults(text, [])[0]


def test_a_point_is_seen():
    assert faults("<p>‹at 3.5 m›</p>", [])[1] == ["3.5"]


@pytest.mark.parametrize("fault", [None, "pack_too_large"])
def test_every_step_of_a_pack(german, tmp_path, fault):
    (tmp_path / "packs").mkdir()
    packing, seen, go_on = Packing(tmp_path), [], threading.Event()

    def make(task):
        go_on.wait(60)
        seen.append(packing.find(asked.pack_id).step)
        if fault:
            raise AppError(fault)
        task.part.write_bytes(b"")

    asked = packing.start("a job", make)
    seen.append(PackState("a pack", "a job").step)  # as it stands in the queue
    go_on.set()
    packing.close()
    end = packing.find(asked.pack_id)
    seen.append(end.message if fault else end.step)
    assert len(seen) == 3 and [one for one in seen if outside(one).strip() or not one] == []


def test_the_page_of_a_damaged_job(german, tmp_path):
    book = Book(tmp_path)
    book.put(spoil(book.bytes, random.Random(0)))
    pages = [book.server.client.get(f"/office/jobs/{job}") for job in book.jobs]
    damaged = [page.text for page in pages if page.status_code == 503]
    book.server.close()
    assert damaged
    for page in damaged:
        assert faults(page, []) == ([], []) and "‹" in page
