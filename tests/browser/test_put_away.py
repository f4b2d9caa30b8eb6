"""A job that is put away: only once the server has proved all of it, whole or not at all, and back by a tap."""

import hashlib

import pytest
from pictures import picture
from sync_phones import ADD_PHOTO, NEW_JOB, RUN, photo_bytes
from test_full_phone import EMPTY, fill, small_phone  # noqa: F401

PUT_AWAY = """async ({store, sync, now}, job) => {
  const { putAway } = await import('/static/js/sync/put_away.js');
  const { store: s, transport } = {store, transport: sync.transport};
  return putAway({store: s, transport, now}, job).then((why) => why.map((one) => [one.why, one.n]), (error) => error.code);
}"""
ON_DISK = """async ({store}, job) => {
  const rows = async (name) => (await store.db.all(name)).filter((one) => one.job_id === job).length;
  return {entries: await rows('entries'), aside: await rows('aside'), away: await rows('away'),
    photos: (await store.db.keys('photos')).length, parts: (await store.db.keys('photo_parts')).length,
    previews: (await store.db.keys('meta')).filter((key) => key.startsWith('preview:')).length};
}"""
GONE = {"entries": 0, "aside": 0, "away": 1, "photos": 0, "parts": 0, "previews": 0}
RECORDS = """async ({store}, job) => {
  const view = await store.job(job);
  const text = (fields) => JSON.stringify(Object.entries(fields).sort());
  return view.entriesBeyond({}).map(({writer, number, fields}) => [writer, number, text(fields)]).sort();
}"""
BACK = "async ({sync}, job) => (await sync.takeJob(job)).state"
SAVE = """async ({store, newId}, [job, text]) =>
  store.save(job, 'remark', newId(), {text}).then(() => 'saved', (error) => error.code)"""


def job_with_photo(phone, count=3):
    job = phone.kit(NEW_JOB, count)
    phone.kit(ADD_PHOTO, [job, 3000])
    return job


def test_a_job_goes_whole_stays_away_and_comes_back_whole(kit, live_server):
    phone = kit(live_server.url)
    job, other = job_with_photo(phone), phone.kit(NEW_JOB, 1)
    assert phone.kit(PUT_AWAY, job) == [["unsent", 5]]
    assert phone.kit(RUN)["state"] == "sent"
    before = phone.kit(RECORDS, job)
    assert phone.kit(PUT_AWAY, job) == []
    assert phone.kit(ON_DISK, job) == GONE
    assert phone.kit("async ({store}) => (await store.jobs()).map((line) => line.job_id)") == [other]
    assert phone.kit(SAVE, [job, "into the void"]) == "job_put_away"
    assert phone.kit(RUN)["received"] == 0 and phone.kit(ON_DISK, job) == GONE, "it is not fetched unasked"
    phone.page.reload()
    assert phone.kit(ON_DISK, job) == GONE
    assert phone.kit("async ({store}) => (await store.away()).map((one) => one.title)") == ["Dell Lane"]
    assert phone.kit(BACK, job) == "sent"
    assert phone.kit(RECORDS, job) == before
    assert phone.kit("async ({store}) => store.away()") == []
    assert phone.kit(SAVE, [job, "back"]) == "saved" and phone.kit(RUN)["sent"] == 1
    assert phone.kit(PUT_AWAY, job) == [], "and again"


def test_the_same_opening_goes_on_with_its_numbers_when_the_job_is_back(kit, live_server):
    phone = kit(live_server.url)
    job = phone.kit(NEW_JOB, 3)
    phone.kit(RUN)
    assert phone.kit(PUT_AWAY, job) == []
    assert phone.kit(BACK, job) == "sent"
    assert phone.kit(SAVE, [job, "once more"]) == "saved"
    phone.kit(RUN)
    held = live_server.entries(job)
    assert sorted(e["number"] for e in held) == [1, 2, 3, 4, 5] and len({e["writer"] for e in held}) == 1


