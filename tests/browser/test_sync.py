"""The exchange between real phones and a real server, through a link that fails on purpose."""

import hashlib
import json

import pytest
from relay import Relay

NEW_JOB = """async ({store, newId}, count) => {
  const job = newId();
  await store.save(job, 'job', null, {title: 'Dell Lane'});
  const changes = Array.from({length: count}, (_, i) => ({kind: 'remark', record_id: newId(), fields: {text: `r${i}`}}));
  await store.addEntries(job, changes);
  return job;
}"""
RUN = "async ({sync}) => sync.run()"
TEXTS = "async ({store}, job) => (await store.job(job)).records('remark').map((r) => r.fields.text).sort()"


@pytest.fixture
def kit(visitor):
    """Make a phone without screens, on the app's own store and sync."""

    def make(url):
        one = visitor(url)
        one.bare()
        return one

    return make


@pytest.fixture
def relay(live_server):
    with Relay(live_server.port) as one:
        yield one


def test_push_pull_and_a_sync_of_nothing(kit, live_server):
    one, two = kit(live_server.url), kit(live_server.url)
    job = one.kit(NEW_JOB, 30)
    first = one.kit(RUN)
    assert (first["state"], first["sent"], first["received"], first["setAside"]) == ("sent", 31, 0, 0)
    assert one.kit("async ({store}) => (await store.outbox()).counts") == {
        "entries": 0,
        "photos": 0,
        "aside": 0,
    }
    assert one.kit("async ({sync}) => sync.status.state") == "all_sent"
    two.kit(RUN)
    others = two.kit("async ({sync}) => sync.others()")
    assert [(o["job_id"], o["title"]) for o in others] == [(job, "Dell Lane")]
    assert two.kit("async ({sync}, job) => sync.takeJob(job)", job)["received"] == 31
    assert two.kit(TEXTS, job) == one.kit(TEXTS, job)
    again = one.kit(RUN)
    assert (again["sent"], again["received"]) == (0, 0)
    assert len(live_server.entries(job)) == 31


def test_more_than_a_batch_goes_both_ways(kit, live_server):
    one, two = kit(live_server.url), kit(live_server.url)
    job = one.kit(NEW_JOB, 2300)
    assert one.kit(RUN)["sent"] == 2301
    assert two.kit("async ({sync}, job) => sync.takeJob(job)", job)["received"] == 2301


def test_a_sync_of_nothing_is_one_small_request(kit, live_server, relay):
    one = kit(relay.url)
    one.kit(NEW_JOB, 500)
    one.kit(RUN)
    relay.reset_counts()
    one.kit(RUN)
    assert relay.by_path() == {"POST /api/sync": 1}
    assert relay.up + relay.down < 3000


def test_a_lost_answer_and_a_repeated_batch_change_nothing(kit, live_server, relay):
    one = kit(relay.url)
    job = one.kit(NEW_JOB, 40)
    relay.outage_s = 3
    relay.lose_answer("POST", "/api/sync", how="outage")
    lost = one.kit(RUN)
    assert lost["state"] == "offline"
    assert relay.dropped == [("POST", "/api/sync")]
    assert one.kit("async ({store}) => (await store.outbox()).counts.entries") == 41
    one.page.wait_for_timeout(3300)
    assert one.kit(RUN)["state"] == "sent"
    held = live_server.entries(job)
    assert len(held) == 41 == len({(e["writer"], e["number"]) for e in held})


def test_an_answer_cut_in_half(kit, live_server, relay):
    one, two = kit(relay.url), kit(live_server.url)
    job = two.kit(NEW_JOB, 300)
    two.kit(RUN)
    relay.lose_answer("POST", "/api/sync", how="half")
    assert one.kit("async ({sync}, job) => sync.takeJob(job)", job)["state"] == "offline"
    assert one.kit(RUN)["state"] == "sent"
    assert one.kit(TEXTS, job) == two.kit(TEXTS, job)


