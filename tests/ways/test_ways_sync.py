"""Ways of losing on the road: every cut, kill and second copy between the phones and the server.

Each test would go red if the guard named in the guide's table were taken away.
"""

import hashlib
import shutil

from click.testing import CliRunner
from sync_phones import ADD_PHOTO, NEW_JOB, RUN, TEXTS, photo_bytes

from webapp.cli import main

COUNTS = "async ({store}) => (await store.outbox()).counts"


def test_way_06_a_lost_answer_and_a_repeated_batch_change_nothing(kit, live_server, relay):
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


def test_way_07_two_photos_of_one_title_stay_two(kit, live_server, relay):
    one = kit(relay.url)
    one.allowed.append("status of 409")  # a piece that the browser itself sent twice
    job = one.kit(NEW_JOB, 0)
    shas = []
    for size in (1000, 1001):
        added = one.kit(ADD_PHOTO, [job, size])
        name = "async ({store}, [job, id]) => store.save(job, 'photo', id, {caption: 'MH1.jpg'})"
        one.kit(name, [job, added["record_id"]])
        shas.append(added["sha256"])
    relay.outage_s = 3
    relay.lose_answer("PUT", "/api/photos", how="outage")  # both are in this request
    assert one.kit(RUN)["state"] == "offline"
    assert relay.dropped == [("PUT", "/api/photos")]
    one.page.wait_for_timeout(3300)
    assert one.kit(RUN)["state"] == "sent"
    for sha, size in zip(shas, (1000, 1001), strict=True):
        assert live_server.get(f"/media/photos/{sha}") == photo_bytes(size)


def test_way_08_a_photo_goes_on_where_it_stopped(kit, live_server, relay):
    size = 2_600_000
    one = kit(relay.url)
    one.allowed.append("status of 409")  # a piece that the browser itself sent twice
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


def test_way_09_a_server_killed_between_the_pieces_keeps_the_first(kit, live_server, relay):
    size = 2_600_000
    one = kit(relay.url)
    one.allowed.append("status of 409")  # a piece that the browser itself sent twice
    job = one.kit(NEW_JOB, 1)
    sha = one.kit(ADD_PHOTO, [job, size])["sha256"]
    relay.outage_s = 3
    relay.lose_answer("PUT", "/api/photos/", how="outage")
    assert one.kit(RUN)["state"] == "offline"
    live_server.restart()  # kill -9; what starts anew also clears up
    CliRunner().invoke(main, ["check-data", "--data", str(live_server.folder)])
    one.page.wait_for_timeout(3300)
    relay.reset_counts()
    assert one.kit(RUN)["photos"] == 1
    assert relay.count("PUT") == 2, "the first piece is still there"
    assert hashlib.sha256(live_server.get(f"/media/photos/{sha}")).hexdigest() == sha


def test_way_10_a_record_without_its_photo_is_never_called_sent(kit, live_server):
    one = kit(live_server.url)
    job = one.kit(NEW_JOB, 0)
    one.kit(ADD_PHOTO, [job, 5000])
    one.context.route("**/api/photos**", lambda route: route.abort())
    assert one.kit(RUN)["state"] == "offline"
    assert len(live_server.entries(job)) == 2, "the record went"
    state = "async ({sync}) => [sync.status.state, sync.status.unsent, sync.status.photos_unsent]"
    assert one.kit(state) == ["unsent", 0, 1]
    one.context.unroute("**/api/photos**")
    one.kit("async ({store}) => store.setSetting('photos_metered', 'wait')")
    held = one.kit(
        "async ({sync}) => { sync.instruments.link = () => 'metered'; return sync.run({by: 'timer'}); }"
    )
    assert (held["state"], held["photos"], held["waiting"]) == ("sent", 0, 1)
    assert one.kit(state) == ["unsent", 0, 1], "photos that wait for a free link are not sent either"
    assert one.kit(RUN)["photos"] == 1, "a press of the key sends them"
    assert one.kit(state) == ["all_sent", 0, 0]


def test_way_12_both_edits_stand_until_one_tap_settles_it(page_kit, kit, shared_server):
    one, two = page_kit, kit(shared_server.url)
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


