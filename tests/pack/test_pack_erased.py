"""A pack of a job of which the office took something out: it says so, and says nothing that rested on it."""

import io
import json
import re
import zipfile

import pytest
from open_pack import Pack
from pack_jobs import Maker
from servers import Server, erase

from webapp import job_pack
from webapp.assembly.job import assemble
from webapp.intake.jobs import stored_job_file
from webapp.records import job_file

POISON = "Eleonore Musterfrau"


def a_run(seen=("BAB",)):
    """A job with one run of 40 m, read all along, with a crack at 12 m and what else was seen."""
    maker = Maker()
    maker.add("job", title="Mill Lane", surveyed_on="2026-11-25")
    start, finish = maker.add("node", node_ref="MH1"), maker.add("node", node_ref="MH2")
    run = maker.add(
        "run", run_ref="F1", start_node_id=start, finish_node_id=finish, direction="with_flow",
        counter_zero_m=0.0, end_counter_m=40.0, end_reason="node_reached",
    )  # fmt: skip
    maker.add(
        "stretch", run_id=run, from_counter_m=0.0, to_counter_m=40.0, shape="circular", height_mm=300,
        material="concrete", size_known="measured",
    )  # fmt: skip
    maker.readings(run, (0.0, -1.0), (20.0, -1.0), (40.0, -1.0))
    maker.add("observation", run_id=run, counter_m=0.5, code="BCA", characterisation_1="A")
    crack = maker.add(
        "observation", run_id=run, counter_m=12.0, code="BAB", characterisation_1="B", remark=POISON
    )
    maker.add("observation", run_id=run, counter_m=30.0, code="BCA", characterisation_1="A")
    return maker, run, crack


@pytest.fixture
def served(tmp_path):
    server = Server(tmp_path / "data")
    yield server
    server.close()


def assembled(server, job_id):
    with server.app.app_context():
        return assemble(stored_job_file(job_id))


def kept(server, maker):
    assert {fate[1] for fate in server.fates(maker.entries)} == {"kept"}


def test_where_a_defect_was_erased_nobody_says_that_none_was_seen(served):
    maker, _, crack = a_run()
    kept(served, maker)
    (before,) = assembled(served, maker.job_id).runs
    assert before.sight.hidden_m == 0.0
    erase(served, maker.job_id, "record", crack, reason="A name in a remark")
    pack = assembled(served, maker.job_id)
    (run,) = pack.runs
    assert (run.sight.clear_m, run.sight.hidden_m) == (10.5, 29.5)
    assert [(p.from_m, p.to_m) for p in run.sight.parts if p.sight == "hidden"] == [(0.5, 30.0)]
    assert "it is not known what was seen: the office took out what was recorded there" in str(run.sight)


def test_a_pack_tells_what_was_taken_out_when_and_why_and_nothing_of_it(served):
    maker, _, crack = a_run()
    kept(served, maker)
    act = erase(served, maker.job_id, "record", crack, reason="A name in a remark", days=0)
    pack = assembled(served, maker.job_id)
    (told,) = pack.erased
    assert told.entries == act["entries"] == 1
    assert re.search(r"on \d{1,2} \w{3,4} \d{4}: A name in a remark", told.why)
    assert told.what == "observation (1), counter 12.00 m of run F1"
    assert pack.rejected == () and all(d.device_id for d in pack.devices)
    out = io.BytesIO()
    with served.app.app_context():
        first = stored_job_file(maker.job_id)
        manifest = job_pack.build(first, {}.get, out)
    assert manifest["erased"] == [{"entries": 1, "what": told.what, "why": told.why}]
    assert manifest["set_aside"] == []
    found = Pack(out.getvalue(), first)
    with zipfile.ZipFile(io.BytesIO(out.getvalue())) as archive:
        whole = b"".join(archive.read(name) for name in archive.namelist())
    assert POISON.encode() not in whole
    assert "The office took out 1 entry" in found.report and "A name in a remark" in found.report
    assert found.figures["runs"][0]["sight"]["hidden_m"] == 29.5


def test_the_pack_is_proved_and_its_import_makes_the_same_pack(served, tmp_path):
    maker, _, crack = a_run()
    kept(served, maker)
    erase(served, maker.job_id, "record", crack)
    with served.app.app_context():
        first = stored_job_file(maker.job_id)
    other = Server(tmp_path / "other")
    taken = other.client.post("/api/import", data=job_file.dumps(first), content_type="application/json")
    assert taken.status_code == 200, taken.text
    with other.app.app_context():
        again = stored_job_file(maker.job_id)
    other.close()
    assert json.loads(job_file.dumps(again)) == json.loads(job_file.dumps(first))


@pytest.mark.parametrize(("erased", "where"), [("start", (8.0, 20.0)), ("finish", (8.0, 20.0))])
def test_of_what_went_on_its_whole_length_is_not_known(served, erased, where):
    maker, run, _ = a_run()
    ids = {}
    for role, at_m in (("start", 8.0), ("finish", 20.0)):
        mark = {"role": role, "number": 1}
        ids[role] = maker.add(
            "observation", run_id=run, counter_m=at_m, code="BDG", characterisation_1="A", continuous=mark
        )
    kept(served, maker)
    erase(served, maker.job_id, "record", ids[erased])
    (run,) = assembled(served, maker.job_id).runs
    hidden = [(p.from_m, p.to_m) for p in run.sight.parts if p.sight == "hidden"]
    assert min(a for a, _ in hidden) <= where[0] and max(b for _, b in hidden) >= where[1]


def test_of_a_record_of_which_part_was_taken_out_the_rest_is_marked(served):
    maker, _, crack = a_run()
    maker.add("observation", crack, characterisation_1="C")
    kept(served, maker)
    last = maker.entries[-1]
    erase(served, maker.job_id, "entry", f"{last['writer']}:{last['number']}")
    pack = assembled(served, maker.job_id)
    assert pack.erased_in_part == 1
    assert [p.sight for p in pack.runs[0].sight.parts].count("hidden") == 1
