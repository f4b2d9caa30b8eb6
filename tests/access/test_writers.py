"""A writer belongs to the device that first used it; what a hand-over file brought is passed on."""

import json

from access_kit import on_both
from servers import Server, entries, entry

from webapp.records import job_file

PHONE_A, PHONE_B = "phone a", "phone b"


def of(job_id, first, last, phone=PHONE_A, writer="writer-of-a"):
    return entries(job_id, writer, first, last, device_id=phone)


def outcomes(fates):
    return [outcome[1:3] for outcome in fates]


def numbers(van, job_id, writer=None):
    found = van.this_machine().sync(jobs={job_id: {"have": {}}}).json["entries"]
    return [e["number"] for e in found if writer in (None, e["writer"])]


def test_another_device_cannot_write_under_it(van, job_id):
    a, b = van.let_in(), van.let_in()
    assert outcomes(a.fates(of(job_id, 1, 2), phone=PHONE_A)) == [["kept"], ["kept"]]
    forged = of(job_id, 3, 4)
    assert outcomes(b.fates(forged, phone=PHONE_A)) == [["not_taken", "writer_foreign"]] * 2
    assert numbers(van, job_id) == [1, 2]
    true = of(job_id, 3, 3)
    assert outcomes(a.fates(true, phone=PHONE_A)) == [["kept"]]
    assert numbers(van, job_id) == [1, 2, 3]


def test_what_a_handover_file_brought_is_passed_on_and_its_phone_goes_on(van, job_id):
    a, b = van.let_in(), van.let_in()
    handed = of(job_id, 1, 5)
    assert outcomes(b.fates(handed, phone=PHONE_B)) == [["kept"]] * 5
    more = of(job_id, 6, 7)
    assert outcomes(a.fates([*handed, *more], phone=PHONE_A)) == [["kept_already"]] * 5 + [["kept"]] * 2
    assert outcomes(b.fates(of(job_id, 8, 8), phone=PHONE_B)) == [["not_taken", "writer_foreign"]]


def test_passing_on_does_not_make_a_phone_the_owner(van, job_id):
    a, b = van.let_in(), van.let_in()
    b.fates(of(job_id, 1, 1), phone=PHONE_B)
    # In its own name B cannot claim what another phone wrote, not even by naming itself so.
    b.fates([entry(job_id, "writer-of-a", 2, device_id=PHONE_B)], phone=PHONE_B)
    assert outcomes(a.fates(of(job_id, 3, 3), phone=PHONE_A)) == [["kept"]]


def test_the_same_again_is_kept_already_whoever_brings_it(van, job_id):
    a, b = van.let_in(), van.let_in()
    sent = of(job_id, 1, 3)
    a.fates(sent, phone=PHONE_A)
    assert outcomes(b.fates(sent, phone=PHONE_B)) == [["kept_already"]] * 3


def test_what_waits_beside_is_on_disk_and_the_office_can_take_it(van, job_id):
    a, b = van.let_in(), van.let_in()
    a.fates(of(job_id, 1, 1), phone=PHONE_A)
    lost = of(job_id, 2, 4)
    for _ in range(2):  # asked twice, kept once
        b.fates(lost, phone=PHONE_B)
    rows = van.all_rows()["clash"]
    assert len(rows) == 3 and json.loads(rows[0][4])["writer"] == "writer-of-a"
    assert "Take what another phone brought" in van.this_machine().get(f"/office/jobs/{job_id}").text
    taken = van.let_in("office").post(f"/api/jobs/{job_id}/beside/accept").json
    assert (taken["kept"], taken["not_taken"]) == (3, 0)
    assert numbers(van, job_id) == [1, 2, 3, 4] and van.all_rows()["clash"] == []
    assert outcomes(a.fates(lost, phone=PHONE_A)) == [["kept_already"]] * 3


def test_its_own_phone_settles_what_waited_beside(van, job_id):
    a, b = van.let_in(), van.let_in()
    a.fates(of(job_id, 1, 1), phone=PHONE_A)
    forged, true = of(job_id, 2, 2), of(job_id, 2, 2)
    b.fates(forged, phone=PHONE_B)
    assert outcomes(a.fates(true, phone=PHONE_A)) == [["kept"]]
    van.let_in("office").post(f"/api/jobs/{job_id}/beside/accept")
    (kept,) = [
        e for e in van.this_machine().sync(jobs={job_id: {"have": {"writer-of-a": 1}}}).json["entries"]
    ]
    assert kept["record_id"] == true[0]["record_id"]


def test_a_file_that_the_office_takes_may_hold_anybodys_entries(van, job_id):
    from webapp.records import job_file

    a = van.let_in()
    a.fates(of(job_id, 1, 1), phone=PHONE_A)
    here = van.this_machine().sync(jobs={job_id: {"have": {}}}).json["entries"]
    file = job_file.dumps(job_file.build(job_id, [*here, *of(job_id, 2, 3)], {}, []))
    answer = van.let_in("office").open("POST", "/api/import", data=file, content_type="application/json")
    assert answer.json["kept"] == 2, answer.text
    assert numbers(van, job_id) == [1, 2, 3]


