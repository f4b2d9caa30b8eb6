"""The trace on the phone: the way to walk, what is missing, the declination, a far end that was found."""

import datetime

from figure_pages import bearing_text, plain, text_of, walk_text
from test_screens import show

from webapp import tables
from webapp.dates import day_text
from webapp.declination import declination
from webapp.messages import messages
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.numbers.decimals import signed_text
from webapp.survey.plan.ellipse import search_radius_m
from webapp.survey.plan.position_accuracy import radius_95_m
from webapp.survey.plan.run_places import far_end
from webapp.survey.plan.run_trace import TraceFacts, run_trace
from webapp.survey.plan.trace import walk_this_way
from webapp.survey.plan.trace_basis import basis_of

PLACE = {"lat_deg": 52.0, "lon_deg": -1.5, "accuracy_m": 4.9}


def traced(north="true", **more):
    bearing = {"bearing_deg": 90.0, "north": north, "sd_deg": 2}
    return {
        "node": {"node_ref": "N1", "position": PLACE},
        "run": {"start_bearing": bearing, "end_counter_m": 40, **more},
    }


def test_the_way_follows_the_phone(fresh):
    at, ids = fresh.make(traced())
    records = [{"id": ids["node"], "fields": traced()["node"]}]
    run = {"start_node_id": ids["node"], **traced()["run"]}
    basis = basis_of({}, [], tables.load("joint_deflections")["rows"])
    codes = tables.load("observation_codes")["rows"]
    facts = TraceFacts(run, records, [], [], codes, instruments_of([], "r"), None, None, {}, basis)
    trace = run_trace(facts)
    end = far_end(trace)
    reach = trace["trace"]["points"][-1]["ellipse"]["semi_major_m"]
    show(fresh, f"{at}/trace", {})
    assert plain(fresh.page.inner_text(".walk-figure")) == walk_text(
        end["distance_m"], end["bearing_deg"], end["radius_m"]
    )
    fresh.context.grant_permissions(["geolocation"])
    stated_95 = radius_95_m(
        {"accuracy_m": 7, "source": "phone"}
    )  # 12 m: of a desktop browser 63 times in 100
    for lat, lon in ((51.9998, -1.5003), (52.0001, -1.4999)):
        fresh.context.set_geolocation({"latitude": lat, "longitude": lon, "accuracy": 7})
        button = fresh.page.get_by_role("button", name="Use this phone’s position")
        if button.count():
            button.click()
        line = walk_this_way(lat, lon, end["lat_deg"], end["lon_deg"])
        words = walk_text(line.distance_m, line.azimuth_from_deg, search_radius_m(reach, stated_95))
        fresh.page.wait_for_function(
            "(words) => document.querySelector('.walk-figure').textContent.replace(/\\s/g, ' ') === words",
            arg=words,
        )
    fresh.page.get_by_role("button", name="Stop following").click()
    fresh.page.get_by_text("from N1").wait_for()


def test_what_a_trace_lacks_is_one_tap_away(fresh):
    at, ids = fresh.make({"run": {"end_counter_m": 40}})
    for name, goal in (
        ("Position of the start node", f"/nodes/{ids['node']}"),
        ("Bearing at the start", "/edit"),
    ):
        show(fresh, f"{at}/trace", {})
        fresh.page.get_by_role("link", name=name, exact=False).click()
        fresh.page.wait_for_url(f"**{goal}")


def test_the_declination_comes_from_the_server_or_says_that_it_did_not(fresh):
    at, ids = fresh.make(traced("magnetic"))
    show(fresh, f"{at}/trace", {})
    assert "as a compass shows it; the declination is not known" in fresh.page.inner_text(".walk")
    fresh.page.route("**/api/declination?**", lambda route: route.abort())
    fresh.page.get_by_role("button", name="Ask the server for the declination").click()
    fresh.page.get_by_text("The server was not reached.").wait_for()
    fresh.page.unroute("**/api/declination?**")
    fresh.page.get_by_role("button", name="Ask the server for the declination").click()
    fresh.page.get_by_text("Bearing from true north. On a compass: 090°.").wait_for()
    today = datetime.date.fromisoformat(fresh.app("async (app) => app.newIsoStamp().slice(0, 10)"))
    by_model = declination(PLACE["lat_deg"], PLACE["lon_deg"], today)
    model = by_model.declination_deg
    assert f"at {bearing_text(90 + model)}," in plain(fresh.page.inner_text(".walk-figure"))
    assert f"Declination {signed_text(model, 2)}°" in fresh.page.inner_text("main")
    assert (
        fresh.app("async (app, id) => (await app.store.job(id)).job.fields.declination_known", ids["job"])
        == "model"
    )
    kept = fresh.app("async (app, id) => (await app.store.job(id)).job.fields", ids["job"])
    assert kept["declination_sd_deg"] == round(by_model.sd_deg, 3)
    assert kept["declination_model"] == f"WMM-2025, for {day_text(messages(), str(today))}"
    shown = plain(fresh.page.inner_text("main"))
    assert (
        f"{signed_text(model, 2)}°, sd {by_model.sd_deg:.1f}° {kept['declination_model']} (sd computed)"
        in shown
    )


def test_a_far_end_found_ties_the_trace(fresh):
    at, ids = fresh.make(traced(end_reason="node_reached"))
    far = fresh.app(
        """async (app, [job, run]) => {
          const id = app.newId();
          await app.store.addEntries(job, [
            {kind: 'node', record_id: id, fields: {node_ref: 'N2', position: {lat_deg: 52.0003, lon_deg: -1.4994, accuracy_m: 3}}},
            {kind: 'run', record_id: run, fields: {finish_node_id: id}}]);
          return id;
        }""",
        [ids["job"], ids["run"]],
    )
    assert far
    shown = text_of(fresh, f"{at}/trace")
    assert "The far node has a position of its own. The trace misses it by" in shown
    assert "check bends, bearing and both positions" in shown
    assert "Far end tied to N2 its position, within 3.0 m, 95 times in 100 (measured)" in plain(shown)
    assert "Joints from 0.00 to 40.00 m, not observed 19 joints, pipes of 2.00 m, sd 1.0° each" in plain(
        shown
    )
