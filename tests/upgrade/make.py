"""Make the fixtures of one version: a data folder as SQL with its photos, and a phone's database as JSON.

Run once for a version, from a checkout of it, and never again: the files are what that version left behind.

    PYTHONPATH=. python tests/upgrade/make.py OUT      # in that checkout, its tests folders on PYTHONPATH too
"""

import hashlib
import json
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import urllib.request
import zipfile
from pathlib import Path

import browser
import steps
from phone import Phone, Watched
from pictures import picture
from playwright.sync_api import sync_playwright
from server_process import ServerProcess

DUMP = (Path(__file__).parent / "dump.js").read_text(encoding="utf-8")
FILL = """async (app, [job, run]) => {
  const of = (kind, fields) => app.store.save(job, kind, null, { run_id: run, ...fields });
  const falling = (size) => ({ size, unit: 'one_in', sense: 'falling', typed: `1:${size}` });
  await of('stretch', { from_counter_m: 0, to_counter_m: 12, shape: 'circular', height_mm: 300 });
  await of('level_tie', { counter_m: 0, invert_level_m: 12.34, sd_m: 0.01, method: 'levelled' });
  const shot = await of('reading', { counter_m: 9.5, inclination: falling(95) });
  await app.store.remove(job, 'reading', shot);
  const gone = await of('remark', { text: 'Tide turned at noon.' });
  await app.store.save(job, 'check', null, { check_type: 'counter_tape', taped_length_m: 10, counter_from_m: 0, counter_to_m: 10.02 });
  return [gone, shot];
}"""
REST = """async (app, [job, run, missing]) => {
  await app.store.setSetting('install_dismissed', true);
  await app.store.setSetting(`culvert ${run}`, { stretch: '0', inlet: null, headwater_m: 0.4, tailwater_m: 0, length_m: 12 });
  await app.store.setPhotoWish(job, 'take');
  await app.store.setSetting('photos_metered', 'wait');
  const [first] = missing;
  await app.store.addPhotoPart({ sha256: first.sha256, offset: 0, bytes: new Uint8Array(first.bytes).buffer });
}"""
SEEN = (Path(__file__).parent / "seen.js").read_text(encoding="utf-8")


def record(phone, page):
    """What a surveyor does by the screens; returns the ids of job and run."""
    phone.goto("/settings")
    page.get_by_label("Surveyor").fill("A. Nyone")
    page.get_by_role("button", name="Night").click()
    phone.goto("/")
    job = steps.new_job(page, "Culvert under Nowhere Lane")
    run = steps.new_run(page, "R1", "Outfall A")
    steps.link_or_button(page, "Reading").click()
    steps.reading_by_pad(page, "0.5", "80", "Falling", "1 in N")
    steps.reading_by_pad(page, "3.5", "1.25", "Falling", "Percent")
    steps.reading_by_pad(page, "6.5", "0.7", "Rising", "Degrees")
    steps.reading_beyond(page, "11.5", "Falling", last="Save reading")
    steps.observation(page, "2.0", "roots", "BBA", clock=(10, 2), photo=1)
    steps.observation(page, "4.0", "crack", "BAB", clock=(12,), part="Start of something continuous")
    steps.observation(page, "9.0", "crack", "BAB", part="Finish")
    return job, run


def sync(one):
    one.app("async (app) => app.sync.run()")


