"""A writer belongs to the device that first used it; what a hand-over file brought is passed on."""

import json

from servers import entries, entry

PHONE_A, PHONE_B = "phone a", "phone b"


def of(job_id, first, last, phone=PHONE_A, writer="writer-of-a"):
    return entries(job_id, writer, first, last, device_id=phone)


def outcomes(fates):
    return [outcome[1:3] for outcome in fates]


def numbers(van, job_id):
    return [e["number"] for e in van.this_machine().sync(jobs={job_id: {"have": {}}}).json["entries"]]


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