STAYS = {
    "a draft": ("async ({store}, job) => store.saveDraft(`/jobs/${job}/remarks/new`, {text: 'half'})", "drafts"),
    "set aside": (
        """async ({store, sync, newId}, job) => {
          await store.addEntries(job, [{kind: 'remark', record_id: newId(), fields: {text: 7}}]); await sync.run(); }""",
        "set_aside",
    ),
    "too large": (
        """async ({store, sync, newId}, job) => {
          const [{id}] = (await store.job(job)).records('remark');
          await store.addEntries(job, [{kind: 'remark', record_id: id, fields: {text: 'more'}}]);
          await sync.run();
          const [entry] = (await store.job(job)).entriesBeyond({}).slice(-1);
          await store.take(job, [], {[`${entry.writer}:${entry.number}`]: {code: 'identity_taken', reasons: {}}});
          await store.dismissAside(job, `${entry.writer}:${entry.number}`); }""",
        "only_here",
    ),
    "a conflict": (
        """async ({store, sync}, job) => {
          const [{id}] = (await store.job(job)).records('remark');
          for (const text of ['a', 'b'])
            await store.addEntries(job, [{kind: 'remark', record_id: id, fields: {text}, shown: {}}]);
          await sync.run(); }""",
        "conflicts",
    ),
    "not sent": ("async ({store, newId}, job) => store.save(job, 'remark', newId(), {text: 'late'})", "unsent"),
}  # fmt: skip


def test_what_is_not_whole_on_the_server_stays_with_its_reason(kit, live_server):
    phone = kit(live_server.url)
    for name, (spoil, why) in STAYS.items():
        job = job_with_photo(phone)
        phone.kit(RUN)
        phone.kit(spoil, job)
        before = phone.kit(ON_DISK, job)
        assert [one for one, _ in phone.kit(PUT_AWAY, job)] == [why], name
        assert phone.kit(ON_DISK, job) == before and before["entries"] >= 5, name


def test_a_photo_or_entry_that_the_server_lost_stays_and_so_does_all_without_a_server(kit, live_server):
    phone = kit(live_server.url)
    job = phone.kit(NEW_JOB, 2)
    sha256 = phone.kit(ADD_PHOTO, [job, 3000])["sha256"]
    phone.kit(RUN)
    [path] = live_server.folder.rglob(f"{sha256}*")
    path.chmod(0o644)
    path.write_bytes(b"x" * 3000)
    assert phone.kit(PUT_AWAY, job) == [["photos_unproved", 1]]
    assert phone.kit(RUN)["photos"] == 1, "and goes to the server again"
    claimed = """async ({store}, job) => store.setServerVector(job, {...await store.vector(job)}, 'x')"""
    phone.kit(SAVE, [job, "believed to be sent"])
    phone.kit(claimed, job)
    assert phone.kit(PUT_AWAY, job) == [["entries_unproved", 1]], "the server is asked, not what was heard"
    phone.allowed.append("ERR_")
    live_server.kill()
    assert phone.kit(PUT_AWAY, job) == "offline"
    assert phone.kit(ON_DISK, job)["entries"] == 5 and phone.kit(ON_DISK, job)["photos"] == 1


CUT = """async ({store, sync, now}, [job, after]) => {
  const { putAway } = await import('/static/js/sync/put_away.js');
  let left = after;
  const whole = {};
  for (const name of ['delete', 'put']) {
    whole[name] = IDBObjectStore.prototype[name];
    IDBObjectStore.prototype[name] = function (...given) {
      if (this.transaction.objectStoreNames.contains('drafts') && (left -= 1) < 0) throw new DOMException('cut', 'UnknownError');
      return whole[name].apply(this, given);
    };
  }
  const result = await putAway({store, transport: sync.transport, now}, job).then(() => 'away', () => 'cut');
  Object.assign(IDBObjectStore.prototype, whole);
  return result;
}"""


def test_a_cut_between_any_two_steps_leaves_all_of_it_or_the_line(kit, live_server):
    phone = kit(live_server.url)
    job = job_with_photo(phone)
    phone.kit(RUN)
    before = phone.kit(ON_DISK, job)
    results = []
    for after in range(20):
        results.append(phone.kit(CUT, [job, after]))
        phone.page.reload()
        assert phone.kit(ON_DISK, job) == (GONE if results[-1] == "away" else before), after
        if results[-1] == "away":
            break
    assert results[-1] == "away" and len(results) > 5, "each step was cut once"
    phone.problems = [one for one in phone.problems if one != "thrown: cut"]


