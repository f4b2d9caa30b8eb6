"""The help under the dial: offered for what somebody chose, put in only at a tap, never twice."""

import pytest

MAKE = """async (app, [cameraMm, sizeMm]) => {
  const [job, run] = [app.newId(), app.newId()];
  const of = (kind, fields) => ({kind, record_id: app.newId(), fields: {run_id: run, ...fields}});
  await app.store.addEntries(job, [{kind: 'job', record_id: job, fields: {title: 'Clocks'}},
    {kind: 'run', record_id: run, fields: {run_ref: 'C1', direction: 'with_flow'}},
    of('check', {check_type: 'camera_height', camera_height_mm: cameraMm}),
    of('stretch', {shape: 'circular', height_mm: sizeMm, size_known: 'measured', from_counter_m: 0, to_counter_m: 20})]);
  return {job, at: `/jobs/${job}/runs/${run}`};
}"""
CLOCKS = "async (app, job) => (await app.store.job(job)).records('observation').map((o) => o.fields.clock)"


class Form:
    def __init__(self, one):
        self.one, self.page = one, one.page

    def open(self, camera_mm=60, size_mm=450, counter="7,5", words="roots", code="BBA"):
        made = self.one.app(MAKE, [camera_mm, size_mm])
        self.job, self.at = made["job"], made["at"]
        self.show(f"{self.at}/observations/new")
        self.page.get_by_label("Counter reading").fill(counter)
        self.page.get_by_role("searchbox", name="Find a code").fill(words)
        self.page.get_by_role("button", name=code).first.click()

    def show(self, path):
        self.one.app("async (app, path) => app.go(path)", path)
        self.page.get_by_label("Counter reading").wait_for()

    def choose(self, hour, group="Clock from"):
        ring = self.page.get_by_role("group", name=group)
        ring.get_by_role("radio", name=str(hour), exact=True).check(force=True)

    def save(self):
        self.page.get_by_role("button", name="Save observation").click()
        self.page.wait_for_url(f"**{self.at}")
        return self.one.app(CLOCKS, self.job)

    @property
    def status(self):
        return " ".join(self.page.inner_text(".clock-helper").split())


@pytest.fixture
def form(resident):
    return Form(resident)


def test_an_hour_seen_from_low_down_is_offered_as_it_is_on_the_wall(form):
    form.open()
    form.choose(3)
    assert form.status.startswith(
        "Camera 60 mm above invert (measured) in a 450 mm pipe (size measured): what you see at 3 is at 4.6 on"
        " the wall, 0.15 m from the camera (computed, camera taken midway across). Use 5"
    )
    form.page.get_by_role("button", name="Use 5").click()
    assert form.status == "Now 5, for what was seen at 3."
    assert form.page.evaluate("() => document.activeElement.textContent") == form.status
    assert form.save() == [{"hour_from": 5}]


def test_nothing_is_put_in_without_a_tap_and_crown_and_invert_stay(form):
    form.open()
    for hour in (12, 6):
        form.choose(hour)
        assert form.status == ""
    form.choose(3)
    assert "Use 5" in form.status
    assert form.save() == [{"hour_from": 3}]


def test_an_hour_that_was_offered_or_stood_in_the_record_is_not_shifted_again(form):
    form.open()
    form.choose(3)
    form.choose(5)
    assert form.status == "", "the hour offered, chosen by hand"
    form.choose(4)
    assert "what you see at 4 is at" in form.status
    form.choose(3)
    form.page.get_by_role("button", name="Use 5").click()
    form.save()
    form.page.locator("a.log-row[href*=observations]").click()
    form.page.get_by_label("Counter reading").wait_for()
    assert form.page.get_by_role("radio", name="5", exact=True).first.is_checked()
    assert form.status == ""


def test_both_ends_of_a_span_each_have_their_own(form):
    form.open(words="crack", code="BAB")
    form.choose(9)
    form.choose(3, "Clock to")
    form.page.get_by_role("button", name="Use 7").click()
    form.page.get_by_role("button", name="Use 5").click()
    form.page.get_by_role("group", name="Kind").first.get_by_role("radio").first.check(force=True)
    assert form.save() == [{"hour_from": 7, "hour_to": 5}]


@pytest.mark.parametrize(
    ("camera_mm", "counter"), [(60, "25"), (225, "7,5"), (None, "7,5"), (600, "7,5"), (60, "")]
)
def test_nothing_where_it_cannot_be_known_or_is_not_needed(form, camera_mm, counter):
    form.open(camera_mm=camera_mm, counter=counter)
    form.choose(3)
    assert form.status == ""


def test_it_follows_the_counter_and_is_there_again_in_a_draft(form):
    form.open(counter="25")
    form.choose(3)
    assert form.status == ""
    form.page.get_by_label("Counter reading").fill("8")
    assert "Use 5" in form.status
    form.page.wait_for_timeout(900)
    form.one.app("async (app, path) => app.go(path)", form.at)
    form.page.wait_for_url(f"**{form.at}")
    form.show(f"{form.at}/observations/new")
    form.page.get_by_role("button", name="Use 5").click()
    assert form.save() == [{"hour_from": 5}]
