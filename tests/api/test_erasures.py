"""The eraser: what is erased is shown to nobody and taken from nobody again, all else is the same."""

import hashlib
import io
import re
import sqlite3
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from servers import Server, entries, entry, erase, error_of
from sqlalchemy import event, text

from webapp import timesource
from webapp.erasing import acts, clearing
from webapp.records.erasure import act_of, stamp
from webapp.store.engine import reading
from webapp.store.models import db
from webapp.timesource import new_id
from webapp.web.state import state_of

POISON = "Eleonore Musterfrau"


def jpeg(shade):
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (shade, 9, 9)).save(out, "JPEG")
    return out.getvalue()


def a_job(server, job_id):
    """Fill a job: its record, a run with observations, a photo, and two writers."""
    run, note, data = new_id(), new_id(), jpeg(7)
    sha256 = hashlib.sha256(data).hexdigest()
    photo = {"sha256": sha256, "size_bytes": len(data), "media_type": "image/jpeg", "caption": "the face"}
    sent = [
        entry(job_id, "writer-aaaa", 1, "job", {"title": "Mill Lane"}),
        entry(job_id, "writer-aaaa", 2, "run", {"run_ref": "F1"}, run),
        entry(job_id, "writer-aaaa", 3, "observation", {"run_id": run, "counter_m": 4.5, "code": "BAB"}),
        entry(job_id, "writer-aaaa", 4, "photo", photo),
        entry(job_id, "writer-bbbb", 1, "remark", {"text": POISON}, note),
        entry(job_id, "writer-bbbb", 2, "remark", {"text": f"{POISON} again"}, note),
        entry(job_id, "writer-bbbb", 3, "remark", {"text": "fine"}),
    ]
    assert {fate[1] for fate in server.fates(sent)} == {"kept"}
    put(server, sha256, data)
    return {"sent": sent, "run": run, "note": note, "sha256": sha256, "data": data}


def put(server, sha256, data):
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(data)), "Content-Type": "image/jpeg"}
    return server.client.put(f"/api/photos/{sha256}", data=data, headers=headers)


def undo(server, act):
    return server.client.post(f"/api/erasures/{act['id']}/undo", json={})


def job_file(server, job_id):
    return server.client.get(f"/api/jobs/{job_id}").data


def acts_told(server, job_id, **told):
    answer = server.sync(jobs={job_id: {"have": {}}}, **({"erased": {job_id: told}} if told else {}))
    return answer.json.get("erased", {}).get(job_id)


def test_a_record_is_hidden_counts_as_held_and_comes_back_to_the_byte(server, job_id):
    made = a_job(server, job_id)
    before, rows = job_file(server, job_id), server.all_rows() | {"change": None}
    act = erase(server, job_id, "record", made["note"])
    assert act["entries"] == 2 and POISON.encode() not in job_file(server, job_id)
    pulled = server.pull(job_id)
    assert POISON not in str(pulled) and pulled["jobs"][job_id]["have"] == {
        "writer-aaaa": 4,
        "writer-bbbb": 3,
    }
    assert pulled["aside"][job_id]["writer-bbbb:1"]["code"] == "erased"
    assert "on request" in pulled["aside"][job_id]["writer-bbbb:1"]["reasons"]["entry"][0]
    assert undo(server, act).json["state"] == "undone"
    assert job_file(server, job_id) == before and server.all_rows() | {"change": None} == rows


@pytest.mark.parametrize("days", [30, 0])
def test_no_phone_and_no_file_brings_it_back(server, job_id, days, tmp_path):
    made = a_job(server, job_id)
    old_file = job_file(server, job_id)
    erase(server, job_id, "writer", "writer-bbbb", days)
    fates = server.fates(made["sent"])
    assert [fate[1:3] for fate in fates[4:]] == [["set_aside", "erased"]] * 3
    taken = server.client.post("/api/import", data=old_file, content_type="application/json")
    assert taken.status_code == 200 and taken.json["set_aside"] == 3
    assert POISON.encode() not in job_file(server, job_id) and not server.all_rows()["clash"]
    later = entry(job_id, "writer-bbbb", 4, "remark", {"text": "written since"})
    assert server.fates([later])[0][1] == "kept" and b"written since" in job_file(server, job_id)


