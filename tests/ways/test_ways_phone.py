"""Ways of losing on the phone: storage, upgrades, kills, clocks and taps, in a real browser.

Each test would go red if the guard named in the guide's table were taken away.
"""

import re
from pathlib import Path

from sync_phones import ADD_PHOTO, NEW_JOB, RUN, TEXTS

from webapp.errors import AppError

JS = Path(__file__).resolve().parents[2] / "static" / "js"
JOB = "01890000-0000-7000-8000-0000000000{:02x}"
ALL = "async ({store}, job) => [await store.vector(job), (await store.outbox()).counts]"


def test_way_01_the_browser_is_asked_to_keep_the_data_at_the_first_save(visitor, shared_server):
    one = visitor(shared_server.url)
    one.page.add_init_script(
        "navigator.storage.persist = async () => { window.asked = (window.asked ?? 0) + 1; return false; };"
    )
    one.goto("/")
    assert one.page.evaluate("window.asked") is None, "not before there is something to keep"
    job = one.app("async (app) => app.store.save(app.newId(), 'job', null, {title: 'A'})")
    one.app("async (app, job) => app.store.save(job, 'job', job, {title: 'B'})", job)
    one.page.wait_for_function("() => window.asked === 1")
    one.goto("/settings")
    one.page.get_by_text(re.compile(r"[\d.]+ \w+ used, [\d.]+ \w+ free")).wait_for()
    # The app looks at the room when it starts and after a save: one that fills up by itself makes no noise.
    one.page.evaluate("navigator.storage.estimate = async () => ({usage: 81, quota: 100});")
    one.app("async (app, job) => app.store.save(job, 'job', job, {title: 'C'})", job)
    one.app("async (app) => app.go('/')")
    one.page.get_by_text("Room is running low.").wait_for()
    one.page.get_by_role("link", name="Save the jobs to files").click()
    one.page.get_by_role("heading", name="Save a job to a file").wait_for()


def refusing(error):
    """Answer as the server does."""
    return lambda route: route.fulfill(status=error.kind.status, json=error.as_json())


REFUSALS = ("access_revoked", "access_needed", "access_expired")


def test_way_02_a_phone_that_may_no_longer_sync_keeps_everything(kit, live_server):
    one = kit(live_server.url)
    one.allowed += ["status of 401", "status of 403"]
    job = one.kit(NEW_JOB, 4)
    one.kit(RUN)
    one.kit("async ({store}, job) => store.save(job, 'remark', null, {text: 'after'})", job)
    one.kit(ADD_PHOTO, [job, 2000])
    before = one.kit(ALL, job)
    for code in REFUSALS:
        refusal = AppError(code)
        one.context.route("**/api/**", refusing(refusal))
        result = one.kit(RUN)
        assert (result["state"], result["code"]) == ("failed", code)
        assert one.kit("async ({sync}) => sync.status.last_message") == refusal.sentence
        assert one.kit(ALL, job) == before
        one.context.unroute("**/api/**")
    assert one.kit(RUN)["sent"] == 2
    assert len(live_server.entries(job)) == 7


def test_way_03_an_upgrade_of_the_store_keeps_what_is_in_it(page_kit):
    job = page_kit.kit(NEW_JOB, 3)
    page_kit.kit(ADD_PHOTO, [job, 100])
    before = page_kit.kit(ALL, job)
    found = page_kit.kit(
        """async ({newId, now}, job) => {
          const { UPGRADES } = await import('/static/js/store/upgrades.js');
          const { openStore } = await import('/static/js/store/store.js');
          UPGRADES.push((db) => { db.createObjectStore('of_a_later_version'); });
          const store = await openStore({newId, now});
          const counts = (await store.outbox()).counts;
          const names = await new Promise((done) => {
            const request = indexedDB.open('fallbook');
            request.onsuccess = () => { done([...request.result.objectStoreNames]); request.result.close(); };
          });
          return [await store.vector(job), counts, names.includes('of_a_later_version')];
        }""",
        job,
    )
    assert found == [*before, True]


def test_way_03_no_step_of_an_upgrade_drops_anything():
    text = (JS / "store" / "upgrades.js").read_text(encoding="utf-8")
    code = re.sub(r"/\*.*?\*/", "", text, flags=re.S)
    assert "createObjectStore" in code
    assert not re.search(r"deleteObjectStore|deleteDatabase|\.clear\(|\.delete\(", code)


