"""What each job takes on the phone, and photos that are let go and fetched again."""

import base64

from pictures import picture

NEW_JOB = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  return job;
}"""
ADD = """async (app, [job, text]) => {
  const bytes = Uint8Array.from(atob(text), (one) => one.charCodeAt(0)).buffer;
  return app.store.addPhoto(job, {bytes, media_type: 'image/jpeg', preview: bytes.slice(0), preview_type: 'image/jpeg', caption: 'Bend'});
}"""
HERE = "async (app, sha256) => [await app.store.hasPhoto(sha256), Boolean(await app.store.preview(sha256))]"
SYNC = "async (app) => (await app.sync.run()).state"


def add(phone, job, number):
    return phone.app(ADD, [job, base64.b64encode(picture(number)).decode()])


def room_of(phone):
    return phone.page.get_by_role("region", name="Dell Lane")


def test_photos_that_the_server_proves_go_by_a_tap_and_come_back_by_a_tap(visitor, live_server):
    phone = visitor(live_server.url)
    phone.goto("/")
    job = phone.app(NEW_JOB)
    photo = add(phone, job, 1)
    phone.goto("/settings")
    card = room_of(phone)
    card.get_by_text("1 photo here").wait_for()
    assert phone.app(SYNC) == "sent"
    phone.goto("/settings")
    card.get_by_text("2 entries, about").wait_for()
    assert phone.app(HERE, photo["sha256"]) == [True, False]
    card.get_by_role("button", name="Let 1 photo go").click()
    card.get_by_text("1 photo let go").wait_for()
    card.get_by_text("1 photo here").wait_for(state="detached")
    assert phone.app(HERE, photo["sha256"]) == [False, True]
    assert live_server.get(f"/media/photos/{photo['sha256']}") == picture(1)
    assert phone.app(SYNC) == "sent" and phone.app(HERE, photo["sha256"]) == [False, True], "left where it is"
    phone.goto(f"/jobs/{job}/photos")
    phone.page.wait_for_function("() => document.querySelector('.photos img[src^=blob]')?.naturalWidth > 0")
    phone.goto(f"/jobs/{job}/photos/{photo['record_id']}")
    phone.page.get_by_role("button", name="Fetch it onto this phone").click()
    phone.page.get_by_role("button", name="Fetch it onto this phone").wait_for(state="detached")
    assert phone.app(HERE, photo["sha256"]) == [True, False]


def test_a_photo_that_the_server_lost_or_holds_damaged_stays(visitor, live_server):
    phone = visitor(live_server.url)
    phone.goto("/")
    job = phone.app(NEW_JOB)
    whole, damaged = add(phone, job, 1), add(phone, job, 2)
    assert phone.app(SYNC) == "sent"
    [path] = live_server.folder.rglob(f"{damaged['sha256']}*")
    path.chmod(0o644)
    path.write_bytes(b"x" * path.stat().st_size)
    phone.goto("/settings")
    card = room_of(phone)
    card.get_by_role("button", name="Let 2 photos go").click()
    card.get_by_text("1 photo let go").wait_for()
    card.get_by_text("Kept here: 1 photo that the server could not prove").wait_for()
    assert phone.app(HERE, whole["sha256"]) == [False, True]
    assert phone.app(HERE, damaged["sha256"]) == [True, False]
    assert phone.app(SYNC) == "sent"
    assert live_server.get(f"/media/photos/{damaged['sha256']}") == picture(2), "asked for again, and sent"


def test_with_no_signal_nothing_goes(visitor, live_server):
    phone = visitor(live_server.url)
    phone.goto("/")
    job = phone.app(NEW_JOB)
    photo = add(phone, job, 1)
    assert phone.app(SYNC) == "sent"
    phone.goto("/settings")
    card = room_of(phone)
    key = card.get_by_role("button", name="Let 1 photo go")
    key.wait_for()
    phone.allowed.append("ERR_")
    live_server.kill()
    key.click()
    card.get_by_text("cannot be reached").wait_for()
    assert phone.app(HERE, photo["sha256"]) == [True, False]


def test_what_the_server_says_of_a_photo_stands_with_it(newcomer):
    phone = newcomer
    job = phone.app(NEW_JOB)
    no_picture = f"no picture at all, {job}".encode()  # the server says it to who sends it first
    photo = phone.app(ADD, [job, base64.b64encode(no_picture).decode()])
    words = phone.page.get_by_text("The photo is kept. It is not a JPEG")
    assert words.count() == 0
    assert phone.app(SYNC) == "sent"
    phone.goto(f"/jobs/{job}/photos/{photo['record_id']}")
    words.wait_for()