def test_a_server_that_dies_and_comes_back(kit, live_server):
    one = kit(live_server.url)
    job = one.kit(NEW_JOB, 5)
    live_server.kill()
    result = one.kit(RUN)
    assert (result["state"], result["code"]) == ("offline", "offline")
    assert one.kit("async ({sync}) => [sync.status.state, sync.status.unsent]") == ["unsent", 6]
    live_server.start()
    assert one.kit(RUN)["sent"] == 6
    assert len(live_server.entries(job)) == 6


def test_a_server_restored_from_an_older_backup_gets_what_it_lacks(kit, live_server, tmp_path):
    import shutil

    one = kit(live_server.url)
    job = one.kit(NEW_JOB, 3)
    one.kit(RUN)
    live_server.kill()
    shutil.copytree(live_server.folder, tmp_path / "backup")
    live_server.start()
    one.kit("async ({store}, job) => store.save(job, 'remark', null, {text: 'late'})", job)
    assert one.kit(RUN)["sent"] == 1
    live_server.kill()
    shutil.rmtree(live_server.folder)
    shutil.copytree(tmp_path / "backup", live_server.folder)
    live_server.start()
    assert len(live_server.entries(job)) == 4
    assert one.kit(RUN)["sent"] == 1
    assert len(live_server.entries(job)) == 5


def test_what_the_server_refuses_is_marked_with_its_reason(kit, live_server):
    one, two = kit(live_server.url), kit(live_server.url)
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


def test_both_edit_one_field_and_one_tap_settles_it(kit, live_server):
    one, two = kit(live_server.url), kit(live_server.url)
    job = one.kit(NEW_JOB, 0)
    one.kit(RUN)
    two.kit("async ({sync}, job) => sync.takeJob(job)", job)
    for phone, title in ((one, "From one"), (two, "From two")):
        phone.kit(f"async ({{store}}, job) => store.save(job, 'job', job, {{title: '{title}'}})", job)
    for phone in (one, two, one):
        phone.kit(RUN)
    conflicts = "async ({store}, job) => (await store.job(job)).conflicts().map((c) => c.values.map((v) => v[1]).sort())"
    assert one.kit(conflicts, job) == two.kit(conflicts, job) == [["From one", "From two"]]
    two.kit("async ({store}, job) => store.settle(job, 'job', job, 'title', 'From one')", job)
    for phone in (two, one):
        phone.kit(RUN)
    for phone in (one, two):
        assert phone.kit(conflicts, job) == []
        assert phone.kit("async ({store}, job) => (await store.job(job)).job.fields.title", job) == "From one"


ADD_PHOTO = """async ({store}, [job, size]) => {
  const bytes = new Uint8Array(size);
  for (let i = 0; i < size; i += 1) bytes[i] = (i * 31 + (i >> 8)) & 255;
  return store.addPhoto(job, {bytes: bytes.buffer, media_type: 'image/jpeg'});
}"""


def photo_bytes(size):
    return bytes((i * 31 + (i >> 8)) & 255 for i in range(size))


def test_a_photo_goes_in_pieces_and_goes_on_where_it_stopped(kit, live_server, relay):
    size = 2_600_000
    one = kit(relay.url)
    job = one.kit(NEW_JOB, 0)
    sha = one.kit(ADD_PHOTO, [job, size])["sha256"]
    relay.outage_s = 3
    relay.lose_answer("PUT", "/api/photos/", how="outage")  # the first piece is on disk, its answer is lost
    assert one.kit(RUN)["state"] == "offline"
    assert one.kit("async ({store}) => (await store.outbox()).counts.photos") == 1
    one.page.wait_for_timeout(3300)
    relay.reset_counts()
    result = one.kit(RUN)
    assert (result["state"], result["photos"]) == ("sent", 1)
    assert relay.count("PUT") == 2, "the first piece is not sent again"
    kept = live_server.get(f"/media/photos/{sha}")
    assert kept == photo_bytes(size) and hashlib.sha256(kept).hexdigest() == sha
    assert one.kit("async ({store}) => (await store.outbox()).counts.photos") == 0
    assert one.kit("async ({store}, sha) => store.hasPhoto(sha)", sha), "the phone keeps its copy"


