"""What a surveyor does, by the accessible names of the controls."""

import re

from pictures import picture


def button(page, name, exact=True):
    return page.get_by_role("button", name=name, exact=exact)


def link_or_button(page, name):
    return page.get_by_role("link", name=name, exact=True).or_(button(page, name)).first


def becomes(page, look, wanted, within_s=10):
    """Look until it is as wanted, where nothing on the screen tells; return what was seen last."""
    for _ in range(within_s * 50):
        if (found := look()) == wanted:
            break
        page.wait_for_timeout(20)
    return found


def field(page, name):
    return page.get_by_role("textbox", name=name, exact=True)


def new_job(page, title):
    """Make a job from the list of jobs; return its id."""
    link_or_button(page, "New job").click()
    page.get_by_label("Job title").fill(title)
    button(page, "Save job").click()
    page.wait_for_url(re.compile(r"/jobs/[0-9a-f-]{36}$"))
    return page.url.rsplit("/", 1)[1]


def new_run(page, reference, start_node):
    """Make a run with a new start node from the job's page; return its id."""
    link_or_button(page, "Add run").click()
    page.get_by_label("Run reference").fill(reference)
    page.get_by_label("Start node", exact=False).first.select_option(label="Add a new node…")
    page.get_by_label("Start node: reference").fill(start_node)
    page.get_by_role("radio", name="With the flow (downstream)").check(force=True)
    button(page, "Save run").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    return page.url.rsplit("/", 1)[1]


def tap(page, text):
    """Type on the number pad."""
    for key in text:
        button(page, "Decimal point" if key == "." else key).click()


def saved_count(page, kind):
    return page.evaluate(
        """async (kind) => {
          const { app } = await import('/static/js/main.js');
          const view = await app.store.job(location.pathname.split('/')[2]);
          return view.records(kind).length;
        }""",
        kind,
    )


def reading_by_pad(page, counter, size, sense, unit, last="Save and next"):
    """Fill the reading form by taps alone and save it."""
    field(page, "Counter reading").click()
    tap(page, counter)
    button(page, unit).click()
    button(page, sense).click()
    field(page, "Inclination").click()
    tap(page, size)
    save_reading(page, last)


def reading_typed(page, counter, size, last="Save and next"):
    """Fill the reading form by the keyboard; the sense is that of the reading before."""
    field(page, "Counter reading").fill(counter)
    field(page, "Inclination").fill(size)
    save_reading(page, last)


def reading_beyond(page, counter, sense, last="Save and next"):
    """A reading of which the instrument only says that it is beyond its range."""
    field(page, "Counter reading").fill(counter)
    button(page, sense).click()
    button(page, "Beyond range").click()
    save_reading(page, last)


def save_reading(page, last):
    """Press the key and wait until the reading is on the phone and the next screen is there."""
    before = saved_count(page, "reading")
    button(page, last).click()
    for _ in range(200):
        if saved_count(page, "reading") == before + 1:
            break
        page.wait_for_timeout(20)
    else:
        raise AssertionError(f"not saved: {page.inner_text('main')}")
    if last == "Save and next":
        page.wait_for_function("() => document.querySelector('input[name=counter]')?.value === ''")
    else:
        page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))


def observation(page, counter, words, code, *, clock=(), part="", photo=None):
    """Record one observation from the log of a run, and come back to the log."""
    link_or_button(page, "Observation").click()
    field(page, "Counter reading").fill(counter)
    page.get_by_role("searchbox", name="Find a code").fill(words)
    page.get_by_role("button", name=re.compile(f"^{code}")).first.click()
    for group, hour in zip(("Clock from", "Clock to"), clock, strict=False):
        page.get_by_role("group", name=group).get_by_role("radio", name=str(hour), exact=True).check(
            force=True
        )
    if part:
        button(page, part).click()
    if photo is not None:
        page.get_by_label("From the gallery").set_input_files(
            {"name": f"p{photo}.jpg", "mimeType": "image/jpeg", "buffer": picture(photo)}
        )
        page.get_by_text("Photo saved on this phone.").wait_for()
    button(page, "Save observation").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    link_or_button(page, "Observation").wait_for()
