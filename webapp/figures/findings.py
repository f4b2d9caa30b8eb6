"""What is unlikely in the records of one run, by the fields and places that its figures go by."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..survey.coding.codes import Row
from ..survey.instruments.counter_resets import part_findings
from ..survey.instruments.instruments import checked_limit_deg
from ..survey.review.plausibility import FindingFacts, Placed, run_findings
from .run_records import RunSource


def findings_of(source: RunSource, codes: Sequence[Row]) -> list[Mapping[str, Any]]:
    """Return the findings on a run, as ``run_findings`` and ``part_findings``; ``codes``: the rows."""
    own, instruments = source.records, source.instruments
    others: list[Placed] = [*own.level_ties, *own.stretches, *own.remarks]
    limit_deg = checked_limit_deg(instruments)
    facts = FindingFacts(
        source.run, own.readings, own.observations, others, instruments.cable_length_m, limit_deg
    )
    return [*run_findings(facts, codes), *part_findings(source.parts, own.level_ties, own.stretches)]
