"""The second part of the app: late, half, wrong or of another release, it holds up no recording and is said."""

import re

import pytest
from relay import Relay

NEW_JOB = """async (app) => {
  const job = app.newId();
  await app.store.save(job, 'job', null, {title: 'Dell Lane'});
  return job;
}"""
ADDRESS = "() => document.getElementById('script').dataset.second"
SECOND = re.compile(r"/static/app/second-[0-9a-f]{16}\.js$")
ALWAYS = 1_000_000
REFUSED = "integrity"  # the browser's own words for a script that is not as the page says


def test_while_it_is_cut_off_a_job_is_recorded_and_it_comes_by_itself(make_phone, live_server):
    with Relay(live_server.port) as relay:
        phone = make_phone(relay.url)
        relay.lose_answer("GET", "/static/app/second", how="half", times=ALWAYS)
        phone.open("/")
        page = phone.page
        page.get_by_role("link", name="New job").click()
        page.get_by_label("Job title").fill("Dell Lane")
        page.get_by_role("button", name="Save job").click()
        page.get_by_role("heading", name="Dell Lane").wait_for()
        phone.wait_until("async () => fallbook.app.kept.state.reason === 'no_signal'")
        page.evaluate("() => void fallbook.app.go('/settings')")
        page.get_by_role("heading", name="Not here yet").wait_for()
        page.get_by_text("did not arrive whole").wait_for()
        assert len(relay.dropped) >= 3  # the worker's, and two of the page
        relay.rules.clear()  # from here on it comes whole
        page.get_by_role("heading", name="Settings").wait_for(timeout=60_000)
        phone.wait_until_kept()
        assert relay.by_path()["GET /sw.js"] == 1, "the worker waits for the rest and does not begin anew"
        live_server.kill()
        phone.close()
        phone.open("/settings")
        page = phone.page
        page.get_by_role("heading", name="Settings").wait_for()


def test_without_a_signal_the_screen_says_so_and_opens_when_there_is_one(visitor, shared_server):
    phone = visitor(shared_server.url)
    phone.page.route(SECOND, lambda route: route.abort("internetdisconnected"))
    phone.goto("/settings")
    phone.page.get_by_role("heading", name="Not here yet").wait_for()
    phone.page.get_by_text("there is no signal").wait_for()
    assert phone.page.evaluate("() => document.documentElement.dataset.screen") == "shown"
    phone.page.get_by_role("link", name="Back").click()
    phone.page.get_by_role("heading", name="Jobs", exact=True).wait_for()
    phone.page.evaluate("() => void fallbook.app.go('/settings')")
    phone.page.get_by_role("button", name="Try again").wait_for()
    phone.page.unroute(SECOND)
    phone.page.get_by_role("heading", name="Settings").wait_for(timeout=40_000)


@pytest.mark.parametrize(
    "wrong", ["fallbook.join('/static/app/fallbook-0000000000000000.js',()=>{});", "", "'use strict'"]
)
def test_a_wrong_or_half_part_is_never_run_and_is_fetched_again(visitor, shared_server, wrong):
    phone = visitor(shared_server.url)
    phone.allowed += [REFUSED]
    served = []

    def answer(route):
        served.append(route.request.url)
        route.fulfill(status=200, content_type="text/javascript", body=wrong)

    phone.page.route(SECOND, answer)
    phone.goto("/handbook")
    phone.page.get_by_text("did not arrive whole").wait_for()
    assert len(served) >= 2, "asked for anew before it was given up"
    phone.page.unroute(SECOND)
    phone.page.get_by_role("heading", name="Handbook").wait_for(timeout=40_000)


def test_a_part_of_a_release_that_is_gone_leads_to_the_newer_app(visitor, shared_server):
    phone = visitor(shared_server.url)
    phone.allowed += ["404"]
    phone.page.route(SECOND, lambda route: route.fulfill(status=404, body=""))
    phone.goto("/settings")
    phone.page.get_by_text("of a newer version now").wait_for()
    phone.page.unroute(SECOND)
    phone.page.get_by_role("button", name="Load the newer app").click()
    phone.page.get_by_role("heading", name="Settings").wait_for()


def test_a_damaged_copy_on_the_phone_is_mended_and_the_rest_goes_on(phone, live_server):
    job = phone.app(NEW_JOB)
    phone.wait_until_kept()
    spoil = "async (path) => { const c = await caches.open((await caches.keys())[0]); await c.put(path, new Response('half')); }"
    phone.page.evaluate(spoil, phone.page.evaluate(ADDRESS))
    phone.allowed += [REFUSED]
    live_server.kill()
    phone.close()
    phone.open(f"/jobs/{job}/leave")
    phone.page.get_by_role("heading", name="Not here yet").wait_for()
    phone.goto(f"/jobs/{job}")
    phone.page.get_by_role("heading", name="Dell Lane").wait_for()
    phone.goto(f"/jobs/{job}/leave")
    live_server.start()
    phone.page.get_by_role("heading", name="Before you leave").wait_for(timeout=60_000)
    phone.wait_until_kept()