def test_of_what_was_expunged_no_byte_is_left_on_the_disk(tmp_path, job_id):
    server = Server(tmp_path / "data")
    made = a_job(server, job_id)
    server.fates(
        [
            entry(job_id, "writer-cccc", n, "remark", {"text": f"{POISON} {'x' * 3000} {n}"})
            for n in range(1, 40)
        ]
    )
    for what, target in (("record", made["note"]), ("writer", "writer-cccc"), ("photo", made["sha256"])):
        assert erase(server, job_id, what, target, days=0)["cleared"]
    held = [path for path in (tmp_path / "data").rglob("*") if path.is_file()]
    assert [path.name for path in held if POISON.encode() in path.read_bytes()] == []
    assert [path.name for path in held if made["data"] in path.read_bytes()] == []
    server.close()


def test_a_photo_goes_with_its_record_is_not_wanted_and_not_taken(server, job_id):
    made = a_job(server, job_id)
    act = erase(server, job_id, "photo", made["sha256"])
    assert server.client.get(f"/media/photos/{made['sha256']}").status_code == 404
    assert server.pull(job_id)["photos_wanted"] == []
    assert error_of(put(server, made["sha256"], made["data"]))["code"] == "photo_erased"
    assert undo(server, act).status_code == 200
    assert server.client.get(f"/media/photos/{made['sha256']}").data == made["data"]


def test_what_would_go_is_told_by_names_that_a_person_can_check(server, job_id):
    made = a_job(server, job_id)
    page = server.client.get(f"/office/jobs/{job_id}/erase").text
    for what, target, name in (
        ("record", made["sent"][2]["record_id"], "Observation BAB Crack or fracture, at 4.5 m, Run F1"),
        ("entry", "writer-aaaa:3", "Observation BAB Crack or fracture, at 4.5 m, Run F1"),
        ("photo", made["sha256"], "Photo the face"),
    ):
        body = {"what": what, "target": target}
        found = server.client.post(f"/api/jobs/{job_id}/erasures/preview", json=body).json
        assert found["named"] == [name] and f">{name}</option>" in page
    assert made["sha256"] not in re.sub(r'value="[^"]*"', "", page)
    assert re.search(r">A phone without a name: 4 entries, \d+ \w+ \d{4}", page)


def test_an_erased_photo_that_another_job_names_is_not_asked_for_either(server, job_id):
    made, other = a_job(server, job_id), new_id()
    photo = made["sent"][3]["fields"]
    server.fates([entry(other, "writer-dddd", 1, "photo", photo)])
    body = {"what": "record", "target": made["sent"][3]["record_id"]}
    found = server.client.post(f"/api/jobs/{job_id}/erasures/preview", json=body).json
    assert found["photos"] == [] and found["photos_elsewhere"] == [made["sha256"]]
    erase(server, job_id, "photo", made["sha256"], days=0)
    assert server.pull(other)["photos_wanted"] == []


def test_a_whole_job_is_gone_from_the_lists_and_what_comes_later_is_kept_and_told(server, job_id):
    a_job(server, job_id)
    act = erase(server, job_id, "job")
    assert server.sync(jobs={}).json["others"] == []
    assert next(j for j in server.client.get("/api/jobs").json["jobs"])["removed"]
    server.fates([entry(job_id, "writer-eeee", 1, "remark", {"text": "from the van"})])
    (listed,) = server.client.get("/api/erasures").json["erasures"]
    assert listed["later"] == 1 and "from the van" in job_file(server, job_id).decode()
    assert "came from a phone after the job was erased" in server.client.get("/office/erasures").text
    undo(server, act)
    assert b"Mill Lane" in job_file(server, job_id) and b"from the van" in job_file(server, job_id)


