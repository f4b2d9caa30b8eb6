"""A job that is taken from the server comes with its photos, or says what will be missing."""

import base64
import hashlib
import io
import random

import pytest
from PIL import Image
from relay import Relay
from server_process import ROOT, ServerProcess
from steps import button
from sync_phones import ADD_PHOTO
from test_screens import faults_of, show
from zygote import command

SAMPLE = ROOT / "sample_jobs" / "tidal_creek_drain"
SHOWN = """async () => {
  const faces = [...document.querySelectorAll('.photo-tile .photo-face')];
  await Promise.all(faces.map(async (face) => face.querySelector('img')?.decode().catch(() => {})));
  return [faces.length, faces.filter((face) => face.querySelector('img')?.naturalWidth > 0).length];
}"""
OF_JOB = "async (app, job) => app.sync.photos.ofJob(job)"


@pytest.fixture
def sample_server(tmp_path):
    """A server that holds one sample job with its photos."""
    server = ServerProcess(tmp_path / "data")
    command(["import", "--create", "--data", server.folder, SAMPLE], server.log)
    yield server.start()
    server.kill()


def job_of(phone):
    return phone.app("async (app) => { await app.sync.run(); return (await app.sync.others())[0].job_id; }")


def wait_for_photos(phone, job, wanted):
    """Until the photos of the job stand so: ``wanted`` are some values of what the screen is told."""
    return phone.app(
        """async (app, [job, wanted]) => {
          for (let i = 0; i < 600; i += 1) {
            const now = await app.sync.photos.ofJob(job);
            if (Object.entries(wanted).every(([name, value]) => now[name] === value)) return now;
            await new Promise((r) => setTimeout(r, 50));
          }
          throw new Error(`still ${JSON.stringify(await app.sync.photos.ofJob(job))}`);
        }""",
        [job, wanted],
    )


def noise(size):
    """A picture that cannot be packed smaller than this."""
    out = io.BytesIO()
    side = 512
    Image.frombytes("L", (side, side), random.Random(size).randbytes(side * side)).save(
        out, "JPEG", quality=95
    )
    return out.getvalue().ljust(size, b"\0")


def add_photo(phone, job, data):
    """Add a photo of these bytes."""
    phone.app(
        """async (app, [job, text]) => {
          const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
          await app.store.addPhoto(job, {bytes: bytes.buffer, media_type: 'image/jpeg', caption: 'big'});
        }""",
        [job, base64.b64encode(data).decode()],
    )


def test_the_photos_of_a_job_that_was_taken_are_there_with_the_server_dead(make_phone, sample_server):
    phone = make_phone(sample_server.url).open("/")
    phone.wait_for_worker()
    job = job_of(phone)
    button(phone.page, "Take onto this phone").click()
    total = len(list((SAMPLE / "photos").iterdir()))
    now = wait_for_photos(phone, job, {"here": total})
    assert now["total"] == total > 1 and now["plan"] == "none"
    sample_server.kill()
    phone.close()
    phone.open(f"/jobs/{job}/photos")
    phone.page.locator(".photo-tile").nth(total - 1).wait_for()
    assert phone.page.evaluate(SHOWN) == [total, total]
    assert phone.page.get_by_text("Not on this phone").count() == 0
    kept = phone.app(
        """async (app, job) => {
          const found = [];
          for (const { fields } of (await app.store.job(job)).records('photo')) {
            const row = await app.store.photo(fields.sha256);
            const hash = await crypto.subtle.digest('SHA-256', row.bytes);
            found.push([fields.sha256, [...new Uint8Array(hash)].map((b) => b.toString(16).padStart(2, '0')).join(''), Boolean(row.preview)]);
          }
          return found;
        }""",
        job,
    )
    assert all(name == hash_ and preview for name, hash_, preview in kept)
    assert phone.app("async (app) => (await app.store.outbox()).counts.photos") == 0


def test_a_photo_that_broke_off_goes_on_after_a_kill_and_nothing_is_sent_back(
    make_phone, visitor, live_server
):
    data = noise(3_000_000)
    first = visitor(live_server.url)
    first.goto("/")
    job = first.app("async (app) => app.store.save(app.newId(), 'job', null, {title: 'Dell Lane'})")
    add_photo(first, job, data)
    add_photo(first, job, noise(40_000))
    assert first.app("async (app) => app.sync.run()")["state"] == "sent"
    first.close()
    with Relay(live_server.port) as link:
        phone = make_phone(link.url, "second").open("/")
        phone.wait_for_worker()
        assert job_of(phone) == job
        link.slow(0.01, 300_000)
        phone.app("async (app, job) => { await app.sync.takeJob(job); }", job)
        show(phone, f"/jobs/{job}", {})
        phone.page.get_by_text("Fetching:").wait_for()
        assert faults_of(phone.page) == []
        come = "() => document.querySelector('main progress')?.value > 1_200_000"
        phone.page.wait_for_function(come, timeout=60_000)
        link.refuse()
        phone.kill()
        link.slow(0, 0)
        link.restore()
        link.reset_counts()
        phone.open(f"/jobs/{job}")
        assert wait_for_photos(phone, job, {"here": 2})["total"] == 2
        assert link.down < 2_300_000, "what had come did not come again"
        assert link.count("PUT") == 0, "nothing is sent back"
        name = hashlib.sha256(data).hexdigest()
        assert phone.app("async (app, sha) => (await app.store.photo(sha)).size_bytes", name) == len(data)
        phone.page.get_by_text("on this phone").wait_for(state="hidden")


