"""A phone's database that an earlier version left behind opens with nothing lost and syncs."""

import base64
import json
from pathlib import Path

import left_behind
import pytest
import steps
from left_behind import MADE, PHONE
from server_process import ServerProcess

from webapp.records.fold import fold

JOB, RUN = PHONE["job"], PHONE["run"]
PHOTO = "async (app, sha256) => Array.from(new Uint8Array((await app.store.photo(sha256)).bytes))"


@pytest.fixture
def server(tmp_path):
    one = ServerProcess(left_behind.data_folder(tmp_path / "data")).start()
    yield one
    one.kill()


@pytest.fixture
def old_phone(visitor, server):
    """A phone with the old database and no signal, on which today's app has just been opened."""
    one = visitor(server.url)
    one.bare()
    one.page.evaluate(left_behind.script("install"), PHONE)
    one.allowed.append("status of 409")  # a photo of which the server has a piece goes on from there
    one.context.route("**/api/**", lambda route: route.abort())
    one.goto("/")
    return one


def rows_of(store):
    return {json.dumps(key): value for key, value in PHONE["stores"][store]["rows"]}


def test_all_that_was_recorded_is_there(old_phone):
    seen = old_phone.app(left_behind.script("seen"))
    assert left_behind.holds(seen, PHONE["seen"]) == []
    now = old_phone.page.evaluate(f"({left_behind.script('dump')})('fallbook')")
    for store in PHONE["stores"]:
        found = {json.dumps(key): value for key, value in now["stores"][store]["rows"]}
        for key, value in rows_of(store).items():
            assert key == '"sync:log"' or found.get(key) == value, (store, key)


def test_settings_photos_and_drafts_are_met_by_who_uses_them(old_phone):
    page = old_phone.page
    for key, value in rows_of("meta").items():
        if json.loads(key).startswith("setting:"):
            name = json.loads(key).removeprefix("setting:")
            assert old_phone.app("async (app, name) => app.store.setting(name)", name) == value
    for key, row in rows_of("photos").items():
        assert bytes(old_phone.app(PHOTO, json.loads(key))) == base64.b64decode(row["bytes"]["$base64"])
    assert "night" in page.evaluate("document.documentElement.className").split()
    old_phone.goto("/settings")
    assert page.get_by_label("Surveyor").input_value() == "A. Nyone"
    old_phone.goto(f"/jobs/{JOB}/runs/{RUN}/readings/new")
    assert steps.field(page, "Counter reading").input_value() == "12.75"
    assert steps.field(page, "Inclination").input_value() == "1.1"
    old_phone.goto(f"/jobs/{JOB}/runs/{RUN}/observations/new")
    assert steps.field(page, "Counter reading").input_value() == "7.2"


def test_it_goes_on_to_the_server(old_phone, server):
    old_phone.context.unroute("**/api/**")
    old_phone.app("async (app) => app.sync.run()")
    counts = old_phone.app("async (app) => (await app.store.outbox()).counts")
    assert counts == {"entries": 0, "photos": 0, "aside": PHONE["seen"]["counts"]["aside"]}
    for job in (JOB, PHONE["only_here"]):
        there = {(one.kind, one.id): one for one in fold(kept(server, job))}
        for kind, records in PHONE["seen"]["jobs"][job].items():
            for record in records:
                assert there[kind, record["id"]].fields == record["fields"]
    for row in rows_of("photos").values():
        assert server.get(f"/media/photos/{row['sha256']}") == base64.b64decode(row["bytes"]["$base64"])


def test_a_photo_of_which_a_piece_had_come_is_fetched_to_its_end(old_phone):
    ((key, part),) = rows_of("photo_parts").items()
    sha256 = json.loads(key)[0]
    old_phone.context.unroute("**/api/**")
    old_phone.app("async (app) => app.sync.run()")
    old_phone.wait_until(
        "async (sha256) => (await import('/static/js/main.js')).app.store.hasPhoto(sha256)", sha256
    )
    (whole,) = (Path(left_behind.VERSION) / "photos").rglob(sha256)
    assert bytes(old_phone.app(PHOTO, sha256)) == whole.read_bytes()
    assert whole.read_bytes().startswith(base64.b64decode(part["bytes"]["$base64"]))


def kept(server, job):
    """Return the entries of a job that the records are folded from."""
    answer = server.exchange(jobs={job: {"have": {}}})
    rejected = answer["aside"].get(job, {})
    return [one for one in answer["entries"] if f"{one['writer']}:{one['number']}" not in rejected]


def test_the_fixture_holds_something_of_everything():
    stores = PHONE["stores"]
    assert all(
        stores[name]["rows"] for name in ("entries", "aside", "photos", "photo_parts", "drafts", "meta")
    )
    assert MADE["job"] == JOB and len(PHONE["seen"]["drafts"]) == 2
    assert {"entries": 3, "photos": 1, "aside": 1} == PHONE["seen"]["counts"]
