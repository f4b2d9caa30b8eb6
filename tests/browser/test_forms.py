"""Forms under bad input, bad luck and a surveyor in a hurry."""

import re

import pytest
import steps
from run_log import records

BOX = """() => {
  const one = [...document.querySelectorAll('.log-keys a')].find((a) => a.textContent.includes('Reading'));
  const { x, y, width, height } = one?.getBoundingClientRect() ?? { height: 0 };
  return height > 0 ? { x, y, width, height } : null;
}"""


def test_a_press_is_not_lost_when_the_screen_is_drawn_again_under_it(surveyor):
    page = surveyor.page
    found = page.wait_for_function(BOX)  # in one go: a redraw may put another in its place
    box = found.json_value()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.evaluate("() => { window.before = document.querySelector('.log-keys a'); }")
    page.mouse.down()
    surveyor.app(
        "async (app, [job, run]) => app.store.save(job, 'remark', null, {run_id: run, text: 'from elsewhere'})",
        [surveyor.ids["job"], surveyor.ids["at"].rsplit("/", 1)[1]],
    )
    page.wait_for_function("() => !window.before.isConnected")
    page.mouse.up()
    steps.field(page, "Counter reading").wait_for()


def open_reading(one):
    steps.link_or_button(one.page, "Reading").click()
    steps.field(one.page, "Counter reading").wait_for()
    return one.page


@pytest.mark.parametrize(
    ("counter", "size", "sentence"),
    [
        ("12", "1:0", "1 in 0 is no gradient. For a vertical pipe type 90 degrees."),
        ("12", "95", "An inclination cannot be more than 90 degrees."),
        ("12", "steep", "Inclination must be a number, or like 1 in 80, 1.25 % or 0.7°."),
        ("-4", "1", re.compile("Counter reading")),
        ("6000", "1", re.compile("Counter reading must lie between 0 and 5,?000 m")),
        ("", "1", "Counter reading is needed."),
    ],
)
def test_an_impossible_reading_is_refused_with_a_sentence(surveyor, counter, size, sentence):
    page = open_reading(surveyor)
    steps.field(page, "Counter reading").fill(counter)
    steps.button(page, "Degrees").click()
    steps.button(page, "Falling").click()
    steps.field(page, "Inclination").fill(size)
    steps.button(page, "Save reading").click()
    page.get_by_role("link", name=sentence).first.wait_for()
    assert records(surveyor, "reading") == []


@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("1:80", {"size": 80, "unit": "one_in"}),
        ("1 in 80", {"size": 80, "unit": "one_in"}),
        ("1,25 %", {"size": 1.25, "unit": "pct"}),
        ("0.7°", {"size": 0.7, "unit": "deg"}),
    ],
)
def test_what_people_type_is_understood_and_kept_as_typed(surveyor, typed, stored):
    page = open_reading(surveyor)
    steps.field(page, "Counter reading").fill("12,5")
    steps.button(page, "Falling").click()
    steps.field(page, "Inclination").fill(typed)
    steps.save_reading(page, "Save reading")
    (fields,) = records(surveyor, "reading")
    assert fields["counter_m"] == 12.5
    assert fields["inclination"] == {**stored, "sense": "falling", "typed": typed}


def test_two_quick_taps_on_save_make_one_reading(surveyor):
    page = open_reading(surveyor)
    steps.field(page, "Counter reading").fill("3")
    steps.button(page, "Falling").click()
    steps.field(page, "Inclination").fill("1")
    steps.button(page, "Save reading").evaluate("(key) => { key.click(); key.click(); }")
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    page.wait_for_timeout(300)
    assert len(records(surveyor, "reading")) == 1