def test_way_16_two_tabs_have_one_runner(kit, live_server, relay):
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


def test_way_21_a_server_restored_from_an_older_backup_gets_what_it_lacks(kit, live_server, tmp_path):
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


HAND_OVER = """async ({store}, job) => {
  const { handOver } = await import('/static/js/files/handover_out.js');
  const { file } = await handOver({store}, job);
  const bytes = new Uint8Array(await file.arrayBuffer());
  return [file.name, Array.from(bytes)];
}"""
TAKE = """async ({store}, bytes) => {
  const { takeHandOver } = await import('/static/js/files/handover_in.js');
  try { return (await takeHandOver({store}, new Blob([Uint8Array.from(bytes)])))[0]; } catch (e) { return e.message; }
}"""
SHAPE = """async ({store}, job) => {
  const view = await store.job(job);
  return [await store.vector(job), view.records('remark').length, view.records('photo').length, view.conflicts().length];
}"""


def test_way_22_a_lost_phone_s_work_is_in_its_hand_over_file(kit, live_server, tmp_path):
    lost, other = kit(live_server.url), kit(live_server.url)
    job = lost.kit(NEW_JOB, 5)
    sha = lost.kit(ADD_PHOTO, [job, 3000])["sha256"]
    name, data = lost.kit(HAND_OVER, job)
    assert name == "dell-lane.fallbook.zip"
    taken = other.kit(TAKE, data)
    assert (taken["entries_new"], taken["photos_new"], taken["title"]) == (7, 1, "Dell Lane")
    assert other.kit(SHAPE, job) == lost.kit(SHAPE, job)
    again = other.kit(TAKE, data)
    assert (again["entries_new"], again["entries_here"], again["photos_here"]) == (0, 7, 1)
    for broken in (data[:-40], data[:200], [1, 2, 3], [*data[:400], data[400] ^ 1, *data[401:]]):
        assert "damaged" in third(other, broken) or "not a hand-over" in third(other, broken)
    live_server.kill()
    (tmp_path / name).write_bytes(bytes(data))
    printed = (
        CliRunner().invoke(main, ["import", str(tmp_path / name), "--data", str(live_server.folder)]).output
    )
    assert "7 entries new" in printed and "1 photo new" in printed
    live_server.start()
    for phone in (other, lost):  # the phone was in the other coat all along: nothing is there twice
        assert phone.kit(RUN)["state"] == "sent"
        assert phone.kit(COUNTS) == {"entries": 0, "photos": 0, "aside": 0}
    held = live_server.entries(job)
    assert len(held) == 7 == len({(e["writer"], e["number"]) for e in held})
    assert live_server.get(f"/media/photos/{sha}") == photo_bytes(3000)


def third(phone, data):
    """Take a damaged file; nothing of it comes in."""
    before = phone.kit("async ({store}) => (await store.jobs()).length")
    printed = phone.kit(TAKE, data)
    assert phone.kit("async ({store}) => (await store.jobs()).length") == before
    return printed


def test_way_23_a_copied_phone_never_goes_on_under_the_same_name(make_phone, live_server):
    one = make_phone(live_server.url, "one").open(None)
    one.bare()
    job = one.kit(NEW_JOB, 2)
    one.kit(RUN)
    one.kit("async ({store}, job) => store.save(job, 'remark', null, {text: 'not sent yet'})", job)
    one.close()
    two = make_phone(live_server.url, "two")
    shutil.rmtree(two.profile)
    shutil.copytree(one.profile, two.profile)
    for phone in (one, two):
        phone.open(None)
        phone.bare()
        phone.kit(
            "async ({store}, [job, text]) => store.save(job, 'remark', null, {text})",
            [job, phone.profile.name],
        )
    for phone in (one, two, one):
        assert phone.kit(RUN)["state"] == "sent"
    texts = ["not sent yet", "one", "r0", "r1", "two"]
    assert one.kit(TEXTS, job) == two.kit(TEXTS, job) == texts
    held = live_server.entries(job)
    assert len(held) == 6 == len({(e["writer"], e["number"]) for e in held})
    assert one.kit(COUNTS) == two.kit(COUNTS) == {"entries": 0, "photos": 0, "aside": 0}
