"""Opening the phone's database: within five seconds, or a sentence, a code and a way on."""

import json
import zipfile

from steps import button

MUTE = """
if (sessionStorage.getItem('mute') !== 'off') IDBFactory.prototype.open = function () { return new EventTarget(); };
"""
HOLD = """async (store) => {
  const request = indexedDB.open('fallbook');
  const db = await new Promise((resolve) => { request.onsuccess = () => resolve(request.result); });
  window.holding = true;
  const tx = db.transaction([store], 'readwrite');
  const again = () => { if (window.holding) tx.objectStore(store).count().onsuccess = again; };
  again();
}"""
NO_ANSWER = "The phone’s storage does not answer."


def failed(page):
    page.get_by_role("heading", name="Fallbook could not open").wait_for()
    return page.locator("main").inner_text()


def test_a_database_that_never_answers_is_said_after_five_seconds(visitor, shared_server):
    one = visitor(shared_server.url)
    one.allowed.append("StoreError")
    one.page.add_init_script(MUTE)
    one.page.goto(one.url)
    shown = failed(one.page)
    assert NO_ANSWER in shown and "storage_no_answer" in shown and "still on it" in shown
    one.page.evaluate("() => sessionStorage.setItem('mute', 'off')")
    button(one.page, "Try again").click()
    one.page.get_by_role("heading", name="Jobs", exact=True).wait_for()


FAILS = """IDBFactory.prototype.open = function () {
  const request = new EventTarget();
  request.error = new DOMException('Internal error opening backing store.', 'UnknownError');
  setTimeout(() => request.onerror());
  return request;
};"""


def test_a_database_that_the_browser_cannot_open_is_said_in_its_words_before_any_sentence_came(
    visitor, shared_server
):
    """Its own words follow ours, and what joins them must be there as early."""
    one = visitor(shared_server.url)
    one.allowed += ["StoreError", "ERR_FAILED"]
    one.page.add_init_script(FAILS)
    one.page.route("**/static/app/data-*", lambda route: route.abort())
    one.page.goto(one.url)
    shown = failed(one.page)
    assert "cannot open what was saved" in shown and "still on it" not in shown and "typed" not in shown
    assert (
        "Do not clear" in shown
        and "storage_failed" in shown
        and "(Internal error opening backing store.)" in shown
    )
    button(one.page, "Try again").wait_for()


def test_a_database_that_another_page_holds_is_said_and_opens_once_it_is_free(visitor, shared_server):
    one = visitor(shared_server.url)
    one.goto("/")
    one.allowed.append("StoreError")
    one.bare()
    one.page.evaluate(HOLD, "meta")
    second = one.context.new_page()
    second.goto(one.url)
    shown = failed(second)
    assert NO_ANSWER in shown and "storage_no_answer" in shown
    one.page.evaluate("() => { window.holding = false; }")
    button(second, "Try again").click()
    second.get_by_role("heading", name="Jobs", exact=True).wait_for()


def test_an_upgrade_that_another_tab_blocks_is_said_and_goes_on_once_it_is_closed(visitor, shared_server):
    one = visitor(shared_server.url)
    one.goto("/")
    one.bare()
    one.page.evaluate(
        """async () => {
          const request = indexedDB.open('fallbook');
          window.old = await new Promise((resolve) => { request.onsuccess = () => resolve(request.result); });
        }"""
    )
    second = one.context.new_page()
    one.bare(second)
    opening = """async () => {
      const { openDatabase } = await import('/static/js/store/open.js');
      const { UPGRADES } = await import('/static/js/store/upgrades.js');
      const steps = [...UPGRADES, (db) => { db.createObjectStore('later'); }];
      return openDatabase('fallbook', steps, { store: 'later', withinMs: 400 })
        .then((db) => { const { version } = db; db.close(); return version; }, (error) => error.code);
    }"""
    assert second.evaluate(opening) == "storage_blocked"
    one.page.evaluate("() => window.old.close()")
    assert second.evaluate(opening) == second.evaluate(
        "async () => (await import('/static/js/store/upgrades.js')).UPGRADES.length + 1"
    )


LEAVE = """async ({store, newId}) => {
  const job = newId();
  await store.save(job, 'job', null, {title: 'Dell Lane'});
  let told = '';
  const saving = store.save(job, 'job', job, {title: 'Bell Lane'}).then(() => { told += ' saved'; });
  await new Promise((resolve) => setTimeout(resolve)); // the save has been sent off
  const reading = store.setting('night').then((value) => { told += ` read ${value}`; });
  const following = store.follow(newId()).then(() => { told += ' followed'; });
  for (let turn = 0; turn < 20; turn += 1) await null; // both have begun
  dispatchEvent(new PageTransitionEvent('pagehide', {persisted: true}));
  await saving;
  await new Promise((resolve) => setTimeout(resolve, 300));
  const before = told;
  // Nothing of the sleeping page is in the way of the next one.
  const request = indexedDB.deleteDatabase('probe');
  await new Promise((resolve) => { request.onsuccess = resolve; });
  const opened = indexedDB.open('fallbook');
  const db = await new Promise((resolve) => { opened.onsuccess = () => resolve(opened.result); });
  await new Promise((resolve) => { db.transaction(['meta'], 'readwrite').objectStore('meta').count().onsuccess = resolve; });
  db.close();
  dispatchEvent(new PageTransitionEvent('pageshow', {persisted: true}));
  await Promise.all([reading, following]);
  return [before, told, (await store.job(job)).job.fields.title];
}"""