def test_phones_are_told_once_and_again_when_it_changes(server, job_id):
    made = a_job(server, job_id)
    assert acts_told(server, job_id) is None
    act = erase(server, job_id, "record", made["note"])
    (told,) = acts_told(server, job_id)["acts"]
    assert told["spans"] == {"writer-bbbb": [[1, 2]]} and told["state"] == "quarantined"
    assert acts_told(server, job_id, stamp=stamp({told["id"]: told["state"]})) is None
    undo(server, act)
    (told,) = acts_told(server, job_id, stamp=stamp({told["id"]: "quarantined"}))["acts"]
    assert told["state"] == "undone"
    again = acts_told(server, job_id, stamp=stamp({told["id"]: "undone"}), again=["writer-bbbb:1"])
    assert again["entries"] == [made["sent"][4]]


def test_a_server_put_back_from_a_backup_hears_of_it_again_from_a_phone(tmp_path, job_id):
    server = Server(tmp_path / "data")
    made = a_job(server, job_id)
    erase(
        server, job_id, "entry", "writer-bbbb:3"
    )  # so that there is a key, as on any server that ever erased
    with sqlite3.connect(tmp_path / "data" / "fallbook.sqlite") as source:
        saved = sqlite3.connect(tmp_path / "saved")
        source.backup(saved)
        saved.close()
    erase(server, job_id, "record", made["note"])
    acts = acts_told(server, job_id)["acts"]
    server.close()
    for name in ("fallbook.sqlite-wal", "fallbook.sqlite-shm"):
        (tmp_path / "data" / name).unlink(missing_ok=True)
    (tmp_path / "saved").replace(tmp_path / "data" / "fallbook.sqlite")
    again = Server(tmp_path / "data")
    assert POISON in str(again.pull(job_id))
    forged = [a | {"reason": "forged"} for a in acts]
    acts_told(again, job_id, stamp="x", acts=forged)
    assert POISON in str(again.pull(job_id)), "an act that this server never made"
    acts_told(again, job_id, stamp="x", acts=acts)
    assert POISON not in str(again.pull(job_id))
    again.close()


def test_an_act_is_signed_by_a_reason_and_only_undone_until_its_day(server, job_id, monkeypatch):
    made = a_job(server, job_id)
    body = {"what": "record", "target": made["note"]}
    for wrong in (
        {"reason": ""},
        {"reason": "a"},
        {"reason": "x" * 501},
        {"reason": "good", "days": -1},
        {"reason": "good", "days": "3"},
    ):
        assert (
            error_of(server.client.post(f"/api/jobs/{job_id}/erasures", json=body | wrong))["code"]
            == "request_malformed"
        )
    act = erase(server, job_id, "record", made["note"], days=1)
    now = timesource.now_utc()
    monkeypatch.setattr(timesource, "now_utc", lambda: now.replace(year=now.year + 1))
    assert error_of(undo(server, act))["code"] == "erasure_over"
    lines = server.client.get("/api/audit").json["lines"]
    assert [line["detail"]["reason"] for line in lines if line["action"] == "erased"] == ["on request"]


def test_a_phone_that_holds_only_the_frame_brings_it_and_nothing_is_stuck(server, job_id):
    act = new_id()
    frame = {"job_id": job_id, "writer": "writer-ffff", "number": 1, "erased": {"act": act}}
    after = entry(job_id, "writer-ffff", 2, "remark", {"text": "after it"})
    fates = server.fates([frame, after])
    assert fates[0][1:3] == ["set_aside", "erased"] and fates[1][1] == "kept"
    assert server.fates([frame])[0][1:3] == ["set_aside", "erased"]
    smuggled = frame | {"writer": "writer-gggg", "fields": {"text": "x"}}
    assert server.fates([smuggled])[0][2] == "entry_refused"


