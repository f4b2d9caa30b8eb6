"""A run that ended short goes on from the other end, with no signal, and both make one length."""

import re

import pytest
from pack_jobs import Maker
from steps import button, link_or_button
from test_screens import faults_of
from two_ended import nodes_of, piece

ADD = """async (app, changes) => { await app.store.addEntries(changes[0].record_id, changes); }"""
SHOW = "async (app, path) => app.go(path)"
RECORDS = """async (app, [job, kind]) => {
  const view = await app.store.job(job);
  return view.records(kind).map((one) => ({ id: one.id, ...one.fields }));
}"""


def changes_of(maker):
    return [{name: e[name] for name in ("kind", "record_id", "fields")} for e in maker.entries]


@pytest.fixture
def surveyor(newcomer):
    """On the log of a run of 45 m that met an obstruction at 28.40 m, out of reach of the server."""
    maker = Maker()
    maker.add("job", title="A drain with a brick in it")
    ends = nodes_of(maker)
    run_id = piece(maker, "R1", ends, 28.4, expected_length_m=45.0)
    roots = {"code": "BBA", "characterisation_1": "B", "quantification_1": 25}
    maker.add("observation", run_id=run_id, counter_m=27.0, **roots)
    maker.add("observation", run_id=run_id, code="BDC", counter_m=28.4, characterisation_1="A")
    one = newcomer
    one.go_offline()
    one.app(ADD, changes_of(maker))
    one.job, one.run, one.ends = maker.job_id, run_id, ends
    one.app(SHOW, f"/jobs/{maker.job_id}/runs/{run_id}")
    return one


def from_the_other_end(one):
    """Save the new run; return its id."""
    page = one.page
    page.get_by_role("heading", name="Survey from the other end").wait_for()
    button(page, "Save run").click()
    page.get_by_role("heading", name="Survey from the other end").wait_for(state="detached")
    (new_id,) = [run["id"] for run in one.app(RECORDS, [one.job, "run"]) if run["id"] != one.run]
    return new_id


def ended(surveyor, run_id, end_m, *seen):
    """End the second run, with what it saw."""
    fields = {"end_counter_m": end_m, "end_reason": "obstruction", "counter_zero_m": 0.0}
    maker = Maker()
    maker.made = 500
    for m in range(0, int(end_m) + 1, 2):
        maker.readings(run_id, (float(m), 0.5))
    for one in seen:
        maker.add("observation", run_id=run_id, **one)
    changes = [{"kind": "run", "record_id": run_id, "fields": fields}, *changes_of(maker)]
    surveyor.app(
        "async (app, [job, changes]) => { await app.store.addEntries(job, changes); }",
        [surveyor.job, changes],
    )


def words(page, name):
    found = page.locator(f'[data-figure="{name}"]').inner_text()
    return " ".join(found.replace("\u00a0", " ").split())


@pytest.mark.parametrize("way", ["log", "leave"])
def test_a_run_goes_on_from_the_other_end_with_nodes_pipe_and_length(surveyor, way):
    page = surveyor.page
    if way == "leave":
        surveyor.app(SHOW, f"/jobs/{surveyor.job}/leave?run={surveyor.run}")
        page.get_by_role("link", name=re.compile("survey the rest from the other end")).click()
    else:
        link_or_button(page, "Survey from the other end").click()
    new_id = from_the_other_end(surveyor)
    run = next(one for one in surveyor.app(RECORDS, [surveyor.job, "run"]) if one["id"] == new_id)
    first, second = surveyor.ends
    assert (run["start_node_id"], run["finish_node_id"]) == (second, first)
    assert (run["direction"], run["expected_length_m"]) == ("against_flow", 45)
    assert run["continues_run_id"] == surveyor.run
    (pipe,) = [s for s in surveyor.app(RECORDS, [surveyor.job, "stretch"]) if s["run_id"] == new_id]
    assert (pipe["shape"], pipe["height_mm"], pipe["material"]) == ("circular", 300, "concrete")
    assert pipe["size_known"] == "assumed" and pipe["remark"] == "Taken over from run R1."
    surveyor.app(SHOW, f"/jobs/{surveyor.job}/leave?run={surveyor.run}")
    page.get_by_role("heading", name="Before you leave").wait_for()
    shown = " ".join(page.locator(".open-item").all_inner_texts())
    assert "Where the run ends is not known" not in shown and "from the other end" not in shown


@pytest.mark.parametrize(("width", "height"), [(390, 844), (360, 640)])
def test_the_whole_length_says_what_lies_between(surveyor, width, height):
    page = surveyor.page
    page.set_viewport_size({"width": width, "height": height})
    link_or_button(page, "Survey from the other end").click()
    new_id = from_the_other_end(surveyor)
    ended(surveyor, new_id, 10.0, {"code": "BAB", "counter_m": 3.0, "characterisation_1": "B"})
    surveyor.app(SHOW, f"/jobs/{surveyor.job}/runs/{new_id}")
    link = page.get_by_role("link", name=re.compile("The whole length: R1 \\+ R2"))
    assert "38.40 m of 45.00 m seen, 6.60 m not seen" in link.inner_text().replace("\u00a0", " ")
    link.click()
    page.get_by_role("heading", name="The whole length").wait_for()
    join = words(page, "join")
    assert "by the length expected: 45.00 m" in join and "6.60 m." in join
    assert "Not surveyed: from 28.40 m to 35.00 m." in join
    assert "From 28.40 m to 35.00 m nothing could be seen: not surveyed." in words(page, "sight")
    assert "Not given: 6.60 m of the length were not surveyed." in words(page, "carries")
    assert "not known over 6.60 m" in words(page, "operation")
    assert faults_of(page) == []


def test_what_both_runs_saw_is_marked_as_the_same(surveyor):
    page = surveyor.page
    link_or_button(page, "Survey from the other end").click()
    new_id = from_the_other_end(surveyor)
    roots = {"code": "BBA", "characterisation_1": "B", "quantification_1": 30}
    ended(surveyor, new_id, 19.0, {"counter_m": 18.2, **roots})
    surveyor.app(SHOW, f"/jobs/{surveyor.job}/runs/{surveyor.run}/length")
    page.get_by_role("heading", name="The whole length").wait_for()
    assert "1 defect may have been recorded in two runs" in words(page, "join")
    button(page, "The same").first.click()
    button(page, "Not the same").wait_for()
    join = words(page, "join")
    assert "join at what both runs saw: 45.20 m" in join and "may have been" not in join
    (seen,) = [o for o in surveyor.app(RECORDS, [surveyor.job, "observation"]) if o.get("same_as")]
    assert (seen["run_id"], seen["counter_m"]) == (new_id, 18.2)
    button(page, "Not the same").click()
    page.get_by_text("1 defect may have been recorded").wait_for()