def test_a_cut_is_said_and_it_goes_on_by_itself(make_phone, visitor, live_server):
    first = visitor(live_server.url)
    first.goto("/")
    job = first.app("async (app) => app.store.save(app.newId(), 'job', null, {title: 'Dell Lane'})")
    add_photo(first, job, noise(2_000_000))
    assert first.app("async (app) => app.sync.run()")["state"] == "sent"
    first.close()
    with Relay(live_server.port) as link:
        phone = make_phone(link.url, "second").open("/")
        phone.wait_for_worker()
        assert job_of(phone) == job
        link.slow(0.01, 300_000)
        phone.app("async (app, job) => { await app.sync.takeJob(job); }", job)
        show(phone, f"/jobs/{job}", {})
        phone.page.wait_for_function(
            "() => document.querySelector('main progress')?.value > 400_000", timeout=30_000
        )
        link.refuse()
        phone.page.get_by_text("The signal broke off. It goes on by itself.").wait_for()
        phone.page.get_by_text("0 of 1 photo on this phone").wait_for()
        link.slow(0, 0)
        link.restore()
        wait_for_photos(phone, job, {"here": 1})


def metered(phone):
    phone.page.evaluate(
        "() => Object.defineProperty(navigator, 'connection', {value: {type: 'cellular', saveData: false}, configurable: true})"
    )


def test_on_mobile_data_the_size_is_said_first_and_the_choice_holds(visitor, sample_server):
    phone = visitor(sample_server.url)
    phone.goto("/")
    job = job_of(phone)
    metered(phone)
    button(phone.page, "Take onto this phone").click()
    card = phone.page.locator(f"[data-photos-of='{job}']")
    card.get_by_text("This phone is on mobile data.").wait_for()
    total = len(list((SAMPLE / "photos").iterdir()))
    size = sum(p.stat().st_size for p in (SAMPLE / "photos").iterdir())
    assert f"Only on the server: {total} photos, {round(size / 1000)} kB." in card.inner_text().replace(
        "\n", " "
    )
    assert f"0 of {total} photos here" in phone.page.inner_text("main")
    assert faults_of(phone.page) == []
    button(card, "Leave them there").click()
    card.wait_for(state="hidden")
    show(phone, f"/jobs/{job}", {})
    phone.page.get_by_text(f"Left on the server: {total} photos").wait_for()
    assert phone.app(OF_JOB, job)["here"] == 0
    phone.app("async (app) => { await app.sync.run(); await app.sync.photos.run('button'); }")
    assert phone.app(OF_JOB, job)["here"] == 0, "left is left"
    phone.load_everything()
    sample_server.kill()
    show(phone, f"/jobs/{job}/photos", {})
    phone.page.locator(".photo-tile").nth(total - 1).wait_for()
    phone.page.locator(".photo-tile").get_by_text("Not on this phone").last.wait_for()
    assert phone.page.evaluate(SHOWN) == [total, 0]
    assert faults_of(phone.page) == []
    sample_server.start()
    button(phone.page, "Take the photos").click()
    wait_for_photos(phone, job, {"here": total})
    phone.page.wait_for_function(
        "(n) => document.querySelectorAll('.photo-tile img').length === n", arg=total
    )
    assert phone.page.evaluate(SHOWN) == [total, total]


def test_many_bytes_are_asked_about_on_any_link(visitor, live_server):
    first = visitor(live_server.url)
    first.goto("/")
    job = first.app("async (app) => app.store.save(app.newId(), 'job', null, {title: 'Dell Lane'})")
    first.app(f"async (app, given) => ({ADD_PHOTO})(app, given)", [job, 10_500_000])
    assert first.app("async (app) => app.sync.run()")["state"] == "sent"
    first.close()
    phone = visitor(live_server.url)
    phone.goto("/")
    assert job_of(phone) == job
    button(phone.page, "Take onto this phone").click()
    phone.page.get_by_text("Only on the server: 1 photo, 10.5 MB.").wait_for()
    button(phone.page, "Take the photos").click()
    wait_for_photos(phone, job, {"here": 1})


def test_a_phone_with_too_little_room_says_how_much_they_need(visitor, sample_server):
    phone = visitor(sample_server.url)
    phone.goto("/")
    job = job_of(phone)
    phone.page.evaluate("navigator.storage.estimate = async () => ({usage: 80_000_000, quota: 100_050_000})")
    phone.app("async (app, job) => { await app.sync.takeJob(job); await app.go(`/jobs/${job}`); }", job)
    phone.page.get_by_text("This phone has room for 50 kB, and the photos need").wait_for()
    assert phone.app(OF_JOB, job)["here"] == 0
    phone.page.evaluate("navigator.storage.estimate = async () => ({usage: 80_000_000, quota: 900_000_000})")
    button(phone.page, "Take the photos").click()
    wait_for_photos(phone, job, {"here": len(list((SAMPLE / "photos").iterdir()))})


def test_a_photo_that_only_another_phone_has_is_said_to_be_there(visitor, live_server):
    first = visitor(live_server.url)
    first.goto("/")
    job = first.app("async (app) => app.store.save(app.newId(), 'job', null, {title: 'Dell Lane'})")
    first.app(
        "async (app) => { await app.store.setSetting('photos_metered', 'wait'); app.sync.instruments.link = () => 'metered'; }"
    )
    first.app(f"async (app, given) => ({ADD_PHOTO})(app, given)", [job, 2000])
    assert first.app("async (app) => app.sync.run({by: 'timer'})")["waiting"] == 1
    phone = visitor(live_server.url)
    phone.goto("/")
    assert job_of(phone) == job
    phone.app("async (app, job) => { await app.sync.takeJob(job); await app.go(`/jobs/${job}`); }", job)
    phone.page.get_by_text("Not on the server yet: 1 photo. The phone that took a photo sends it.").wait_for()
    assert first.app("async (app) => app.sync.run()")["photos"] == 1
    phone.app("async (app) => app.sync.run()")
    wait_for_photos(phone, job, {"here": 1})