@given(data=st.data())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_is_erased_all_else_is_the_same_and_undo_restores_to_the_byte(server, data):
    job_id = new_id()
    made = a_job(server, job_id)
    server.fates(entries(job_id, "writer-hhhh", 1, data.draw(st.integers(1, 6))))
    before = server.client.get(f"/api/jobs/{job_id}").json
    whole, bytes_before = (
        {f"{e['writer']}:{e['number']}": e for e in before["entries"]},
        job_file(server, job_id),
    )
    target = data.draw(st.sampled_from(sorted(whole)))
    meant = data.draw(st.sampled_from(["entry", "record", "writer", "job"]))
    named = {
        "entry": target,
        "record": whole[target]["record_id"],
        "writer": target.rpartition(":")[0],
        "job": "",
    }
    act = erase(server, job_id, meant, named[meant])
    after = {
        f"{e['writer']}:{e['number']}": e for e in server.client.get(f"/api/jobs/{job_id}").json["entries"]
    }
    gone = {i for i, e in after.items() if "erased" in e}
    assert after.keys() == whole.keys() and len(gone) == act["entries"] and target in gone
    assert {i: e for i, e in after.items() if i not in gone} == {
        i: e for i, e in whole.items() if i not in gone
    }
    server.fates([e for e in made["sent"]])
    undo(server, act)
    assert job_file(server, job_id) == bytes_before


def test_only_what_is_an_act_is_taken_for_one():
    assert act_of({}) is None and act_of([]) is None and act_of({"id": 3}) is None


def test_on_its_day_a_running_server_expunges_what_was_hidden(server, job_id, monkeypatch):
    made = a_job(server, job_id)
    erase(server, job_id, "record", made["note"], days=1)
    state = state_of(server.app)
    with server.app.app_context():
        clearing.on_its_day(state.folder, state.photos.place)
        assert server.client.get("/api/erasures").json["erasures"][0]["state"] == "quarantined"
        later = timesource.now_utc() + timedelta(days=2)
        monkeypatch.setattr(timesource, "now_utc", lambda: later)
        clearing.on_its_day(state.folder, state.photos.place)
    assert server.client.get("/api/erasures").json["erasures"][0]["state"] == "expunged"


class Cut(Exception):
    """The server died here."""


def all_of(server):
    with server.app.app_context(), reading() as connection:
        return {
            table: sorted(map(tuple, connection.execute(text(f"SELECT * FROM {table}"))), key=repr)
            for table in ("entry", "clash", "photo", "erasure", "erased_entry", "erased_photo", "change")
        }


@pytest.mark.parametrize("meant", ["erase", "expunge", "undo"])
def test_cut_at_every_statement_nothing_of_an_act_is_done(server, job_id, meant):
    """On both databases; ``store/test_killed_erasing.py`` kills the process itself."""
    made = a_job(server, job_id)
    standing = erase(server, job_id, "record", made["note"])
    wanted = {"job_id": job_id, "what": "photo", "target": made["sha256"], "reason": "on request", "days": 0}
    acts_of = {
        "erase": lambda: acts.erase(wanted, acts.By()),
        "expunge": lambda: acts.expunge(standing["id"], acts.By()),
        "undo": lambda: acts.undo(standing["id"], acts.By()),
    }
    left = [0]

    def before(*_):
        left[0] -= 1
        if not left[0]:
            raise Cut

    whole = all_of(server)
    with server.app.app_context():
        event.listen(db.engine, "before_cursor_execute", before)
        for statement in range(1, 100):
            left[0] = statement
            try:
                acts_of[meant]()
            except Cut:
                left[0] = 0
                assert all_of(server) == whole, statement
            else:
                break
        event.remove(db.engine, "before_cursor_execute", before)
    assert 5 < statement < 99 and all_of(server) != whole


def test_the_audit_log_names_jobs_so_that_they_are_told_apart(server, job_id):
    """Jobs that are made in the same minute begin with the same eight characters."""
    weir, one, other = (job_id[:-1] + digit for digit in "012")
    names = {weir: "Weir", one: "Mill Lane", other: "Mill Lane"}
    for job, title in names.items():
        server.fates([entry(job, "writer-aaaa", 1, "job", {"title": title}), entry(job, "writer-aaaa", 2)])
        erase(server, job, "entry", "writer-aaaa:2")
    page = server.client.get("/office/audit").text
    shown = {job: re.search(rf'href="/office/jobs/{job}">([^<]*)<', page)[1] for job in names}
    assert shown == {weir: "Weir", one: f"Mill Lane ({one})", other: f"Mill Lane ({other})"}
    erase(server, weir, "job")
    page = server.client.get("/office/audit").text
    assert re.search(rf'href="/office/jobs/{weir}">Job without a title \({weir}\)<', page)