def test_a_page_that_is_left_holds_nothing_and_goes_on_when_it_comes_back(page_kit):
    one = page_kit
    before, reported, title = one.kit(LEAVE)
    assert before == " saved", "what was sent to the disk got there"
    assert sorted(reported.split(" ")) == sorted(" saved read undefined followed".split(" "))
    assert title == "Bell Lane"


SAVE = """async (app, [job, text]) => app.store.save(job, 'remark', null, {text}).then(() => 'saved', (error) => error.code)"""
MAKE = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  return job;
}"""


def test_a_database_that_is_deleted_while_open_is_noticed_and_memory_offered(visitor, shared_server):
    phone = visitor(shared_server.url)
    phone.goto("/")
    phone.context.route("**/api/**", lambda route: route.abort())
    job = phone.app(MAKE)
    assert phone.app(SAVE, [job, "in the van"]) == "saved"
    other = phone.context.new_page()
    phone.bare(other)
    other.evaluate("() => new Promise((done) => { indexedDB.deleteDatabase('fallbook').onsuccess = done; })")
    notice = phone.page.get_by_role("alert").filter(has_text="was deleted")
    notice.wait_for()
    assert phone.app(SAVE, [job, "into an empty phone"]) == "storage_lost"
    assert phone.page.get_by_text("All sent", exact=True).count() == 0
    with phone.page.expect_download() as coming:
        notice.get_by_role("button", name="Save “Dell Lane” to a file, 2 entries").click()
    with zipfile.ZipFile(coming.value.path()) as archive:
        found = json.loads(archive.read("job.json"))
    assert [one["fields"].get("text") for one in found["entries"]] == [None, "in the van"]
    notice.get_by_role("button", name="Start again").click()
    phone.page.get_by_text("No jobs on this phone yet").wait_for()
    assert phone.app("async (app) => app.store.jobs()") == []
    phone.problems = [one for one in phone.problems if "storage_lost" not in one]  # whatever ran meanwhile


DELETE = "() => new Promise((done) => { indexedDB.deleteDatabase('fallbook').onsuccess = done; })"
CUT_OFF_THE_END = """() => new Promise((done) => {
  indexedDB.open('fallbook').onsuccess = ({target: {result: db}}) => {
    const tx = db.transaction(['entries'], 'readwrite');
    tx.objectStore('entries').openKeyCursor(null, 'prev').onsuccess = ({target: {result: cursor}}) => {
      tx.objectStore('entries').delete(cursor.primaryKey);
    };
    tx.oncomplete = () => { db.close(); done(); };
  };
})"""


def test_what_was_lost_since_the_app_was_last_open_is_told_until_it_was_read(visitor, shared_server):
    phone = visitor(shared_server.url)
    phone.goto("/")
    notice = phone.page.get_by_role("alert")
    all_sent = phone.page.get_by_text("All sent", exact=True)

    def lost(how, title):
        phone.bare()
        phone.page.evaluate(how)
        for path in ("/settings", "/outbox", "/"):  # at every opening
            phone.goto(path)
            notice.filter(has_text=title).wait_for()
            phone.page.get_by_role("heading").first.wait_for()
            assert "Saves lost" in phone.page.locator(".chip").inner_text()
            assert all_sent.count() == 0, path
            assert phone.page.get_by_text("on the server as well").count() == 0, path
        return notice.inner_text()

    job = phone.app(MAKE)
    assert phone.app("async (app) => (await app.sync.run()).state") == "sent"
    assert phone.app(SAVE, [job, "in the van"]) == "saved"
    phone.app("async (app) => app.sync.refresh()")
    said = lost(CUT_OFF_THE_END, "The newest saves on this phone are gone")
    assert "1 entry or photo had not gone to the server" in said
    button(phone.page, "I have read this").click()
    all_sent.nth(1).wait_for()  # the chip, and the job in the list
    assert phone.app("async (app) => (await app.sync.run()).state") == "sent"
    assert phone.app(SAVE, [job, "by the road"]) == "saved"
    assert phone.app("async (app) => (await app.sync.run()).state") == "sent"
    said = lost(DELETE, "What was saved on this phone is gone")
    assert "The last save was on" in said and "All of it had gone to the server" in said
    job = phone.app(MAKE)  # to be saved again is no answer
    phone.goto("/")
    notice.filter(has_text="What was saved on this phone is gone").wait_for()
    button(phone.page, "I have read this").click()
    notice.wait_for(state="detached")
    phone.goto("/")
    assert notice.count() == 0 and phone.app("async (app) => app.store.lost ?? null") is None


DAMAGED = "Object.defineProperty(IDBVersionChangeEvent.prototype, 'dataLoss', {get: () => 'total'});"


def test_a_damaged_database_that_the_browser_threw_away_is_told(visitor, shared_server):
    phone = visitor(shared_server.url)
    phone.page.add_init_script(DAMAGED)  # as Chromium tells it to whoever opens first
    for path in ("/", "/settings"):
        phone.goto(path)
        notice = phone.page.get_by_role("alert").filter(has_text="What was saved on this phone is gone")
        notice.wait_for()
        assert "found its data damaged" in notice.inner_text()
    button(phone.page, "I have read this").click()
    phone.goto("/")
    assert notice.count() == 0
