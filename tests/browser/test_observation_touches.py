"""From the log to saved in five touches: every press of a finger counts, and nothing is scrolled for."""

import re

import pytest
import steps
from finger import Finger
from phone import VIEWPORT

MAX_TOUCHES = 5
RUN = """async (app) => {
  const [job, run] = [app.newId(), app.newId()];
  const of = (kind, fields) => ({kind, record_id: app.newId(), fields: {run_id: run, ...fields}});
  await app.store.addEntries(job, [{kind: 'job', record_id: job, fields: {title: 'Touches'}},
    {kind: 'run', record_id: run, fields: {run_ref: 'T1', direction: 'with_flow', counter_zero_m: 0.4}},
    of('stretch', {from_counter_m: 0.4, shape: 'circular', height_mm: 150, size_known: 'measured', material: 'vitrified_clay',
      lining: 'none', roughness_mm: 1.5}),
    of('reading', {counter_m: 12, inclination: {size: 1, unit: 'deg', sense: 'falling', typed: '1'}})]);
  return {job, run, at: `/jobs/${job}/runs/${run}`};
}"""
RECORDS = "async (app, [job, kind]) => (await app.store.job(job)).records(kind).map((r) => ({id: r.id, ...r.fields}))"


@pytest.fixture
def surveyor(resident):
    """On the log of a run with one reading at 12 m."""
    resident.ids = resident.app(RUN)
    resident.records = lambda kind: resident.app(RECORDS, [resident.ids["job"], kind])
    resident.goto(resident.ids["at"])
    steps.link_or_button(resident.page, "Observation").wait_for()
    return resident


# What most runs have. Each: the keys between "Observation" and "Save observation", and what must have been stored.
COMMON = {
    "finish node": (["Finish node: finish node"], "BCE", {"characterisation_1": "A"}),
    "water level": (
        ["Water level: clear", "20 %"], "BDD", {"characterisation_1": "A", "quantification_1": 20},
    ),
    "connection": (
        ["Connection to the pipe: junction", "100 mm", 2],
        "BCA", {"characterisation_1": "A", "characterisation_2": "A", "quantification_1": 100, "clock": {"hour_from": 2}},
    ),
    "joint displaced": (
        ["Joint out of position: step", "10 mm", 6],
        "BAJ", {"characterisation_1": "B", "quantification_1": 10, "clock": {"hour_from": 6}},
    ),
    "crack": (
        ["Crack or fracture: along", "2 mm", 12],
        "BAB", {"characterisation_1": "B", "characterisation_2": "A", "quantification_1": 2, "clock": {"hour_from": 12}},
    ),
    "roots": (
        ["Roots: mass", "30 %", "all round"],
        "BBA", {"characterisation_1": "C", "quantification_1": 30, "clock": {"hour_from": 12, "hour_to": 12}},
    ),
    "deposits": (
        ["Material lying in the invert: fine", "10 %", "invert 5–7"],
        "BBC", {"characterisation_1": "A", "quantification_1": 10, "clock": {"hour_from": 5, "hour_to": 7}},
    ),
    "obstruction": (
        ["Other obstruction: stone", "20 %", 6],
        "BBE", {"characterisation_1": "A", "quantification_1": 20, "clock": {"hour_from": 6}},
    ),
    "infiltration": (["Water coming in: drips", 3], "BBF", {"characterisation_1": "B", "clock": {"hour_from": 3}}),
    "break": (
        ["Broken, missing or collapsed wall: hole", "50 mm", 11],
        "BAC", {"characterisation_1": "B", "quantification_1": 50, "clock": {"hour_from": 11}},
    ),
    "bend": (["Bend in the line: bend left", "45 degrees"], "BCC", {"characterisation_1": "A", "quantification_1": 45}),
}  # fmt: skip


def test_the_most_common_observations_take_five_touches_at_most(surveyor):
    counted = {}
    for name, (keys, code, stored) in COMMON.items():
        finger = Finger(surveyor)
        finger.press(steps.link_or_button(surveyor.page, "Observation"))
        for key in keys:
            finger.hour(key) if isinstance(key, int) else finger.key(key)
        found = finger.saved(code)
        counted[name] = finger.count
        assert stored.items() <= found.items(), name
        assert found["counter_m"] == 12, "the place of the last reading, put in by itself"
        assert "as_before" not in found
    assert len(counted) >= 10
    assert max(counted.values()) <= MAX_TOUCHES, counted
    print("\n".join(f"{name}: {count} touches" for name, count in counted.items()))


BEYOND = """() => [...document.querySelectorAll('.usual button, .top h1')].filter((one) => {
  const words = document.createRange();
  words.selectNodeContents(one);
  return words.getBoundingClientRect().right > one.getBoundingClientRect().right + 0.5 || one.clientHeight > 56;
}).map((one) => one.innerText)"""