def test_way_04_nothing_in_the_app_deletes_what_was_recorded(page_kit, shared_server):
    for path in sorted(JS.rglob("*.js")):
        text = path.read_text(encoding="utf-8")
        text = text.replace("indexedDB.deleteDatabase(SCRATCH)", "")  # an empty one: store/new_log.js
        text = text.replace("objectStore('pages').clear()", "")  # a copy of entries: store/pages.js
        assert not re.search(r"deleteDatabase|deleteObjectStore|objectStore\([^)]*\)\.clear\(", text), (
            path.name
        )
        if path.parent.name != "store":
            assert "db.delete(" not in text, path.name
    store = {p.name: p.read_text(encoding="utf-8") for p in (JS / "store").glob("*.js")}
    deleted = {
        (name, what) for name, text in store.items() for what in re.findall(r"db\.delete\('(\w+)'", text)
    }
    # A photo is let go by a tap, after the server has proved its own: tests/browser/test_job_rooms.py.
    assert {one for one in deleted if one[1] != "drafts"} == {("photo_previews.js", "photos")}
    one = page_kit
    job = one.kit(NEW_JOB, 2)
    before = one.kit(ALL, job)
    one.context.clear_cookies()  # signed out
    one.kit("async ({store}, job) => store.remove(job, 'job', job)", job)
    one.bare()
    vector, counts = one.kit(ALL, job)
    assert all(vector[writer] >= number for writer, number in before[0].items())
    assert counts["entries"] == before[1]["entries"] + 1
    assert one.kit(RUN)["sent"] == 4 and len(shared_server.entries(job)) == 4


def test_way_05_what_the_server_refuses_is_kept_with_its_reason(page_kit, kit, shared_server):
    one, two = page_kit, kit(shared_server.url)
    job = one.kit(NEW_JOB, 1)
    one.kit("async ({store}, job) => store.save(job, 'reading', null, {counter_m: -4})", job)
    result = one.kit(RUN)
    assert (result["state"], result["setAside"]) == ("sent", 1)
    outbox = one.kit("async ({store}) => store.outbox()")
    assert outbox["counts"] == {"entries": 0, "photos": 0, "aside": 1}
    (row,) = outbox["entries"]
    assert row["code"] == "entry_refused" and "Counter" in row["reasons"]["counter_m"][0]
    two.kit("async ({sync}, job) => sync.takeJob(job)", job)
    assert two.kit("async ({store}, job) => (await store.job(job)).records('reading')", job) == []
    assert one.kit(RUN)["sent"] == 0, "an entry set aside counts as held"


def test_way_11_what_waits_outlives_reloads_and_kills(make_phone, live_server):
    phone = make_phone(live_server.url).open("/")
    phone.wait_for_worker()
    live_server.kill()
    job = phone.app("async (app) => app.store.save(app.newId(), 'job', null, {title: 'No signal'})")
    phone.page.reload()
    phone.wait_ready()
    phone.app("async (app, job) => app.store.save(job, 'remark', null, {text: 'after a reload'})", job)
    phone.kill()
    phone.open("/")
    phone.page.get_by_text("2 to send").first.wait_for()
    live_server.start()
    assert phone.app("async (app) => (await app.sync.run()).state") == "sent"
    assert len(live_server.entries(job)) == 2
    phone.page.get_by_text("All sent").first.wait_for()


def test_way_13_a_full_phone_says_so_and_keeps_nothing_by_halves(make_phone, live_server):
    one = make_phone(live_server.url).open(None)
    one.bare()
    session = one.context.new_cdp_session(one.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 3_000_000})
    one.kit("async ({store}, job) => store.save(job, 'job', null, {title: 'Before'})", JOB.format(0xC1))
    found = one.kit(
        """async ({store}, job) => {
          const fresh = () => { const a = new Uint8Array(260_000); for (let i = 0; i < 4; i += 1) crypto.getRandomValues(a.subarray(i * 65_000, (i + 1) * 65_000)); return a.buffer; };
          const codes = [];
          for (let i = 0; i < 80; i += 1) {
            try { await store.addPhoto(job, {bytes: fresh(), media_type: 'image/jpeg'}); } catch (e) { codes.push(e.code); break; }
          }
          const view = await store.job(job);
          const photos = view.records('photo');
          const rows = await Promise.all(photos.map((p) => store.hasPhoto(p.fields.sha256)));
          return {codes, rows: rows.every(Boolean), n: photos.length, title: view.job.fields.title};
        }""",
        JOB.format(0xC1),
    )
    assert found["codes"] == ["storage_full"]
    assert found["rows"] and found["title"] == "Before"
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url})
    after = one.kit(
        """async ({store}, job) => {
          await store.save(job, 'job', job, {title: 'After'});
          const have = Object.values(await store.vector(job));
          return [(await store.job(job)).job.fields.title, have.length, have[0] - (await store.job(job)).records('photo').length];
        }""",
        JOB.format(0xC1),
    )
    assert after == ["After", 1, 2], "numbers went on without a gap"
    assert one.kit("async ({sync}) => (await sync.run()).state") == "sent"


