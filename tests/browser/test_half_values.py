"""Values of several parts that an earlier version stored in half: the phone shows the rest, and says so."""

import uuid

TOLD = "was stored incomplete or cannot be read, so it is not used"
ADD = "async (app, changes) => { await app.store.addEntries(changes[0].record_id, changes); }"


def test_the_log_shows_the_rest_of_a_record_and_says_what_is_not_used(newcomer):
    job, node, run, reading, observation = (str(uuid.uuid4()) for _ in range(5))
    level = {"size": 1.0, "unit": "deg", "sense": "falling"}
    made = (
        ("job", job, {"title": "Half values"}),
        ("node", node, {"node_ref": "N1", "position": {"lat_deg": 52.0}}),
        ("run", run, {"run_ref": "R1", "start_node_id": node, "direction": "with_flow"}),
        ("reading", str(uuid.uuid4()), {"run_id": run, "counter_m": 1.0, "inclination": level}),
        ("reading", reading, {"run_id": run, "counter_m": 5.0, "inclination": {"sense": "falling"}}),
        ("observation", observation, {"run_id": run, "counter_m": 3.0, "code": "BAB", "characterisation_1": "B",
                                      "remark": "by the joint", "clock": {"hour_to": 3}}),
    )  # fmt: skip
    phone = newcomer
    phone.go_offline()  # a server of today refuses such entries
    phone.app(ADD, [{"kind": k, "record_id": i, "fields": f} for k, i, f in made])
    phone.app("async (app, path) => app.go(path)", f"/jobs/{job}/runs/{run}")
    page = phone.page
    page.get_by_text(TOLD).first.wait_for()
    # the reading's and the observation's in their rows, the node's above them
    assert page.get_by_text(TOLD).count() == 3
    assert page.get_by_text("by the joint").count() >= 1


def test_a_node_that_no_run_names_is_shown_with_what_is_not_used(newcomer):
    job, node = str(uuid.uuid4()), str(uuid.uuid4())
    made = (
        ("job", job, {"title": "Half values"}),
        ("node", node, {"node_ref": "N1", "position": {"lat_deg": 52.0}}),
    )
    phone = newcomer
    phone.go_offline()
    phone.app(ADD, [{"kind": k, "record_id": i, "fields": f} for k, i, f in made])
    phone.app("async (app, path) => app.go(path)", f"/jobs/{job}/nodes")
    phone.page.get_by_text("Position incomplete, so not used").wait_for()
    phone.page.get_by_text("N1").click()
    phone.page.get_by_text(TOLD).wait_for()
