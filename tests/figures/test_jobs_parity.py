"""Whole jobs, from their entries: what phone and pack call unlikely, open before leaving, off by a check."""

from parity import parity
from run_cases import jobs_of_two_phones

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack.figure_words import figure_findings

TWIN = "../../tests/js/job_cases"
USED = (
    "observation_codes", "grading_limits", "actions", "visibility", "hazards", "roughness", "narrowings",
    "joint_deflections", "leave_site", "safety_sheet", "findings",
)  # fmt: skip


def with_tables(twin):
    """The tables are too large to send with each case."""
    twin.call(TWIN, "use_tables", tables.by_name(*USED))


def unlikely(run, there):
    """What the phone found in the runs that this one of the pack stands for, as the pack says it."""
    if run.length is None or not run.length.joined:
        return there[run.record_id]
    each = [(one.ref, line) for one in run.length.runs for line in there[one.record_id]]
    return [f"Run {ref}: {line}" for ref, line in each]


def phone_and_pack_agree(twin, maker):
    """Compare what both say of one job: unlikely values, open items, verdicts of the checks."""
    pack = assemble(maker.job_file())
    refs = {e["record_id"]: e["fields"]["run_ref"] for e in maker.entries if "run_ref" in e["fields"]}
    open_items = [
        (one.code, one.severity, one.run_ref, one.record_id, one.sentence) for one in pack.not_closed.items
    ]
    verdicts = {one.record_id: next(iter(one.follows), "") for one in pack.checks}

    def check(there, error):
        assert error is None, error
        for run in pack.runs:
            theirs, ours = unlikely(run, there["findings"]), [line for _, line in run.findings]
            assert ours == theirs + [line for _, line in figure_findings(pack.words, run.figures)]
        assert open_items == [
            (
                one["code"],
                one["severity"],
                refs.get(one["run_id"], ""),
                one["record_id"] or "",
                one["sentence"],
            )
            for one in there["items"]
        ]
        assert verdicts == there["verdicts"]

    twin.expect(TWIN, "job_case", (maker.job_id, maker.entries), check)


@parity(jobs_of_two_phones(), by=TWIN, first=with_tables, each=4, cases=300)
def test_phone_and_pack_say_the_same_of_a_job(twin, maker):
    phone_and_pack_agree(twin, maker)
