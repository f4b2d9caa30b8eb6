"""Composites that are not whole: every figure is as if they were not there, on both sides; that is told."""

from half_composites import damaged, whole_by_schema, without_halves
from hypothesis import given, settings
from parity import parity
from run_cases import with_entries
from test_figures_parity import TWIN, apart, both_sides_agree, ours, with_tables
from test_jobs_parity import TWIN as JOBS
from test_jobs_parity import phone_and_pack_agree
from test_jobs_parity import with_tables as with_tables_of_jobs

from webapp.survey.composites import FORMS


@parity(damaged(), by=TWIN, first=with_tables, each=2, cases=200)
def test_phone_and_server_make_the_same_of_what_is_not_whole(twin, case):
    both_sides_agree(twin, case)


@parity(damaged().map(with_entries), by=JOBS, first=with_tables_of_jobs, each=4, cases=100)
def test_phone_and_pack_say_the_same_of_what_is_not_whole(twin, maker):
    phone_and_pack_agree(twin, maker)


@settings(max_examples=60, deadline=None)
@given(damaged())
def test_no_figure_rests_on_what_is_not_whole(case):
    found, plain = ours(case), ours(without_halves(case))
    for one in (*found["runs"], *plain["runs"], found["length"], plain["length"]):
        if one is not None:
            del one["records"], one["source"]
    for name in ("runs", "length", "leave"):
        others = [one for one in apart(found[name], plain[name]) if not one.endswith("unusable: only ours")]
        assert others == [], name
    told = {
        (f["record_id"], f["field"])
        for run in found["findings"]
        for f in run
        if f["code"] == "value_not_whole"
    }
    for run in case["runs"]:
        for record in (run["recorded"], *run["records"]["readings"], *run["records"]["observations"]):
            for name in FORMS:
                whole = whole_by_schema(name, record["fields"].get(name))
                assert ((record["id"], name) in told) != whole
