"""What is unlikely in the records of one run, by the fields and places that its figures go by."""

from collections.abc import Sequence

from ..survey.coding.codes import Row
from ..survey.findings import RecordFinding
from ..survey.instruments.counter_resets import part_findings
from ..survey.instruments.instruments import checked_limit_deg
from ..survey.review.plausibility import FindingFacts, Placed, run_findings
from .run_records import RunSource


def findings_of(source: RunSource, codes: Sequence[Row]) -> list[RecordFinding]:
    """Return the findings on a run, as ``run_findings`` and ``part_findings``; ``codes``: the rows."""
    own, instruments = source.records, source.instruments
    others: list[Placed] = [*own.level_ties, *own.stretches, *own.remarks]
    limit_deg = checked_limit_deg(instruments)
    # a clock position that is there, though it cannot be used, is not missing
    lost = {(one["record_id"], f"{one['field']}_missing") for one in source.unusable}
    facts = FindingFacts(
        source.run, own.readings, own.observations, others, instruments.cable_length_m, limit_deg
    )
    unlikely = [one for one in run_findings(facts, codes) if (one["record_id"], one["code"]) not in lost]
    return [*unlikely, *part_findings(source.parts, own.level_ties, own.stretches), *source.unusable]
