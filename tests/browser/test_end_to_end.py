"""The whole job once: recorded with the server dead, through a killed browser, synced, shared, settled."""

import hashlib
import re

import steps
from pictures import picture

from webapp.records.fold import fold

TITLE = "Culvert under Dell Lane"


def record_everything(page):
    """30 readings, two beyond range; 12 observations, one of them continuous, three with photos."""
    steps.link_or_button(page, "Reading").click()
    steps.reading_by_pad(page, "0.5", "80", "Falling", "1 in N")
    steps.reading_by_pad(page, "1.5", "1.25", "Falling", "Percent")
    steps.reading_by_pad(page, "2.5", "0.7", "Rising", "Degrees")
    steps.reading_by_pad(page, "3.5", "0.6", "Falling", "Degrees")
    for n in range(4, 28):
        steps.reading_typed(page, f"{n},5" if n % 5 == 0 else f"{n}.5", f"0.{n % 9 + 1}")
    steps.reading_beyond(page, "28.5", "Falling")
    steps.reading_beyond(page, "29.5", "Rising", last="Save reading")
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    steps.observation(page, "2.0", "roots", "BBA", clock=(10, 2), photo=1)
    steps.observation(page, "4.0", "crack", "BAB", clock=(12,), part="Start of something continuous")
    steps.observation(page, "9.0", "crack", "BAB", part="Finish")
    steps.observation(page, "10.0", "BBA", "BBA", photo=2)
    steps.observation(page, "11.0", "BBA", "BBA", photo=3)
    for n in range(12, 19):
        steps.observation(page, f"{n}", "BBA", "BBA")


def look(phone, job):
    """Return what a phone shows of a job, for comparing."""
    return phone.app(
        """async (app, job) => {
          const view = await app.store.job(job);
          const kinds = ['job', 'node', 'run', 'reading', 'observation', 'photo'];
          return Object.fromEntries(kinds.map((kind) => [kind, view.records(kind).map((r) => [r.id, r.fields])]));
        }""",
        job,
    )


def sync_now(page):
    """Press the button in the outbox and wait until all is sent."""
    page.get_by_role("link", name=re.compile("^Outbox")).first.click()
    steps.button(page, "Sync now").click()
    page.get_by_text("Everything on this phone is on the server as well.").wait_for()
    page.get_by_text(re.compile("^Done:")).wait_for()


def edit_site(phone, job, words):
    phone.goto(f"/jobs/{job}/edit")
    phone.page.get_by_label("Client reference").fill(words)
    steps.button(phone.page, "Save job").click()
    phone.page.wait_for_url(re.compile(f"/jobs/{job}$"))


def test_the_whole_job_once(phone, live_server, make_phone):
    # Loaded once; the server dies; the page is loaded again and everything is recorded.
    live_server.kill()
    phone.page.reload()
    phone.wait_ready()
    page = phone.page
    job = steps.new_job(page, TITLE)
    run = steps.new_run(page, "R1", "Outfall A")
    record_everything(page)
    before = look(phone, job)
    assert [len(before[kind]) for kind in ("node", "run", "reading", "observation", "photo")] == [
        1,
        1,
        30,
        12,
        3,
    ]
    assert sum(bool(f["inclination"].get("over_range")) for _, f in before["reading"]) == 2
    assert {f["counter_m"] for _, f in before["reading"]} == {n + 0.5 for n in range(30)}
    assert [f["continuous"]["role"] for _, f in before["observation"] if f.get("continuous")] == [
        "start",
        "finish",
    ]

    # The battery dies in the middle of a form.
    steps.link_or_button(page, "Reading").click()
    steps.field(page, "Counter reading").click()
    steps.tap(page, "31.2")
    steps.button(page, "Percent").click()
    steps.field(page, "Inclination").fill("2.75")
    page.wait_for_timeout(500)
    phone.kill()
    phone.open("/")
    page = phone.page
    assert look(phone, job) == before
    page.get_by_role("link", name=re.compile(TITLE)).first.click()
    page.get_by_role("link", name=re.compile("R1")).first.click()
    steps.link_or_button(page, "Reading").click()
    page.get_by_text(re.compile("^Draft restored")).first.wait_for()
    assert steps.field(page, "Counter reading").input_value() == "31.2"
    assert steps.field(page, "Inclination").input_value() == "2.75"
    assert steps.button(page, "Percent").get_attribute("aria-pressed") == "true"
    steps.save_reading(page, "Save reading")
    before = look(phone, job)
    assert len(before["reading"]) == 31

    # Signal again: each record is on the server exactly once, photos byte for byte.
    live_server.start()
    sync_now(page)
    held = live_server.entries(job)
    assert len({(e["writer"], e["number"]) for e in held}) == len(held)
    there = {(r.kind, r.id): r for r in fold(held)}
    here = {(kind, id_): fields for kind, records in before.items() for id_, fields in records}
    assert {key: r.fields for key, r in there.items()} == here
    assert all(not r.conflicts for r in there.values())
    sent = [live_server.get(f"/media/photos/{f['sha256']}") for _, f in before["photo"]]
    assert sent == [picture(n) for n in (1, 2, 3)]
    assert [hashlib.sha256(b).hexdigest() for b in sent] == [f["sha256"] for _, f in before["photo"]]
    assert all(f["run_id"] == run for _, f in before["photo"])

    # A second phone takes the job; both change one field with no signal; one tap settles it.
    second = make_phone(live_server.url).open("/")
    second.wait_for_worker()
    steps.button(second.page, "Take onto this phone").click()
    second.page.get_by_role("link", name=re.compile(TITLE)).first.wait_for()
    assert look(second, job) == before
    live_server.kill()
    edit_site(phone, job, "CR 17")
    edit_site(second, job, "CR 71")
    live_server.start()
    for one in (phone, second):
        sync_now(one.page)
    second.goto(f"/jobs/{job}")
    second.page.get_by_role("link", name=re.compile("^Conflicts")).click()
    shown = second.page.get_by_text(re.compile(r"^CR (17|71)$"))
    shown.first.wait_for()
    assert sorted(shown.all_inner_texts()) == ["CR 17", "CR 71"]
    second.page.locator(".version", has_text="CR 17").get_by_role("button", name="Keep this value").click()
    second.page.get_by_text("There are none. Every field has one value.").wait_for()
    for one in (second, phone):
        sync_now(one.page)
    for one in (second, phone):
        (record,) = look(one, job)["job"]
        assert record[1]["client_reference"] == "CR 17"
        assert one.app("async (app, job) => (await app.store.job(job)).conflicts()", job) == []
    assert all(not r.conflicts for r in fold(live_server.entries(job)))
