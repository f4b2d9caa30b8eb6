"""The exchange between real phones and a real server, through a link that fails on purpose."""

import json
import shutil

from servers import entry
from sync_phones import ADD_PHOTO, NEW_JOB, RUN, TEXTS, photo_bytes

from webapp.timesource import new_id


def test_push_pull_and_a_sync_of_nothing(page_kit, kit, shared_server):
    one, two = page_kit, kit(shared_server.url)
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
    assert [o["title"] for o in others if o["job_id"] == job] == ["Dell Lane"]
    assert two.kit("async ({sync}, job) => sync.takeJob(job)", job)["received"] == 31
    assert two.kit(TEXTS, job) == one.kit(TEXTS, job)
    again = one.kit(RUN)
    assert (again["sent"], again["received"]) == (0, 0)
    assert len(shared_server.entries(job)) == 31


def test_more_than_a_batch_goes_both_ways(page_kit, kit, shared_server):
    one, two = page_kit, kit(shared_server.url)
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


def test_small_photos_travel_together_and_outlive_every_cut(kit, live_server, relay):
    one = kit(relay.url)
    one.allowed.append("status of 409")  # a piece that the browser itself sent twice
    job, sizes = one.kit(NEW_JOB, 0), {}

    def take(first):
        for size in range(first, first + 8):
            sizes[one.kit(ADD_PHOTO, [job, size])["sha256"]] = size

    take(200_000)
    assert one.kit(RUN)["photos"] == 8
    assert relay.by_path()["PUT /api/photos"] == 2 == relay.count("PUT"), "five in a megabyte, then three"
    relay.outage_s = 600

    def broken_then_sent(first, dropped):
        """Return how many a run that breaks off leaves, and how many the next sends, each by itself."""
        take(first)
        relay.reset_counts()
        broken = one.kit(RUN)
        assert relay.dropped == [("PUT", "/api/photos")] * dropped
        relay.mode = "pass"
        one.context.unroute("**/api/photos")
        relay.reset_counts()
        left = one.kit("async ({store}) => (await store.outbox()).counts.photos")
        assert (broken["state"], left) == ("offline", 8 - broken["photos"])
        last = one.kit(RUN)
        assert last["state"] == "sent" and relay.by_path().get("PUT /api/photos", 0) == 0
        return left, last["photos"]

    one.context.route("**/api/photos", lambda route: route.abort())
    assert broken_then_sent(210_000, 0) == (8, 8), "cut before it began"
    relay.cut_request("PUT", "/api/photos ", 500_000)
    left, sent = broken_then_sent(220_000, 1)
    assert left == sent
    relay.lose_answer("PUT", "/api/photos ", how="outage")
    left, sent = broken_then_sent(230_000, 1)
    assert sent <= left - 2, "of the lost answer the server has them all"
    assert one.kit("async ({sync}) => sync.status.state") == "all_sent"
    for sha, size in sizes.items():
        assert live_server.get(f"/media/photos/{sha}") == photo_bytes(size)
    assert len(list((live_server.folder / "photos").rglob("?" * 64))) == 32


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


def test_a_sign_in_page_of_a_network_is_not_taken_for_the_server(page_kit):
    one = page_kit
    one.kit(NEW_JOB, 2)
    one.context.route(
        "**/api/sync", lambda r: r.fulfill(status=200, content_type="text/html", body="<p>Sign in</p>")
    )
    result = one.kit(RUN)
    assert (result["state"], result["code"]) == ("failed", "not_the_server")
    assert one.kit("async ({store}) => (await store.outbox()).counts.entries") == 3
    one.context.unroute("**/api/sync")
    assert one.kit(RUN)["sent"] == 3


def test_a_batch_too_large_is_halved_at_once(page_kit, shared_server):
    one = page_kit
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
    assert len(shared_server.entries(job)) == 901


MANY = 1500  # writers of the job, and other jobs on the server


def fill(server, job):
    """Let many openings write to a job, and give the server many other jobs."""
    more = [entry(job, f"writer-{n:06d}", 1, "remark", {"text": "x"}) for n in range(MANY)]
    more += [
        entry(new_id(), "writer-of-jobs", 1, "job", {"title": f"Job {n}", "site": "A lane"})
        for n in range(MANY)
    ]
    assert all(fate[1] == "kept" for fate in server.exchange(entries=more)["fates"])


def test_one_entry_among_many_writers_and_jobs_takes_few_bytes(kit, live_server, relay):
    one, two = kit(relay.url), kit(live_server.url)
    job = one.kit(NEW_JOB, 3)
    one.kit(RUN)
    fill(live_server, job)
    assert one.kit(RUN)["received"] == MANY
    assert len(one.kit("async ({sync}) => sync.others()")) == MANY
    two.kit("async ({sync}, job) => sync.takeJob(job)", job)
    for number in (1, 2):
        one.kit("async ({store, newId}, job) => store.save(job, 'remark', null, {text: 'more'})", job)
        relay.reset_counts()
        assert one.kit(RUN)["sent"] == 1
        assert relay.by_path() == {"POST /api/sync": 1}
        assert relay.up < 3000 and relay.down < 3000, "heads of HTTP included"
        assert two.kit(RUN)["received"] == 1, number
    assert len(one.kit("async ({sync}) => sync.others()")) == MANY
    one.bare()
    one.kit("async ({store}) => store.deviceId")  # the modules are loaded
    relay.reset_counts()
    one.kit(RUN)
    assert relay.up + relay.down < 5000, "what was agreed is kept on the disk"
    assert (
        one.kit("async ({store}, job) => Object.keys(await store.serverVector(job)).length", job) == MANY + 1
    )


def test_a_vector_that_an_earlier_version_wrote_goes_before_the_stamp(page_kit, shared_server):
    """One that was open meanwhile writes the vector alone: then the whole is asked for again."""
    one = page_kit
    job = one.kit(NEW_JOB, 3)
    one.kit(RUN)
    one.kit("async ({store, newId}, job) => store.save(job, 'remark', null, {text: 'more'})", job)
    one.kit(RUN)
    state = "async ({store}, job) => [await store.serverStamp(job), await store.serverVector(job)]"
    stamp, held = one.kit(state, job)
    (writer,) = held
    assert stamp and held == {writer: 5}
    one.kit("async ({store}, [job, have]) => store.db.put('meta', have, `server:${job}`)", [job, {writer: 2}])
    one.bare()
    assert one.kit(state, job) == [None, {writer: 2}]
    assert one.kit(RUN)["state"] == "sent"
    stamp, held = one.kit(state, job)
    assert stamp and held == {writer: 5}
    assert len(shared_server.entries(job)) == 5


def test_a_server_that_lost_everything_gets_it_again(kit, live_server):
    one = kit(live_server.url)
    job = one.kit(NEW_JOB, 20)
    one.kit(RUN)
    live_server.kill()
    for path in live_server.folder.iterdir():
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    live_server.start()
    one.kit("async ({store, newId}, job) => store.save(job, 'remark', null, {text: 'more'})", job)
    assert one.kit(RUN)["state"] == "sent"
    assert len(live_server.entries(job)) == 22