def test_words_fit_their_keys_and_the_heading_its_band_also_on_a_small_phone(surveyor):
    begin(surveyor)
    for width in (320, 390):
        surveyor.page.set_viewport_size({"width": width, "height": 640})
        assert surveyor.page.evaluate(BEYOND) == []
        assert surveyor.page.evaluate("document.querySelector('.top h1').clientHeight") < 30, "one line"
    surveyor.page.set_viewport_size(VIEWPORT)


def begin(surveyor, *keys):
    """From the log to the form, and the keys pressed there."""
    finger = Finger(surveyor)
    finger.press(steps.link_or_button(surveyor.page, "Observation"))
    for key in keys:
        finger.key(key)
    return finger


def at_rest(surveyor):
    surveyor.page.get_by_text("As last time").first.wait_for()
    return surveyor.page.inner_text("main")


def test_what_was_said_last_time_goes_over_marked_and_the_counter_is_counted_too(surveyor):
    begin(surveyor, "Roots: mass", "30 %", "all round").saved("BBA")

    # the same again at the place of the last observation: the quantity is there, and says what it is
    again = begin(surveyor, "Roots: mass", "last time 12–12")
    assert "As last time, at 12.00 m" in at_rest(surveyor)
    found = again.saved("BBA")
    assert again.count == 4
    assert (found["quantification_1"], found["as_before"]) == (30, "quantification_1")
    assert "30 % (as last time)" in surveyor.page.inner_text(".log").replace("\u00a0", " ")

    # a tap on a value makes it one that was looked at; so does typing the same
    tapped = begin(surveyor, "Roots: mass", "30 %")
    assert "As last time" not in surveyor.page.inner_text("main")
    assert "as_before" not in tapped.saved("BBA")
    typed = begin(surveyor, "Roots: mass")
    typed.press(surveyor.page.get_by_role("textbox", name="Bore area lost"))
    for key in "30":
        typed.key(key)
    assert "as_before" not in typed.saved("BBA")

    # honestly counted: three digits and a point at another place, by the pad; a step on by one key
    elsewhere = Finger(surveyor)
    elsewhere.press(steps.link_or_button(surveyor.page, "Observation"))
    elsewhere.press(steps.field(surveyor.page, "Counter reading"))
    for key in ("1", "4", "Decimal point", "5"):
        elsewhere.key(key)
    elsewhere.key("Done")
    elsewhere.key("Water coming in: drips")
    elsewhere.hour(3)
    found = elsewhere.saved("BBF")
    assert (found["counter_m"], elsewhere.count) == (14.5, 10)
    stepped = begin(surveyor, "on 1 m", "Water coming in: drips")
    assert (stepped.saved("BBF")["counter_m"], stepped.count) == (15.5, 4)


def test_what_is_only_as_last_time_survives_a_draft_and_an_edit_and_never_becomes_measured(surveyor):
    begin(surveyor, "Water level: clear", "20 %").saved("BDD")
    begin(surveyor, "on 1 m", "Water level: clear")
    surveyor.page.wait_for_timeout(400)
    surveyor.page.reload()
    surveyor.wait_ready()
    assert "As last time" in at_rest(surveyor), "the draft"
    found = Finger(surveyor).saved("BDD")
    assert (found["counter_m"], found["quantification_1"], found["as_before"]) == (13, 20, "quantification_1")
    surveyor.goto(f"{surveyor.ids['at']}/observations/{found['id']}")
    at_rest(surveyor)
    steps.field(surveyor.page, "Remark").fill("looked again at the colour")
    assert Finger(surveyor).saved("BDD")["as_before"] == "quantification_1"
    surveyor.goto(f"{surveyor.ids['at']}/observations/{found['id']}")
    at_rest(surveyor)
    steps.button(surveyor.page, "30 %").click()
    found = Finger(surveyor).saved("BDD")
    assert found["quantification_1"] == 30
    assert not found.get("as_before")


def test_an_older_draft_is_restored(surveyor):
    raw = {"counter": "7,5", "code": "BBA", "continuous": {"role": "start", "number": 3}, "remark": "old",
           "parts": {"characterisation_1": "C", "quantification_1": "12", "clock": {"from": 5, "to": 7}, "at_joint": "yes"}}  # fmt: skip
    at = f"{surveyor.ids['at']}/observations/new"
    surveyor.app(
        "async (app, [key, raw]) => app.store.saveDraft(key, {raw, opened: {}, kept_at: '2026-11-01T10:00:00Z'})",
        [at, raw],
    )
    surveyor.goto(at)
    found = Finger(surveyor).saved("BBA")
    del found["id"], found["run_id"]
    assert found == {"counter_m": 7.5, "code": "BBA", "characterisation_1": "C", "quantification_1": 12, "at_joint": True,
                     "clock": {"hour_from": 5, "hour_to": 7}, "continuous": {"role": "start", "number": 3}, "remark": "old"}  # fmt: skip