def test_a_photo_damaged_on_the_phone_is_refused_and_the_next_one_goes(kit, live_server):
    one = kit(live_server.url)
    one.allowed.append("status of 422")
    job = one.kit(NEW_JOB, 0)
    bad = one.kit(ADD_PHOTO, [job, 1000])["sha256"]
    good = one.kit(ADD_PHOTO, [job, 2000])["sha256"]
    one.kit(
        """async ({store}, sha) => {
          const row = await store.photo(sha);
          new Uint8Array(row.bytes)[5] ^= 1;
          await store.db.put('photos', row);
        }""",
        bad,
    )
    result = one.kit(RUN)
    assert (result["state"], result["code"], result["photos"]) == ("failed", "photo_hash_mismatch", 1)
    assert live_server.get(f"/media/photos/{good}") == photo_bytes(2000)
    assert one.kit("async ({store}) => (await store.outbox()).counts.photos") == 1
    assert one.kit("async ({sync}) => sync.status.state") == "failed"


def test_two_tabs_have_one_runner(kit, live_server, relay):
    one = kit(relay.url)
    job = one.kit(NEW_JOB, 20)
    second = one.context.new_page()
    one.bare(second)
    one.kit("async ({store}) => store.jobs()", page=second)
    relay.reset_counts()
    relay.slow(0.3, 1e6)
    one.kit("async ({sync}) => { window.first = sync.run(); }")
    assert one.kit(RUN, page=second)["state"] == "busy"
    assert one.kit("async () => window.first")["sent"] == 21
    assert relay.by_path()["POST /api/sync"] == 1
    assert len(live_server.entries(job)) == 21


def test_what_is_saved_during_a_run_goes_with_the_next(kit, live_server, relay):
    one = kit(relay.url)
    job = one.kit(NEW_JOB, 3)
    relay.slow(0.2, 1e6)
    sent = one.kit(
        """async ({store, sync}, job) => {
          const first = sync.run();
          await new Promise((r) => setTimeout(r, 250));
          await store.save(job, 'remark', null, {text: 'meanwhile'});
          const second = await sync.run();
          return (await first).sent + second.sent;
        }""",
        job,
    )
    assert sent == 5
    assert len(live_server.entries(job)) == 5


def test_a_sign_in_page_of_a_network_is_not_taken_for_the_server(kit, live_server):
    one = kit(live_server.url)
    one.kit(NEW_JOB, 2)
    one.context.route(
        "**/api/sync", lambda r: r.fulfill(status=200, content_type="text/html", body="<p>Sign in</p>")
    )
    result = one.kit(RUN)
    assert (result["state"], result["code"]) == ("failed", "not_the_server")
    assert one.kit("async ({store}) => (await store.outbox()).counts.entries") == 3
    one.context.unroute("**/api/sync")
    assert one.kit(RUN)["sent"] == 3


def test_a_batch_too_large_is_halved_at_once(kit, live_server):
    one = kit(live_server.url)
    one.allowed.append("status of 413")
    job = one.kit(NEW_JOB, 900)
    refused = json.dumps(
        {
            "ok": False,
            "status": 413,
            "retry": False,
            "errors": [{"code": "body_too_large", "message": "Too large."}],
        }
    )
    seen = []

    def answer(route):
        seen.append(len(route.request.post_data_buffer))
        if len(seen) == 1:
            return route.fulfill(status=413, content_type="application/json", body=refused)
        return route.continue_()

    one.context.route("**/api/sync", answer)
    result = one.kit(RUN)
    assert (result["state"], result["sent"]) == ("sent", 901)
    assert seen[1] < seen[0]
    assert len(live_server.entries(job)) == 901