def test_a_phone_of_one_job_brings_no_other(van, job_id):
    own, _ = van.job_with_photo(7)
    phone = van.let_in("surveyor", own)
    mine = entry(own, "writer-of-a", 1, device_id=PHONE_A)
    sent = [*of(job_id, 1, 1), mine]
    answer = phone.sync(sent, jobs={job_id: {"have": {}}, own: {"have": {}}}, phone=PHONE_A)
    assert outcomes(answer.json["fates"]) == [["not_taken", "access_job"], ["kept"]]
    assert answer.json["jobs"][job_id] == {"refused": "access_job"} and "have" in answer.json["jobs"][own]
    assert numbers(van, job_id) == []


# writers that came by a file which the office took in


def imported(van, job_id, last, phone=PHONE_A, writer="writer-of-a"):
    document = job_file.build(job_id, of(job_id, 1, last, phone, writer), {}, [])
    van.this_machine().open("POST", "/api/import", json=document)
    assert numbers(van, job_id, writer)[-1] == last
    return document["entries"]


@on_both
def test_another_phone_cannot_go_on_in_the_name_of_an_imported_one(van, job_id):
    other = van.let_in()
    other.fates(of(job_id, 1, 1, PHONE_B, "writer-of-b"), phone=PHONE_B)
    imported(van, job_id, 3)
    for named in (PHONE_A, PHONE_B):  # as the phone itself, and as somebody who passes it on
        assert outcomes(other.fates(of(job_id, 4, 4), phone=named)) == [["not_taken", "writer_foreign"]]
    assert numbers(van, job_id, "writer-of-a")[-1] == 3
    assert len(van.all_rows()["clash"]) == 2


def test_the_phone_that_is_named_goes_on(van, job_id):
    handed = imported(van, job_id, 3)
    phone = van.let_in()
    sent = [*handed, *of(job_id, 4, 5)]
    assert outcomes(phone.fates(sent, phone=PHONE_A)) == [["kept_already"]] * 3 + [["kept"]] * 2
    other = van.let_in()
    assert outcomes(other.fates(of(job_id, 6, 6), phone=PHONE_A)) == [["not_taken", "writer_foreign"]]
    assert outcomes(phone.fates(of(job_id, 6, 6), phone=PHONE_A)) == [["kept"]]


def test_a_phone_that_came_before_goes_on_after_an_import(van, job_id):
    phone, other = van.let_in(), van.let_in()
    phone.fates(of(job_id, 1, 1, PHONE_A, "writer-of-a-earlier"), phone=PHONE_A)
    imported(van, job_id, 3)
    assert outcomes(other.fates(of(job_id, 4, 4), phone=PHONE_A)) == [["not_taken", "writer_foreign"]]
    assert outcomes(phone.fates(of(job_id, 4, 4), phone=PHONE_A)) == [["kept"]]


@on_both
def test_what_the_office_holds_of_it_can_be_taken(van, job_id):
    other = van.let_in()
    other.fates(of(job_id, 1, 1, PHONE_B, "writer-of-b"), phone=PHONE_B)
    handed = imported(van, job_id, 2)
    other.fates([*handed, *of(job_id, 3, 4)], phone=PHONE_B)
    assert numbers(van, job_id, "writer-of-a")[-1] == 2
    taken = van.let_in("office").post(f"/api/jobs/{job_id}/beside/accept").json
    assert (taken["kept"], taken["not_taken"]) == (2, 0)
    assert numbers(van, job_id, "writer-of-a")[-1] == 4


def test_a_longer_file_is_taken_and_an_owner_stays_one(van, job_id):
    phone, whole = van.let_in(), of(job_id, 1, 6)
    phone.fates(whole[:2], phone=PHONE_A)
    van.let_in("office").open("POST", "/api/import", json=job_file.build(job_id, whole[:4], {}, []))
    van.let_in("office").open("POST", "/api/import", json=job_file.build(job_id, whole, {}, []))
    assert numbers(van, job_id, "writer-of-a")[-1] == 6
    assert outcomes(phone.fates([*whole[2:], *of(job_id, 7, 7)], phone=PHONE_A)) == [["kept_already"]] * 4 + [
        ["kept"]
    ]


def test_on_a_server_of_one_machine_its_own_phone_goes_on(tmp_path, job_id):
    one = Server(tmp_path / "data")
    document = job_file.build(job_id, of(job_id, 1, 2), {}, [])
    assert one.client.post("/api/import", json=document).status_code == 200
    answer = one.sync(of(job_id, 3, 3), device_id=PHONE_A)
    assert outcomes(answer.json["fates"]) == [["kept"]]
    one.close()