def test_readings_out_of_order_and_twice_at_one_place_are_kept_and_flagged(surveyor):
    page = open_reading(surveyor)
    for counter, size in (("5", "1"), ("5", "2"), ("2", "1")):
        steps.field(page, "Counter reading").fill(counter)
        steps.button(page, "Falling").click()
        steps.field(page, "Inclination").fill(size)
        steps.save_reading(page, "Save and next")
    assert [r["counter_m"] for r in records(surveyor, "reading")] == [5, 5, 2]
    surveyor.goto(f"/jobs/{surveyor.ids['job']}")
    surveyor.page.get_by_text(re.compile("to look at")).first.wait_for()


TEXT = "Rat 🐀 seen; \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627 <b>&amp;\u202e"


def test_any_script_in_a_remark_comes_back_as_typed(surveyor_alone):
    surveyor_alone.goto(f"/jobs/{surveyor_alone.ids['job']}/remarks/new")
    page = surveyor_alone.page
    page.get_by_label("Remark").last.fill(TEXT)
    steps.button(page, "Save remark").click()
    page.wait_for_url(re.compile("/remarks$"))
    assert surveyor_alone.app("async (app) => (await app.sync.run()).setAside") == 0
    assert [r["text"] for r in records(surveyor_alone, "remark")] == [TEXT]
    page.get_by_text("Rat 🐀 seen").wait_for()


def test_removed_and_undone(surveyor):
    page = open_reading(surveyor)
    steps.field(page, "Counter reading").fill("3")
    steps.button(page, "Level").click()
    steps.save_reading(page, "Save reading")
    page.locator("a[href*='/readings/']:not([href$='/new'])").first.click()
    steps.button(page, "Remove").click()
    page.get_by_text("Removed: the reading").first.wait_for()
    assert records(surveyor, "reading") == []
    steps.button(page, "Undo").click()
    page.locator("a[href*='/readings/']:not([href$='/new'])").first.wait_for()
    assert len(records(surveyor, "reading")) == 1


def test_a_full_phone_is_told_until_acknowledged_and_nothing_typed_is_lost(surveyor):
    page = open_reading(surveyor)
    page.evaluate(
        """() => {
          const add = IDBObjectStore.prototype.add;
          IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };
          window.roomAgain = () => { IDBObjectStore.prototype.add = add; };
        }"""
    )
    steps.field(page, "Counter reading").fill("3.25")
    steps.button(page, "Rising").click()
    steps.field(page, "Inclination").fill("2")
    steps.button(page, "Save reading").click()
    page.get_by_text("Not saved: the reading").wait_for()
    page.get_by_text(re.compile("The phone has no room left. Nothing of this was saved.")).wait_for()
    steps.button(page, "Save to a file").wait_for()
    page.wait_for_timeout(500)
    assert page.get_by_text("Not saved: the reading").is_visible(), "it stays until acknowledged"
    page.evaluate("() => window.roomAgain()")
    steps.button(page, "Try again").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert [r["counter_m"] for r in records(surveyor, "reading")] == [3.25]


def test_what_was_set_aside_is_shown_with_its_reason_and_mended(surveyor_alone):
    one = surveyor_alone
    # A phone with an older version of the rules let this through.
    one.app(
        """async (app, [job, run]) => app.store.save(job, 'reading', null,
             {run_id: run, counter_m: -4, inclination: {size: 1, unit: 'deg', sense: 'falling'}})""",
        [one.ids["job"], one.ids["run"]],
    )
    one.app("async (app) => app.sync.run()")  # the app's own run after the save may have been first
    assert one.app("async (app) => (await app.store.outbox()).counts.aside") == 1
    one.goto("/outbox")
    page = one.page
    page.get_by_text("Set aside by the server").wait_for()
    page.get_by_text(re.compile("Counter reading must lie between 0 and")).first.wait_for()
    steps.link_or_button(page, "Correct").click()
    steps.field(page, "Counter reading").wait_for()
    assert steps.field(page, "Counter reading").input_value() == "-4"
    steps.field(page, "Counter reading").fill("4")
    steps.button(page, "Save reading").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    found = records(one, "reading")
    assert [r["counter_m"] for r in found] == [4] and found[0]["run_id"] == one.ids["run"]
    one.app("async (app) => app.sync.run()")
    outbox = one.app("async (app) => (await app.store.outbox()).counts")
    assert outbox["entries"] == 0 and outbox["aside"] <= 1, "the mended one is not set aside"