def test_way_14_an_old_tab_closes_for_a_newer_version(page_kit):
    code = page_kit.kit(
        """async ({store}, job) => {
          await store.save(job, 'job', null, {title: 'A'});
          const db = await new Promise((resolve, reject) => {
            const request = indexedDB.open('fallbook', 99);
            request.onsuccess = () => resolve(request.result);
            request.onerror = () => reject(request.error);
          });
          db.close();
          try { await store.save(job, 'job', job, {title: 'B'}); } catch (e) { return e.code; }
          return 'saved';
        }""",
        JOB.format(3),
    )
    assert code == "storage_blocked"


def test_way_15_a_clock_of_1970_loses_nothing(visitor, live_server):
    one = visitor(live_server.url)
    one.context.clock.set_system_time(5000)
    one.bare()
    found = one.kit(
        """async ({store, sync, newId}) => {
          const job = newId();
          await store.save(job, 'job', null, {title: 'Long ago'});
          const ids = [];
          for (let i = 0; i < 3; i += 1) ids.push(await store.save(job, 'remark', null, {text: `r${i}`}));
          const result = await sync.run();
          const view = await store.job(job);
          return {result, texts: view.records('remark').map((r) => r.fields.text), stamp: view.entriesOf('job', job)[0].recorded_at,
                  status: sync.status};
        }"""
    )
    assert (found["result"]["state"], found["result"]["sent"], found["result"]["setAside"]) == ("sent", 4, 0)
    assert found["texts"] == ["r0", "r1", "r2"]
    assert found["stamp"].startswith("19")


def test_way_15_a_clock_in_the_future_wins_nothing(kit, live_server):
    one, two = kit(live_server.url), kit(live_server.url)
    job = one.kit(NEW_JOB, 0)
    one.kit(RUN)
    two.context.clock.set_system_time("2099-01-01T00:00:00")
    two.kit("async ({sync}, job) => sync.takeJob(job)", job)
    two.kit("async ({store}, job) => store.save(job, 'job', job, {title: 'From 2099'})", job)
    two.kit(RUN)
    one.kit(RUN)
    one.kit("async ({store}, job) => store.save(job, 'job', job, {title: 'Later, by today'})", job)
    one.kit(RUN)
    two.kit(RUN)
    for phone in (one, two):  # the second had seen the first, whatever the clocks say
        assert (
            phone.kit("async ({store}, job) => (await store.job(job)).job.fields.title", job)
            == "Later, by today"
        )
        assert phone.kit("async ({store}, job) => (await store.job(job)).conflicts()", job) == []


BATCHES = """({store}, job) => {
  (async () => {
    for (let n = 0; ; n += 1) {
      const batch = Array.from({length: 5}, (_, k) => ({kind: 'remark', record_id: crypto.randomUUID(), fields: {text: `${n}/${k}`}}));
      await store.addEntries(job, batch);
      console.log(`saved ${n}`);
    }
  })();
}"""


def cut_off(profile):
    """Leave a record without its end, as a kill in the middle of a write does; return the file."""
    log = max(profile.glob("Default/IndexedDB/*.leveldb/*.log"))
    with log.open("ab") as file:
        file.write(bytes(4) + (1000).to_bytes(2, "little") + b"\x01")  # checksum, length, a whole record
    return log


def test_way_17_a_kill_in_the_middle_of_a_save_leaves_whole_saves(make_phone, live_server):
    log = None
    phone = make_phone(live_server.url).open(None)
    phone.bare()
    output = []
    phone.page.on("console", lambda message: output.append(message.text))
    job = phone.kit(NEW_JOB, 0)
    for turn in (15, 40):
        phone.kit(BATCHES, job)
        output.clear()
        while len(output) < turn or (log and log.exists() and len(output) < 300):
            phone.page.wait_for_timeout(5)
        phone.kill()
        log = cut_off(phone.profile)
        reported = [line.split()[1] for line in output if line.startswith("saved ")]
        phone.open(None)
        phone.bare()
        phone.page.on("console", lambda message: output.append(message.text))
        texts = phone.kit(TEXTS, job)
        groups = {}
        for text in texts:
            groups.setdefault(text.split("/")[0], []).append(text)
        assert all(len(group) % 5 == 0 for group in groups.values()), "a save is whole or not there"
        assert set(reported) <= groups.keys(), "what was said to be saved is there"
    assert phone.kit(RUN)["state"] == "sent"
    held = live_server.entries(job)
    assert len(held) == len(texts) + 1


def test_way_18_a_second_save_of_the_same_writes_nothing(page_kit):
    count = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId(), id = newId(), fields = {counter_m: 1.5, inclination: {size: 1, unit: 'deg', sense: 'falling'}};
          await Promise.all([store.save(job, 'reading', id, fields), store.save(job, 'reading', id, {...fields})]);
          return (await store.job(job)).entriesOf('reading', id).length;
        }"""
    )
    assert count == 1
