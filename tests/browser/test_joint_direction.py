"""A joint at an angle asks which way the pipe turns; the trace follows it, and the leave list asks till then."""

import re

import pytest
from figure_pages import plain, text_of

PLACE = {"lat_deg": 52.0, "lon_deg": -1.5, "accuracy_m": 4.9}
RUN = {"start_bearing": {"bearing_deg": 0.0, "north": "true", "sd_deg": 2}, "end_counter_m": 50}
ANGLED = {
    "code": "BAJ", "characterisation_1": "C", "quantification_1": 10, "counter_m": 30, "clock": {"hour_from": 3},
}  # fmt: skip
GROUP = "Which way the pipe turns here"


@pytest.fixture
def job(fresh):
    return fresh.make(
        {"node": {"node_ref": "N1", "position": PLACE}, "run": RUN, "of": {"observation": [ANGLED]}}
    )


def group(page):
    return page.get_by_role("group", name=GROUP)


def test_the_form_asks_only_of_an_angle_and_keeps_the_answer(fresh, job):
    at, ids = job
    assert "which way the pipe turns at the joint is not recorded" in plain(text_of(fresh, f"{at}/trace"))
    job_page = at.rpartition("/runs/")[0]
    assert "BAJ turns the pipe; which way is not recorded." in plain(text_of(fresh, f"{job_page}/leave"))
    (seen,) = fresh.app(
        "async (app, id) => [...(await app.store.job(id)).records('observation')].map((one) => one.id)",
        ids["job"],
    )
    fresh.page.get_by_role("link", name=re.compile("BAJ turns the pipe; which way is not recorded")).click()
    fresh.page.wait_for_url(re.compile(f"/observations/{seen}"))
    group(fresh.page).wait_for()
    fresh.page.wait_for_function(
        "() => document.activeElement?.closest('[data-field]')?.dataset.field === 'turns_to'"
    )
    fresh.page.get_by_role("radio", name=re.compile("Stepped")).check(force=True)
    group(fresh.page).wait_for(state="hidden")
    fresh.page.get_by_role("radio", name=re.compile("At an angle")).check(force=True)
    group(fresh.page).get_by_role("radio", name="To the right", exact=True).check(force=True)
    fresh.page.get_by_role("button", name="Save observation").click()
    fresh.page.wait_for_url(re.compile(r"/leave$"))
    fields = fresh.app(
        "async (app, [id, own]) => (await app.store.job(id)).record('observation', own).fields",
        [ids["job"], seen],
    )
    assert (fields["turns_to"], fields["characterisation_1"]) == ("right", "C")
    assert "the pipe turns to the right" in plain(text_of(fresh, at))
    shown = plain(text_of(fresh, f"{at}/trace"))
    assert "10° to the right at 30.00 m, sd 5° (measured)" in shown and "is not followed" not in shown
    assert "BAJ turns the pipe" not in plain(text_of(fresh, f"{job_page}/leave"))


def test_a_position_of_the_phone_says_what_it_means(fresh, job):
    at, ids = job
    fresh.context.grant_permissions(["geolocation"])
    fresh.context.set_geolocation({"latitude": 52.1, "longitude": -1.6, "accuracy": 10})
    fresh.goto(f"{at.rpartition('/runs/')[0]}/nodes/{ids['node']}")
    fresh.page.get_by_role("button", name="Use this phone’s position").click()
    fresh.page.get_by_text("This phone states ± 10 m at 63 %: that is 17 m at 95 %.").wait_for()
    fresh.page.get_by_role("button", name="Save").first.click()
    fresh.page.wait_for_url(re.compile(r"/nodes$|/jobs/[0-9a-f-]{36}$"))
    place = fresh.app(
        "async (app, [id, own]) => (await app.store.job(id)).record('node', own).fields.position",
        [ids["job"], ids["node"]],
    )
    assert place == {
        "lat_deg": 52.1,
        "lon_deg": -1.6,
        "accuracy_m": 10,
        "accuracy_pct": 63,
        "source": "phone",
    }


def test_another_declination_typed_in_is_no_longer_that_of_the_model(fresh, job):
    _, ids = job
    model = {
        "declination_deg": 1.2, "declination_known": "model", "declination_sd_deg": 0.38,
        "declination_model": "WMM-2025, for 2026-11-25",
    }  # fmt: skip
    fresh.app("async (app, [id, fields]) => app.store.save(id, 'job', id, fields)", [ids["job"], model])
    fresh.goto(f"/jobs/{ids['job']}/edit")
    typed = fresh.page.get_by_label("Magnetic declination", exact=True)
    typed.evaluate("(one) => { one.closest('details').open = true; }")
    typed.fill("12")
    fresh.page.get_by_role("button", name="Save").first.click()
    fresh.page.wait_for_url(re.compile(r"/jobs/[0-9a-f-]{36}$"))
    fields = fresh.app("async (app, id) => (await app.store.job(id)).job.fields", ids["job"])
    assert fields["declination_deg"] == 12
    assert not any(fields.get(name) for name in model if name != "declination_deg")