def test_what_runs_is_shown_changed_and_finished_from_the_log(surveyor):
    page = surveyor.page
    begin(surveyor, "Material lying in the invert: fine", "10 %", "invert 5–7")
    steps.button(page, "Start of something continuous").click()
    Finger(surveyor).saved("BBC")
    card = page.get_by_role("group", name="BBC 1")
    assert "BBC no. 1 since 12.00 m · 10 %" in card.inner_text()

    changed = Finger(surveyor)
    changed.press(card.get_by_role("link", name="Changed"))
    changed.key("on 1 m")
    changed.key("30 %")
    found = changed.saved("BBC")
    assert changed.count == 4
    assert (found["counter_m"], found["quantification_1"], found["continuous"]) == (
        13, 30, {"role": "change", "number": 1},
    )  # fmt: skip
    assert "30 % since 13.00 m" in card.inner_text()

    # a finish chosen on a new observation shows what still runs, of other codes too
    begin(surveyor, "Roots: fine")
    steps.button(page, "Finish").click()
    page.get_by_role("button", name=re.compile("no. 1 BBC Material")).click()
    assert "BBC" in page.inner_text(".code-chosen")
    page.get_by_role("link", name="Back").click()
    card.wait_for()

    finish = Finger(surveyor)
    finish.press(card.get_by_role("link", name="Finish here"))
    finish.key("on 1 m")
    found = finish.saved("BBC")
    assert finish.count == 3
    assert found["continuous"] == {"role": "finish", "number": 1}
    assert found["clock"] == {"hour_from": 5, "hour_to": 7}
    assert (found["counter_m"], found["characterisation_1"], found.get("quantification_1")) == (14, "A", None)
    assert page.get_by_role("group", name="BBC 1").count() == 0
    assert "has no finish" not in page.inner_text(".log")


def test_a_change_of_pipe_ends_the_stretch_and_begins_the_next(surveyor):
    page = surveyor.page
    begin(surveyor, "on 1 m")
    page.get_by_role("searchbox", name="Find a code").fill("black plastic to concrete")
    page.get_by_role("button", name="another material").click()
    assert steps.field(page, "Counter reading").input_value() == "13"
    page.get_by_label("Material", exact=True).select_option("concrete")
    steps.button(page, "Save change").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    before, after = surveyor.records("stretch")
    assert before["to_counter_m"] == after["from_counter_m"] == 13
    assert after["material"] == "concrete"
    same = ("shape", "height_mm", "size_known", "lining", "run_id")
    assert [after[name] for name in same] == [before[name] for name in same]
    assert "roughness_mm" not in after, "a roughness is that of the old material"

    # an end that somebody gave is not replaced, and nothing is saved that says nothing
    surveyor.goto(f"{surveyor.ids['at']}/stretches/{after['id']}")
    steps.field(page, "To, counter reading").fill("30")
    steps.button(page, "Save stretch").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    steps.button(page, "More").click()
    steps.link_or_button(page, "Change of pipe").click()
    steps.field(page, "Counter reading").fill("20")
    assert "is recorded as ending at 30.00 m" in page.inner_text("main")
    steps.button(page, "Save change").click()
    page.get_by_text("Tap what is different.").first.wait_for()
    steps.button(page, "Different: Size").click()
    page.get_by_label("Height or diameter").fill("225")
    steps.button(page, "Save change").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    _, middle, last = surveyor.records("stretch")
    assert (middle["to_counter_m"], last["from_counter_m"], last["height_mm"]) == (30, 20, 225)
    assert last["material"] == "concrete"
    assert "size_known" not in last, "how the old size was known says nothing of the new one"


def test_a_whole_observation_typed_in_one_line_is_taken_as_written(surveyor):
    page = surveyor.page
    begin(surveyor, "on 1 m")
    box = page.get_by_role("searchbox", name="Find a code")
    box.fill("BAB B A 3 mm at")
    assert page.get_by_role("button", name="All of it, as written").count() == 0
    box.fill("BAB B A 3mm at 10-2 joint: from both sides")
    whole = "All of it, as written BAB B A 3 mm at 10-2 joint: from both sides"
    page.get_by_role("button", name=whole).click()
    found = Finger(surveyor).saved("BAB")
    assert (found["characterisation_1"], found["characterisation_2"]) == ("B", "A")
    assert found["quantification_1"] == 3
    assert found["clock"] == {"hour_from": 10, "hour_to": 2} and found["at_joint"] is True
    assert (found["remark"], found["counter_m"]) == ("from both sides", 13)
    row = page.locator(".log-row.observation").last
    assert row.locator("svg.pictogram path").count() == 2 and "from both sides" in row.inner_text()