def test_heic_is_taken_through_the_form_as_a_file(surveyor):
    page = surveyor.page
    steps.link_or_button(page, "Photo").click()
    data = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(range(256)) * 20
    page.get_by_label("From the gallery").set_input_files(
        {"name": "IMG_1.HEIC", "mimeType": "image/heic", "buffer": data}
    )
    page.get_by_text(re.compile("Saved on this phone as a file.")).wait_for()
    (photo,) = records(surveyor, "photo")
    assert (photo["media_type"], photo["size_bytes"], photo["run_id"]) == (
        "image/heic",
        len(data),
        surveyor.ids["run"],
    )


@pytest.mark.parametrize(
    ("path", "label", "value"),
    [
        ("/jobs/new", "Job title", "Half a title"),
        ("/jobs/{job}/edit", "Client reference", "CR 5"),
        ("/jobs/{job}/nodes/new", "Node reference", "MH 9"),
        ("/jobs/{job}/runs/new", "Run reference", "R7"),
        ("/jobs/{job}/remarks/new", "Remark", "half a sen"),
        ("/jobs/{job}/runs/{run}/stretches/new", "Height or diameter", "225"),
        ("/jobs/{job}/runs/{run}/ties/new", "Invert level", "41.2"),
        ("/jobs/{job}/checks/new?type=counter_tape", "Taped length", "30"),
    ],
)
def test_a_half_filled_form_survives_a_reload(with_job, path, label, value):
    page = with_job.page
    with_job.goto(path.format(**with_job.ids))
    page.get_by_label(re.compile(f"^{label}")).last.fill(value)
    page.wait_for_timeout(200)
    page.reload()
    with_job.wait_ready()
    page.get_by_text(re.compile("^Draft restored")).first.wait_for()
    assert page.get_by_label(re.compile(f"^{label}")).last.input_value() == value


# Another phone's change to one field of a record, which has seen what stood there.


def test_entries_set_aside_of_any_shape_leave_the_outbox_readable(surveyor_alone):
    job = surveyor_alone.ids["job"]
    shapes = [
        {"kind": "remark", "fields": {"text": 5}},
        {"kind": "remark"},
        {"kind": "remark", "fields": None},
        {"kind": "of-a-later-version", "fields": {"text": "new"}},
        {"kind": ["reading"], "fields": []},
        {"kind": "reading", "fields": {"inclination": {"sense": 7, "unit": []}, "counter_m": "x"}},
        {"kind": "observation", "fields": {"clock": 5, "continuous": "x", "code": {"a": 1}}},
        {"kind": "node", "fields": {"position": "x", "node_ref": [1]}, "recorded_at": 5},
    ]
    sent = [
        {"job_id": job, "writer": "any-shape", "number": n, "record_id": job[:-4] + f"000{n}", **shape}
        for n, shape in enumerate(shapes, 1)
    ]
    marks = {
        f"any-shape:{n}": {"code": "entry_refused", "reasons": {"entry": [f"Reason {n}."]}}
        for n in range(1, len(sent) + 1)
    }
    surveyor_alone.app(
        "async (app, [job, sent, marks]) => app.store.take(job, sent, marks)", [job, sent, marks]
    )
    surveyor_alone.goto("/outbox")
    for n in range(1, len(sent) + 1):
        surveyor_alone.page.get_by_text(f"Reason {n}.").wait_for()
    mendable = surveyor_alone.page.locator(
        ".card", has=surveyor_alone.page.get_by_role("button", name="Correct")
    )
    words = mendable.all_inner_texts()
    assert any("Reason 1." in w for w in words) and not any("Reason 4." in w for w in words)
