"""Addresses of what this phone does not hold: a job of the server, the office with no network."""

import json
import re

import pytest
from steps import button
from test_screens import SAMPLES, faults_of
from test_worker import NEW_JOB


def known_of(sample):
    """Return a sample's job, its title and a run of it."""
    job = json.loads((sample / "job.json").read_text(encoding="utf-8"))
    title = next(one["fields"]["title"] for one in job["records"] if one["kind"] == "job")
    return job["job_id"], title, next(one["id"] for one in job["records"] if one["kind"] == "run")


JOB_ON_SERVER = min(map(known_of, SAMPLES), key=lambda known: known[1])


@pytest.mark.parametrize("path", ["", "/photos", "/leave", "/runs/{run}/readings/new"])
def test_a_deep_link_to_a_job_of_the_server_offers_to_take_it_and_goes_on_there(
    visitor, sampled_server, path
):
    job, title, run = JOB_ON_SERVER
    at = f"/jobs/{job}{path.format(run=run)}"
    one = visitor(sampled_server.url)
    one.goto(at)
    one.page.get_by_role("heading", name="Not on this phone").wait_for()
    one.page.get_by_text(title).wait_for()
    assert faults_of(one.page) == []
    button(one.page, "Take onto this phone").click()
    one.page.get_by_role("heading", name="Not on this phone").wait_for(state="hidden")
    one.page.wait_for_url(re.compile(re.escape(at) + "$"))
    assert one.app("async (app, job) => (await app.store.job(job)).job.fields.title", job) == title
    one.page.get_by_role("link", name="Back").click()  # not to the page that said that it is away
    one.page.wait_for_timeout(200)
    assert one.page.get_by_role("heading", name="Not on this phone").count() == 0


def test_with_no_network_it_says_so_and_goes_on_when_there_is_one(phone, live_server):
    phone.app(NEW_JOB)
    phone.app("async (app) => app.sync.run()")
    live_server.kill()
    unknown = "/jobs/01990000-0000-7000-8000-000000000000"
    phone.goto(unknown)
    phone.page.get_by_text("This job is not on this phone, and the server cannot be reached.").wait_for()
    assert button(phone.page, "Take onto this phone").count() == 0
    assert faults_of(phone.page) == []
    phone.page.get_by_role("link", name="To the jobs").wait_for()
    assert phone.page.get_by_role("link", name="To the jobs").bounding_box()["height"] >= 44
    live_server.start()
    button(phone.page, "Try again").click()
    phone.page.get_by_text("This job is neither on this phone nor on the server.").wait_for()


def test_a_job_that_was_listed_before_the_signal_went_is_named_and_comes_by_itself(
    make_phone, visitor, live_server
):
    first = visitor(live_server.url)
    first.goto("/")
    job = first.app(NEW_JOB)["job"]
    first.app("async (app) => app.sync.run()")
    first.close()
    phone = make_phone(live_server.url, "second").open("/")
    phone.wait_for_worker()
    phone.app("async (app) => app.sync.run()")
    live_server.kill()
    phone.goto(f"/jobs/{job}")
    phone.page.get_by_text(
        "“Dell Lane” is on the server, not on this phone. The server cannot be reached"
    ).wait_for()
    button(phone.page, "Take onto this phone").click()
    phone.page.get_by_text("It comes by itself when the server can be reached.").wait_for()
    live_server.start()
    phone.app("async (app) => app.sync.run()")
    phone.page.get_by_role("link", name="Add run").wait_for()  # the page is that of the job now


def test_the_office_with_no_network_says_so_in_our_own_words(phone, live_server):
    for path in ("/office", "/office/phones", "/office?x=1"):
        the_office_is_said_to_be_away(phone, live_server, path)


def the_office_is_said_to_be_away(phone, live_server, path):
    phone.page.goto(live_server.url + path)
    assert "Fallbook" in phone.page.title()
    assert phone.page.get_by_text("The server cannot be reached").count() == 0
    live_server.kill()
    phone.page.goto(live_server.url + path)
    phone.page.get_by_role("heading", name="Office").wait_for()
    phone.page.get_by_text("The server cannot be reached, and the office is a page of the server.").wait_for()
    assert faults_of(phone.page) == []
    live_server.start()
    with phone.page.expect_navigation():
        button(phone.page, "Try again").click()
    assert phone.page.get_by_text("The server cannot be reached").count() == 0
    live_server.kill()
    phone.page.goto(live_server.url + path)
    phone.page.get_by_role("link", name="To the jobs").click()
    phone.page.get_by_role("heading", name="Jobs", exact=True).wait_for()
    live_server.start()
