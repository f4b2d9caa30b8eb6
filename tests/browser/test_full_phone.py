"""A phone with not one byte free: what was recorded on it goes to the server all the same."""

import pytest
from sync_phones import ADD_PHOTO, NEW_JOB, RUN, TEXTS, photo_bytes

OUTBOX = "async ({store}) => (await store.outbox()).counts"
FILL = """async ({store}) => {
  let n = 0;
  for (const size of [600_000, 60_000, 6_000, 600, 60, 1]) {
    for (let left = 400; left > 0; left -= 1) {
      const junk = crypto.getRandomValues(new Uint8Array(Math.min(size, 60_000)));
      const rows = Array.from({length: Math.ceil(size / 60_000)}, () => junk.slice());
      const code = await store.setSetting(`junk:${n}`, rows).then(() => '', (error) => error.code);
      if (code) break;
      n += 1;
    }
  }
  return store.setSetting('one', 1).then(() => '', (error) => error.code);
}"""
EMPTY = """async ({store}) => {
  await store.db.delete('meta', IDBKeyRange.bound('setting:junk:', 'setting:junk:~'));
  await store.setSetting('one', 1);
}"""
ALL_SENT = {"entries": 0, "photos": 0, "aside": 0}
WRONG = """async ({store, newId}, job) => {
  await store.addEntries(job, [{kind: 'remark', record_id: newId(), fields: {text: 7}}]);
  return store.addEntries(job, Array.from({length: 3}, (_, i) => ({kind: 'remark', record_id: newId(), fields: {text: `after ${i}`}})));
}"""


@pytest.fixture
def small_phone(make_phone, live_server):
    """A phone without screens that has room for a few megabytes, by the browser's own limit."""
    one = make_phone(live_server.url).open(None)
    one.bare()
    session = one.context.new_cdp_session(one.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 4_000_000})
    return one


def fill(one):
    assert one.kit(FILL) == "storage_full", "not one byte is free"


def test_entries_and_photos_go_and_a_repeat_doubles_nothing(small_phone, live_server):
    one = small_phone
    job = one.kit(NEW_JOB, 30)
    sent = one.kit(ADD_PHOTO, [job, 300_000])
    fill(one)
    result = one.kit(RUN)
    assert (result["state"], result["sent"], result["photos"]) == ("sent", 32, 1), result
    assert len(live_server.entries(job)) == 32
    assert live_server.get(f"/media/photos/{sent['sha256']}") == photo_bytes(300_000)
    assert one.kit(OUTBOX) == ALL_SENT, "known as long as the app is open"
    one.page.reload()
    assert one.kit(OUTBOX)["entries"] == 32, "not noted, so it is not claimed"
    assert one.kit(RUN)["state"] == "sent"
    assert one.kit(OUTBOX) == ALL_SENT and len(live_server.entries(job)) == 32
    one.kit(EMPTY)
    one.kit(RUN)
    one.page.reload()
    assert one.kit(OUTBOX) == ALL_SENT, "written down once there is room"


def test_what_others_recorded_waits_and_holds_up_nothing(small_phone, kit, live_server):
    one, two = small_phone, kit(live_server.url)
    job = one.kit(NEW_JOB, 3)
    one.kit(RUN)
    two.kit("async ({sync}, job) => sync.takeJob(job)", job)
    two.kit("async ({store, newId}, job) => store.save(job, 'remark', newId(), {text: 'of two'})", job)
    two.kit(RUN)
    photo = one.kit(ADD_PHOTO, [job, 200_000])
    fill(one)
    result = one.kit(RUN)
    assert (result["state"], result["code"]) == ("failed", "no_room_to_receive")
    assert (result["sent"], result["photos"]) == (1, 1)
    assert live_server.get(f"/media/photos/{photo['sha256']}") == photo_bytes(200_000)
    assert "of two" not in one.kit(TEXTS, job) and one.kit(OUTBOX) == ALL_SENT
    one.kit(EMPTY)
    assert one.kit(RUN)["state"] == "sent"
    assert "of two" in one.kit(TEXTS, job)


def test_what_the_server_set_aside_is_told_once_there_is_room(small_phone, live_server):
    one = small_phone
    job = one.kit(NEW_JOB, 1)
    one.kit(WRONG, job)
    fill(one)
    assert one.kit(RUN)["code"] == "no_room_to_receive"
    assert len(live_server.entries(job)) == 6, "all of it went"
    assert one.kit(OUTBOX)["aside"] == 0
    one.kit(EMPTY)
    assert one.kit(RUN)["state"] == "sent"
    assert one.kit(OUTBOX) == ALL_SENT | {"aside": 1}
    assert len(live_server.entries(job)) == 6
