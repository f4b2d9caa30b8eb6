"""From the log to saved in five touches: every press of a finger counts, and nothing is scrolled for."""

import re
import time

import pytest
import steps
from phone import VIEWPORT, Watched

MOST = 5
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
HIT = """(element, [x, y]) => { const found = document.elementFromPoint(x, y);
  return Boolean(found) && (element === found || element.contains(found) || found.contains(element) && found.tagName === 'LABEL'); }"""


class Finger:
    """Presses what is in sight and counts; what would have to be scrolled to is a failure."""

    def __init__(self, one):
        self.one, self.page, self.count = one, one.page, 0

    def press(self, target):
        target.wait_for()
        self.page.wait_for_function("() => document.querySelector('.dock, .bar:not([hidden])')")
        box = target.bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        head = self.page.locator(".top").bounding_box()
        foot = self.page.locator(".dock, .bar:not([hidden])").first.bounding_box()
        inside = target.evaluate("(e) => Boolean(e.closest('.dock, .bar'))")
        low = VIEWPORT["height"] if inside else foot["y"]
        assert head["y"] + head["height"] <= box["y"] and box["y"] + box["height"] <= low, (box, head, foot)
        assert target.evaluate(HIT, [x, y]), "something lies over it"
        self.page.touchscreen.tap(x, y)
        self.count += 1

    def key(self, name):
        self.press(self.page.get_by_role("button", name=name, exact=True).first)

    def hour(self, hour, group="Clock from"):
        ring = self.page.get_by_role("group", name=group)
        self.press(ring.get_by_role("radio", name=str(hour), exact=True))

    def kind(self, words):
        self.press(self.page.get_by_role("radio", name=re.compile(words)))

    def saved(self, code):
        """Save, be back on the log, and give what was stored."""
        self.key("Save observation")
        self.page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
        steps.link_or_button(self.page, "Observation").wait_for()
        return [o for o in self.one.records("observation") if o["code"] == code][-1]


@pytest.fixture(scope="module")
def phone(one_browser, shared_server):
    one = Watched(shared_server.url)
    one.watch(one_browser.new_context(viewport=VIEWPORT, has_touch=True, service_workers="block"))
    one.goto("/")
    yield one
    one.close()
    one.check()


@pytest.fixture
def surveyor(phone):
    """On the log of a run with one reading at 12 m."""
    phone.ids = phone.app(RUN)
    phone.records = lambda kind: phone.app(RECORDS, [phone.ids["job"], kind])
    phone.goto(phone.ids["at"])
    steps.link_or_button(phone.page, "Observation").wait_for()
    return phone


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
    counted, took = {}, {}
    for name, (keys, code, stored) in COMMON.items():
        finger, begun = Finger(surveyor), time.monotonic()
        finger.press(steps.link_or_button(surveyor.page, "Observation"))
        for key in keys:
            finger.hour(key) if isinstance(key, int) else finger.key(key)
        found = finger.saved(code)
        counted[name], took[name] = finger.count, time.monotonic() - begun
        assert stored.items() <= found.items(), name
        assert found["counter_m"] == 12, "the place of the last reading, put in by itself"
        assert "as_before" not in found
    assert len(counted) >= 10
    assert max(counted.values()) <= MOST, counted
    assert max(took.values()) < 10, took  # of a machine, not of a person: nothing on the way waits
    print("\n".join(f"{name}: {counted[name]} touches, {took[name]:.1f} s" for name in COMMON))
