"""Before you leave: the list on the phone with no signal, one tap to each form, back again, and the item is gone."""

import io
import re
import uuid

import pytest
from leave_cases import FAULTS, JOB, RUN, TABLES, planted
from pictures import picture
from PIL import Image, ImageFilter
from steps import button, field
from test_screens import faults_of

from webapp import tables
from webapp.survey.review.leave_item import item_sentence
from webapp.survey.review.leave_site import open_items

ADD = """async (app, changes) => { await app.store.addEntries(changes[0].record_id, changes); }"""
LIST = f"/jobs/{JOB}/leave"
PLANTED = ("photo_missing", "clock_missing", "start_missing", "rise_needs_far_level")


def changes_of(records):
    """Entries that make these records, under ids that a server takes."""
    names = {one["id"] for some in records.values() for one in some}
    ids = {n: n if len(n) == 36 else str(uuid.uuid5(uuid.NAMESPACE_URL, n)) for n in names}

    def fields(record):
        kept = {k: v for k, v in record["fields"].items() if v is not None}
        return kept | {k: ids[kept[k]] for k in ("belongs_to",) if k in kept}

    order = ["job", *(kind for kind in records if kind != "job")]
    return [
        {"kind": kind, "record_id": ids[one["id"]], "fields": fields(one)}
        for kind in order
        for one in records[kind]
    ]


def jpeg(image):
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85)
    return {"name": "p.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


BLACK = jpeg(Image.new("RGB", (1600, 1200), (3, 3, 4)))
SHARP = {"name": "s.jpg", "mimeType": "image/jpeg", "buffer": picture(3)}
SOFT = jpeg(Image.open(io.BytesIO(picture(3))).filter(ImageFilter.GaussianBlur(20)))


@pytest.fixture
def surveyor(newcomer):
    """On the log of a run with four things open, and out of reach of the server."""
    records, outside = planted(PLANTED[0])
    for code in PLANTED[1:]:
        FAULTS[code][0](records, outside)
    one = newcomer
    one.go_offline()
    changes = changes_of(records)
    one.app(ADD, changes)
    one.records, one.entries = records, len(changes)
    one.app("async (app, path) => app.go(path)", f"/jobs/{JOB}/runs/{RUN}")
    return one


def sentences(page):
    page.get_by_role("heading", name="Before you leave").wait_for()
    shown = page.locator(".open-item .row-title").all_inner_texts()
    return [words.split(":\n")[-1].strip() for words in shown]


def tap(page, words):
    page.get_by_role("link", name=re.compile(re.escape(words))).click()


def focused_field(page):
    page.wait_for_function("() => document.activeElement?.closest('[data-field]')")
    return page.evaluate("document.activeElement.closest('[data-field]').dataset.field")


def back_on_the_list(page):
    page.wait_for_url(re.compile(r"/leave\?run="))
    return sentences(page)


def test_each_item_is_one_tap_from_its_form_and_gone_when_it_is_mended(surveyor):
    page = surveyor.page
    expected = open_items(surveyor.records, {"unsent_entries": surveyor.entries}, TABLES)
    page.get_by_role("link", name="3 things to fix before you leave").click()
    words = [item_sentence(tables.messages(), TABLES["leave_site"]["rows"], one) for one in expected]
    assert sentences(page) == words and len(words) == 5
    assert faults_of(page) == []

    tap(page, "has no clock position")
    assert focused_field(page) == "clock"
    page.get_by_role("group", name="Clock from").get_by_role("radio", name="3", exact=True).check(force=True)
    button(page, "Save observation").click()
    assert "BAC has no clock position." not in back_on_the_list(page)

    tap(page, "level tie at 10.50 m")
    assert focused_field(page) == "invert_level_m"
    assert page.get_by_label("Counter reading").input_value() == "10.5"
    page.get_by_label("Invert level").fill("9.4")
    button(page, "Save level tie").click()
    assert not any("level tie" in one for one in back_on_the_list(page))

    tap(page, "no observation of the start node")
    page.get_by_text("Start node").first.wait_for()
    assert field(page, "Counter reading").input_value() == "0.5"
    button(page, "Save observation").click()
    assert not any("start node" in one for one in back_on_the_list(page))

    a_photo_is_measured_and_told_at_once(surveyor)
    surveyor.context.set_offline(False)
    surveyor.app("async (app) => { await app.sync.run({ by: 'button' }); }")
    page.get_by_text(f"Nothing missing among these {len(TABLES['leave_site']['rows'])} checks").wait_for()
    assert "safe" not in page.inner_text("main").replace("safety sheet", "")
    page.get_by_role("link", name="Back").click()
    page.get_by_role("link", name="Before you leave").wait_for()


def a_photo_is_measured_and_told_at_once(surveyor):
    page = surveyor.page
    tap(page, "BAC has no photo.")
    assert focused_field(page) == "photo"
    for file, reported in ((SHARP, None), (SOFT, "out of focus"), (BLACK, "black")):
        page.get_by_label("From the gallery").set_input_files(file)
        page.get_by_text("Photo saved on this phone.").wait_for()
        page.wait_for_function("() => document.querySelectorAll('.photo-tile').length")
        if reported:
            page.get_by_text(f"This picture looks {reported}. Take it again? Both are kept.").wait_for()
        else:
            assert page.get_by_text("Take it again?").count() == 0
    stored = surveyor.app(
        "async (app, job) => (await app.store.job(job)).records('photo').map((one) => one.fields)", JOB
    )
    sharp, soft, black = sorted(stored, key=lambda f: -f["focus_pct"])
    assert sharp["focus_pct"] > 5 > 1 > soft["focus_pct"] and black["brightness_pct"] < 3
    assert sharp["contrast_pct"] > 10 and "shows_enough" not in sharp
    button(page, "Save observation").click()
    reported = back_on_the_list(page)
    assert {"This photo is almost black.", "This photo looks out of focus."} <= set(reported)
    for words in ("almost black", "out of focus"):
        tap(page, words)
        assert focused_field(page) == "shows_enough"
        page.get_by_role("radio", name="Yes").check(force=True)
        button(page, "Save caption").click()
        assert not any(words in one for one in back_on_the_list(page))


def test_after_a_reset_the_forms_are_filled_with_what_the_counter_showed(surveyor):
    reading = sorted(surveyor.records["reading"], key=lambda one: one["fields"]["counter_m"])[2]
    identity = str(uuid.uuid5(uuid.NAMESPACE_URL, reading["id"]))
    reset = {"counter_reset": {"had_shown_m": 100.0, "set_to_m": reading["fields"]["counter_m"]}}
    save = "async (app, [job, id, fields]) => { await app.store.save(job, 'reading', id, fields); }"
    surveyor.app(save, [JOB, identity, reset])
    surveyor.app("async (app, path) => app.go(path)", f"{LIST}?run={RUN}")
    page = surveyor.page
    tie = page.get_by_role("link", name=re.compile("level tie at"))
    assert "level tie at 106.00 m" in tie.inner_text()
    assert "counts on as if it had not been" in tie.inner_text()
    assert tie.get_attribute("href").endswith("/ties/new?counter_m=10.5&counter_part=2")
    start = page.get_by_role("link", name=re.compile("no observation of the start node"))
    assert start.get_attribute("href").endswith("&counter_m=0.5&counter_part=1")
    start.click()
    button(page, "Save observation").click()
    back_on_the_list(page)
    parts = """async (app, job) => (await app.store.job(job)).records('observation')
      .filter((one) => one.fields.code === 'BCD').map((one) => one.fields.counter_part)"""
    assert surveyor.app(parts, JOB) == [1], "the start was passed before the reset"