def test_another_tab_and_a_sync_under_way_write_nothing_into_it(kit, relay, live_server):
    one = kit(relay.url)
    job = job_with_photo(one)
    one.kit(RUN)
    two = one.context.new_page()
    one.bare(two)
    assert len(one.kit(RECORDS, job, page=two)) == 5
    # Somebody else's entry is on its way to the other tab while the job is put away here.
    other = kit(live_server.url)
    assert other.kit(BACK, job) == "sent" and other.kit(SAVE, [job, "from afar"]) == "saved"
    other.kit(RUN)
    held = """async ({store, sync}, job) => {
      const take = store.take.bind(store);
      globalThis.reached = new Promise((resolve) => {
        store.take = async (...given) => {
          resolve();
          await new Promise((go) => { globalThis.letGo = go; });
          return take(...given);
        };
      });
      globalThis.run = sync.run();
      await globalThis.reached;
    }"""
    one.kit(held, job, page=two)
    assert one.kit(PUT_AWAY, job) == [["entries_unproved", 1]], "there is more of it on the server than here"
    two.evaluate("() => globalThis.letGo()")
    assert two.evaluate("async () => (await globalThis.run).state") == "sent"
    other.kit(SAVE, [job, "and more"])
    other.kit(RUN)
    two.evaluate("() => { globalThis.kitTake = 0; }")
    one.kit(
        """async ({store, sync}, job) => {
          delete store.take;
          const take = store.take.bind(store);
          const { exchange } = sync.transport;
          globalThis.reached = new Promise((resolve) => {
            sync.transport.exchange = async (request) => {
              const answer = await exchange(request);
              resolve();
              await new Promise((go) => { globalThis.letGo = go; });
              return answer;
            };
          });
          globalThis.run = sync.run();
          await globalThis.reached;
        }""",
        job,
        page=two,
    )
    # The answer with "and more" waits in the other tab. Here the job goes as this phone has it: proved without it.
    one.kit("async ({sync}) => { sync.transport.jobProof = async () => globalThis.digest; }")
    one.kit(
        """async ({store}, job) => {
          const { vectorDigest } = await import('/static/js/records/vectors.js');
          globalThis.digest = await vectorDigest(await store.vector(job));
        }""",
        job,
    )
    assert one.kit(PUT_AWAY, job) == []
    assert one.kit(SAVE, [job, "too late"], page=two) == "job_put_away"
    two.evaluate("() => globalThis.letGo()")
    two.evaluate("async () => (await globalThis.run).state")
    assert one.kit(ON_DISK, job) == GONE, "nothing of the answer was kept"
    one.kit(BACK, job)
    assert len(one.kit(RECORDS, job)) == 7 == len(one.kit(RECORDS, job, page=two))


def test_with_not_one_byte_free_a_job_goes_all_the_same(small_phone, live_server):  # noqa: F811
    phone = small_phone
    job = phone.kit(NEW_JOB, 40)
    sha256 = phone.kit(ADD_PHOTO, [job, 200_000])["sha256"]
    phone.kit(RUN)
    fill(phone)
    assert phone.kit(PUT_AWAY, job) == []
    assert phone.kit(ON_DISK, job) | {"away": 1} == GONE
    assert phone.kit(RECORDS, job) == [] and phone.kit(RUN)["received"] == 0
    phone.page.reload()
    # The browser counts what was deleted only once its own tidying up is through: here what fills the phone goes too.
    phone.kit(EMPTY)
    assert phone.kit(BACK, job) == "sent"
    assert len(phone.kit(RECORDS, job)) == 42 == len(live_server.entries(job))
    assert live_server.get(f"/media/photos/{sha256}") == photo_bytes(200_000)


def test_a_phone_that_is_killed_meanwhile_has_all_of_it_or_the_line(make_phone, live_server):
    phone = make_phone(live_server.url).open(None)
    phone.bare()
    job = job_with_photo(phone, 60)
    phone.kit(RUN)
    before = phone.kit(ON_DISK, job)
    phone.kit(f"(kit, job) => {{ void ({PUT_AWAY})(kit, job); }}", job)
    phone.kill()
    phone.open(None)
    phone.bare()
    assert phone.kit(ON_DISK, job) in (before, GONE)
    phone.kit(BACK, job)
    assert len(phone.kit(RECORDS, job)) == 62


