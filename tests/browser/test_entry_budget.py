"""A phone makes nothing that no server takes, keeps what is already there, and holds odd names, in a real browser."""

from servers import entry
from sync_phones import NEW_JOB, RUN, TEXTS

from webapp.records.entry_budget import frame_of

LONG = 70_000


def test_what_is_too_large_is_refused_before_anything_is_lost(page_kit):
    one = page_kit
    found = one.kit(
        """async ({store, newId}, long) => {
          const job = newId();
          await store.save(job, 'job', null, {title: 'A'});
          let code;
          try { await store.save(job, 'remark', null, {text: 'x'.repeat(long)}); }
          catch (e) { code = `${e.code}/${e.name}`; }
          const between = Object.values(await store.vector(job));
          await store.save(job, 'remark', null, {text: 'short'});
          return {code, between, after: Object.values(await store.vector(job))};
        }""",
        LONG,
    )
    assert found == {"code": "entry_too_large/StoreError", "between": [1], "after": [2]}


def test_a_large_entry_that_is_there_is_kept_whole_told_and_holds_up_nothing(page_kit, kit, shared_server):
    one, two = page_kit, kit(shared_server.url)
    job = one.kit(NEW_JOB, 2)
    sent = [entry(job, "earlier-version", n, kind="remark", fields={"text": f"r{n}"}) for n in (1, 2, 3)]
    sent[1]["fields"]["text"] = "x" * LONG
    one.kit("async ({store}, [job, sent]) => store.take(job, sent)", [job, sent])
    first = one.kit(RUN)
    assert (first["state"], first["sent"], first["setAside"]) == ("sent", 6, 1)
    (row,) = one.kit("async ({store}) => (await store.outbox()).entries")
    assert (row["state"], row["code"], row["entry"]) == ("set_aside", "entry_too_large", sent[1])
    assert row["reasons"]["entry"][0].startswith("One entry may have 64 kB")
    assert one.kit(RUN)["sent"] == 0, "it is not tried again"
    held = {e["number"]: e for e in shared_server.entries(job) if e["writer"] == "earlier-version"}
    assert held == {1: sent[0], 2: frame_of(sent[1]), 3: sent[2]}
    assert two.kit("async ({sync}, job) => sync.takeJob(job)", job)["received"] == 6
    assert two.kit(TEXTS, job) == one.kit(TEXTS, job) == ["r0", "r1", "r1", "r3"]


def test_writers_of_odd_names_are_held_and_found_again(page_kit):
    one = page_kit
    job = one.kit(NEW_JOB, 1)
    names = ["__proto__", "constructor", "toString", "hasOwnProperty", "isPrototypeOf"]
    sent = [entry(job, name, n, kind="remark", fields={"text": name}) for name in names for n in (1, 2)]
    assert one.kit("async ({store}, [job, sent]) => store.take(job, sent)", [job, sent]) == 10
    one.bare()
    found = one.kit(
        """async ({store}, job) => {
          await store.setServerVector(job, await store.vector(job));
          const have = JSON.parse(JSON.stringify(await store.vector(job)));
          const beyond = await store.entriesBeyond({}, job, 100);
          const left = await store.entriesBeyond(await store.serverVector(job), job, 100);
          return {have: Object.entries(have), beyond: beyond.length, left: left.length};
        }""",
        job,
    )
    assert (found["beyond"], found["left"]) == (12, 0)
    assert {tuple(one) for one in found["have"]} >= {(name, 2) for name in names}


def test_a_job_of_20000_photos_takes_no_more(page_kit):
    one = page_kit
    found = one.kit(
        """async ({store, newId}) => {
          const job = newId();
          const changes = Array.from({length: 20000}, (_, n) => ({kind: 'photo', record_id: newId(),
            fields: {sha256: n.toString(16).padStart(64, '0'), size_bytes: 1, media_type: 'image/jpeg'}}));
          await store.addEntries(job, changes);
          const bytes = new Uint8Array([1, 2, 3]).buffer;
          return store.addPhoto(job, {bytes, media_type: 'image/jpeg'}).catch((error) => error.code);
        }"""
    )
    assert found == "too_many_photos"
