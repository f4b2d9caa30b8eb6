"""What findings and the leave list go by: settled fields, values in dispute, a limit that was checked."""

from webapp import tables
from webapp.figures.findings import findings_of
from webapp.figures.leave import leave_items
from webapp.figures.run_records import RunRecords, run_source

CODES = tables.load("observation_codes")["rows"]
USED = tables.by_name("leave_site", "observation_codes", "safety_sheet", "visibility", "hazards")
STEEP = {"size": 12.0, "unit": "deg", "sense": "falling"}
LIMIT = {"id": "c", "fields": {"check_type": "inclinometer_limit", "limit_deg": 10.0}}
RUN = {"id": "r", "fields": {"end_counter_m": 20.0, "end_reason": "node_reached"}}


def one(kind_id, **fields):
    return {"id": kind_id, "fields": {"run_id": "r", **fields}}


def codes_found(*checks):
    reading = one("a", counter_m=1.0, inclination=STEEP)
    source = run_source(RUN, RunRecords(readings=[reading], checks=checks))
    return [found["code"] for found in findings_of(source, CODES)]


def items_of(run, **records):
    return leave_items({"job": []}, [run_source(run, RunRecords(**records))], {}, USED)


def test_no_reading_is_beyond_a_limit_that_nobody_checked():
    assert codes_found() == []
    assert codes_found(LIMIT) == ["inclination_beyond_limit"]


def test_where_two_ends_stand_the_length_between_is_asked_for_at_the_run():
    disputed = RUN | {"conflicts": {"end_counter_m": [["a:1", 20.0], ["b:1", 12.0]]}}
    seen = [one("o", code="BCD", counter_m=0.0), one("p", code="BCE", counter_m=20.0)]
    found = [item for item in items_of(disputed, observations=seen) if item["code"] == "not_seen"]
    assert [(item["kind"], item["record_id"], item["field"]) for item in found] == [
        ("run", "r", "end_counter_m")
    ]
    assert found[0]["values"] == {"from_m": 12.0, "to_m": 20.0}


def test_a_hazard_that_stands_under_one_of_two_values_is_told_as_possible():
    seen = one("o", code="BAP", counter_m=5.0)
    disputed = seen | {"conflicts": {"code": [["a:1", "BAP"], ["b:1", "BBA"]]}}
    assert items_of(RUN, observations=[seen])[0]["code"] == "hazard"
    assert items_of(RUN, observations=[disputed])[0]["code"] == "hazard_possible"


def test_in_which_order_two_phones_disagreed_does_not_count():
    conflicts = [{"kind": "run", "id": "r", "field": "remark"}, {"kind": "check", "id": "c", "field": "unit"}]
    for given in (conflicts, conflicts[::-1]):
        told = leave_items({"job": []}, [], {"conflicts": given}, USED)
        assert [item["kind"] for item in told if item["code"] == "conflict_open"] == ["check", "run"]