@pytest.mark.parametrize("size", [(390, 844), (360, 640)])
def test_the_screens_put_it_away_and_bring_it_back(visitor, live_server, size):
    phone = visitor(live_server.url)
    phone.page.set_viewport_size({"width": size[0], "height": size[1]})
    phone.goto("/")
    page = phone.page
    job = phone.app(
        """async (app, bytes) => {
          const job = app.newId();
          await app.store.save(job, 'job', null, {title: 'Dell Lane', site: 'By the weir'});
          const made = {bytes: new Uint8Array(bytes).buffer, media_type: 'image/jpeg'};
          await app.store.addPhoto(job, made);
          return job;
        }""",
        list(picture(1)),
    )
    phone.go_offline()
    page.get_by_role("link", name="Settings").click()
    card = page.get_by_role("region", name="Dell Lane")
    card.get_by_role("button", name="Put the job away").click()
    card.get_by_role("button", name="Put it away").click()
    card.get_by_text("The job stays on this phone.").wait_for()
    card.get_by_text("2 entries are not on the server yet.").wait_for()
    phone.context.set_offline(False)
    card.get_by_role("button", name="Put the job away, frees about").click()
    card.get_by_role("button", name="Put it away").click()
    page.get_by_text("“Dell Lane” is put away.").wait_for()
    phone.goto("/")
    line = page.get_by_role("region", name="Dell Lane")
    line.get_by_text("on the server").wait_for()
    assert page.get_by_role("button", name="Take onto this phone").count() == 0
    phone.go_offline()
    line.get_by_role("button", name="Bring it back").click()
    line.get_by_text("The server cannot be reached.").wait_for()
    line.get_by_text("It comes back by itself").wait_for()
    phone.context.set_offline(False)
    page.get_by_role("link", name="Dell Lane").wait_for()
    page.get_by_role("region", name="Dell Lane").wait_for(state="detached")
    phone.goto(f"/jobs/{job}")
    page.get_by_text("Dell Lane").first.wait_for()


MIDWAY = """async ({store, sync, now}, [job, how, name]) => {
  const { putAway } = await import('/static/js/sync/put_away.js');
  const { SyncError } = await import('/static/js/sync/transport.js');
  const transport = Object.create(sync.transport);
  transport.jobProof = async (id) => {
    if (how === 'revoked') throw new SyncError('access_revoked', {status: 403, retry: false});
    const proof = await sync.transport.jobProof(id);
    await new Promise((done) => Object.assign(indexedDB.deleteDatabase(name), {onsuccess: done, onblocked: done}));
    return proof;
  };
  return putAway({store, transport, now}, job).then((why) => why.map((one) => one.why), (error) => error.code ?? `${error}`);
}"""


def test_access_that_ends_or_storage_that_is_cleared_meanwhile_loses_nothing(kit, live_server):
    phone = kit(live_server.url)
    job = job_with_photo(phone)
    assert phone.kit(RUN)["state"] == "sent"
    before, held = phone.kit(RECORDS, job), phone.kit(ON_DISK, job)
    assert phone.kit(MIDWAY, [job, "revoked", ""]) == "access_revoked"
    assert phone.kit(ON_DISK, job) == held and phone.kit(RECORDS, job) == before
    said = phone.kit(MIDWAY, [job, "cleared", "fallbook"])
    assert said in ([], ["changed"]) or isinstance(said, str), said
    assert len(live_server.entries(job)) == len(before), "all of it is where it was proved to be"
    phone.page.reload()
    assert phone.kit(BACK, job) == "sent" and phone.kit(RECORDS, job) == before


def test_a_remark_on_a_photo_outlives_the_answer_to_its_upload(kit, live_server):
    """The server says with every exchange what no report will show; a tab beside this one knows at once."""
    phone, other = kit(live_server.url), kit(live_server.url)
    job = phone.kit(NEW_JOB, 1)
    phone.kit("async ({store}) => { store.notePhoto = async () => {}; }")  # as if each answer were cut
    phone.kit(ADD_PHOTO, [job, 3000])
    sha256 = hashlib.sha256(photo_bytes(3000)).hexdigest()
    beside = phone.context.new_page()
    phone.bare(beside)
    wanted = "async ({store}) => [...await store.wantedPhotos()]"
    said = "async ({store}, sha256) => (await store.photoNote(sha256))?.message ?? ''"
    assert phone.kit(wanted, page=beside) == []
    assert phone.kit(RUN)["state"] == "sent" and phone.kit(RUN)["state"] == "sent"
    assert "the report will not show it" in phone.kit(said, sha256)
    assert "the report will not show it" in phone.kit(said, sha256, page=beside)
    assert other.kit(BACK, job) == "sent"
    assert "the report will not show it" in other.kit(said, sha256), "who never sent it hears it too"
    phone.kit("async ({store}) => store.setWantedPhotos(['a'.repeat(64)])")
    is_told = "async () => (await (await window.kit).store.wantedPhotos()).size === 1"
    phone.wait_until(is_told, page=beside)
