"""Handing a job over between phones by file, the log of attempts, photos that wait: what the screens say."""

import io
import json
import zipfile

from PIL import Image
from steps import button, new_job
from sync_phones import photo_bytes

GPS = 0x8825
SHARE = """
navigator.canShare = ({files}) => files[0].name.endsWith('.fallbook.zip');
navigator.share = async ({files}) => { window.shared = [files[0].name, files[0].size, files[0].type]; };
"""


def gps_picture():
    exif = Image.Exif()
    exif[0x0112], exif[GPS] = 1, {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}
    out = io.BytesIO()
    Image.effect_noise((60, 40), 90).convert("RGB").save(out, "JPEG", exif=exif)
    return out.getvalue()


def take_photo(page, data):
    page.get_by_label("From the gallery").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": data}
    )


STORED = """async (app, job) => {
  const [one] = (await app.store.job(job)).records('photo').slice(-1);
  return [one.fields.location_removed ?? null, Array.from(new Uint8Array((await app.store.photo(one.fields.sha256)).bytes))];
}"""


def test_a_job_goes_from_phone_to_phone_by_file(visitor, newcomer, shared_server, tmp_path):
    giver, taker = visitor(shared_server.url), newcomer
    giver.page.add_init_script(SHARE)
    giver.goto("/")
    page = giver.page
    giver.context.route("**/api/**", lambda route: route.abort())
    job = new_job(page, "Dell Lane")
    data = gps_picture()
    giver.goto(f"/jobs/{job}/photos/new")
    take_photo(page, data)
    page.get_by_text("Photo saved on this phone.").wait_for()
    removed, stored = giver.app(STORED, job)
    assert removed is True and len(stored) == len(data) and bytes(stored) != data
    assert GPS not in Image.open(io.BytesIO(bytes(stored))).getexif()
    giver.app("async (app, job) => app.store.save(job, 'job', job, {photo_location: true})", job)
    giver.goto(f"/jobs/{job}/photos/new")
    take_photo(page, data)
    page.get_by_text("Photo saved on this phone.").wait_for()
    assert giver.app(STORED, job) == [None, list(data)], "the job wants it: byte for byte"

    giver.goto(f"/jobs/{job}")
    page.get_by_role("link", name="Hand-over file").click()
    button(page, "Share it").click()
    page.get_by_text("Handed to the app that you chose.").wait_for()
    name, size, kind = page.evaluate("window.shared")
    assert (name, kind) == ("dell-lane.fallbook.zip", "application/zip") and size > 2 * len(data)
    with page.expect_download() as download:
        button(page, "Save it on this phone").click()
    download.value.save_as(tmp_path / name)
    with zipfile.ZipFile(tmp_path / name) as archive:
        assert archive.testzip() is None and len(archive.namelist()) == 3
        assert json.loads(archive.read("job.json"))["job_id"] == job

    taker.context.route("**/api/**", lambda route: route.abort())
    taker.page.get_by_label("Take a hand-over file").set_input_files(str(tmp_path / name))
    taker.page.get_by_text("Dell Lane: 4 changes new, 0 here already; 2 pictures new").wait_for()
    taker.page.get_by_label("Take a hand-over file").set_input_files(
        {"name": "x.zip", "mimeType": "application/zip", "buffer": b"PK\x03\x04 no"}
    )
    taker.page.get_by_text("This file is damaged or incomplete.").wait_for()
    taker.page.get_by_role("link", name="Dell Lane").click()
    taker.page.get_by_role("heading", name="Dell Lane").wait_for()
    assert taker.app(STORED, job) == [None, list(data)]


def test_the_outbox_tells_what_waits_and_what_was_tried(visitor, live_server):
    one = visitor(live_server.url)
    one.goto("/settings")
    page = one.page
    page.get_by_text("This browser does not tell which link it uses.").wait_for()
    button(page, "Wait for Wi-Fi").click()
    job = one.app(
        """async (app, bytes) => {
          const job = app.newId();
          await app.store.save(job, 'job', null, {title: 'Dell Lane'});
          await app.store.addPhoto(job, {bytes: Uint8Array.from(bytes).buffer, media_type: 'image/jpeg'});
          await app.sync.run({by: 'save'});
          return job;
        }""",
        list(photo_bytes(3000)),
    )
    assert len(live_server.entries(job)) == 2
    one.app("async (app) => app.go('/outbox')")
    page.get_by_text("Photos wait for a link that is not metered, as you set it.").wait_for()
    page.get_by_text("1 to send").first.wait_for()
    page.locator("summary", has_text="The last attempts").click()
    page.get_by_text("1 photo left waiting").wait_for()
    live_server.kill()
    button(page, "Sync now").click()
    page.get_by_text("The server was not reached.", exact=True).first.wait_for()
    live_server.start()
    button(page, "Sync now").click()
    page.get_by_text("3 kB up").first.wait_for()
    page.get_by_text("All sent").first.wait_for()
    assert page.get_by_text("Sync now was pressed").count() == 2