def make(out, playwright, folder):
    server = ServerProcess(folder / "data").start()
    profile = folder / "profile"
    profile.mkdir()
    phone = Phone(playwright, browser.find(), profile, server.url).open("/")
    page = phone.page
    job, run = record(phone, page)
    gone, _ = phone.app(FILL, [job, run])
    sync(phone)
    second = Watched(server.url)
    second.watch(
        playwright.chromium.launch(executable_path=browser.find()).new_context(service_workers="block")
    )
    second.goto("/")
    second.app("async (app, job) => { await app.store.follow(job); await app.sync.run(); }", job)
    both = (phone, "By the first phone"), (second, "By the second phone")
    for one, words in both:
        one.app(
            "async (app, [job, client]) => app.store.save(job, 'job', job, {client_reference: client})",
            [job, words],
        )
    second.app("async (app, [job, id]) => app.store.remove(job, 'remark', id)", [job, gone])
    more = picture(7)
    second.app(
        "async (app, [job, run, bytes]) => app.store.addPhoto(job, {bytes: new Uint8Array(bytes).buffer, media_type: 'image/jpeg', run_id: run, caption: 'From the bank'})",
        [job, run, list(more)],
    )
    sync(second)
    half = [{"sha256": hashlib.sha256(more).hexdigest(), "bytes": list(more[: len(more) // 2])}]
    bad = "async (app, [job, run]) => app.store.addEntries(job, ['deep', 'deeper'].map((m) => ({kind: 'reading', record_id: app.newId(), fields: {run_id: run, counter_m: m}})))"
    phone.app(bad, [job, run])
    sync(phone)
    phone.app(
        "async (app, job) => { const {entries} = await app.store.outbox(); const {entry} = entries.find((one) => one.state === 'set_aside'); await app.store.dismissAside(job, `${entry.writer}:${entry.number}`); }",
        job,
    )
    taken = server.entries(job)[0]
    server.exchange(entries=[{**taken, "fields": {"title": "Another of the same name"}}])
    phone.goto(f"/jobs/{job}")
    begin_photo(server, picture(3))
    server.kill()
    phone.app(REST, [job, run, half])
    # With no signal: what is not on the server, and two forms half filled.
    phone.app(
        "async (app, [job, run]) => app.store.save(job, 'remark', null, {run_id: run, text: 'Kept on the phone only.'})",
        [job, run],
    )
    phone.app(
        "async (app, [job, run, bytes]) => app.store.addPhoto(job, {bytes: new Uint8Array(bytes).buffer, media_type: 'image/jpeg', run_id: run, counter_m: 2, caption: 'Unsent'})",
        [job, run, list(picture(3))],
    )
    only = steps_new(phone, page)
    page.evaluate(
        "(path) => import('/static/js/main.js').then(({app}) => app.go(path))",
        f"/jobs/{job}/runs/{run}/readings/new",
    )
    steps.field(page, "Counter reading").fill("12.75")
    steps.field(page, "Inclination").fill("1.1")
    page.wait_for_timeout(500)
    page.evaluate(
        "(path) => import('/static/js/main.js').then(({app}) => app.go(path))",
        f"/jobs/{job}/runs/{run}/observations/new",
    )
    steps.field(page, "Counter reading").fill("7.2")
    page.wait_for_timeout(500)
    seen = phone.app(SEEN)
    dump = phone.app(f"async () => ({DUMP})('fallbook')")
    write(out / "phone.json", {**dump, "job": job, "run": run, "only_here": only, "seen": seen})
    phone.close()
    second.close()
    folder_files(out, folder / "data", job)


def begin_photo(server, bytes_):
    """A first piece of a photo came to the server before the signal went."""
    url = f"{server.url}/api/photos/{hashlib.sha256(bytes_).hexdigest()}"
    size = {"Upload-Offset": "0", "Upload-Length": str(len(bytes_)), "Content-Type": "image/jpeg"}
    with urllib.request.urlopen(urllib.request.Request(url, bytes_[:3000], size, method="PUT")) as answer:
        assert answer.status == 200


def steps_new(phone, page):
    return phone.app(
        "async (app) => app.store.save(app.newId(), 'job', null, {title: 'Made with no signal', client_reference: 'Nobody & Sons'})"
    )


def fallbook(*words):
    done = subprocess.run([sys.executable, "-m", "webapp", *words], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


def folder_files(out, data, job):
    """The data folder as it lies there, and what the version's own commands say of it."""
    own = ["--data", str(data)]
    token = re.search(
        r"fallbook_[\w-]+",
        fallbook("credential", "add", "--name", "Office script", "--no-expiry", "--role", "surveyor", *own),
    )[0]
    fallbook("invite", "--name", "Second phone", "--url", "https://fallbook.example", *own)
    fallbook("link", "add", job, "--name", "A client", "--url", "https://fallbook.example", *own)
    fallbook("export", job, "-o", str(out / "job.json"), *own)
    write(out / "pack.json", packed(job, data.parent / "pack.zip", own, out))
    connection = sqlite3.connect(data / "fallbook.sqlite")
    (out / "data.sql").write_text("\n".join(connection.iterdump()) + "\n", encoding="utf-8")
    for path in (data / "photos").rglob("*"):
        if path.is_file():
            to = out / "photos" / path.relative_to(data / "photos")
            to.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, to)
    write(out / "made.json", {"token": token, "job": job})


def packed(job, path, own, out):
    """Keep the tables of the pack; return the SHA-256 of each other file that must come out the same."""
    fallbook("pack", job, "-o", str(path), *own)
    with zipfile.ZipFile(path) as pack:
        tables = [name for name in pack.namelist() if name.endswith(".csv")]
        for name in tables:
            (out / name).write_bytes(pack.read(name))
        left_out = ("report.pdf", "manifest.json", *tables)
        names = [name for name in pack.namelist() if name not in left_out]
        return {name: hashlib.sha256(pack.read(name)).hexdigest() for name in names}


def write(path, value):
    path.write_text(json.dumps(value, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    OUT = Path(sys.argv[1])
    OUT.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as p, tempfile.TemporaryDirectory() as scratch:
        make(OUT, p, Path(scratch))
