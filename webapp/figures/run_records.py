"""What the figures of a run are computed from: its records, counted on through resets, with their ends."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..survey.coding.run_end import closed_stretches, ended_run
from ..survey.composites import usable
from ..survey.findings import RecordFinding
from ..survey.flow.disputed_pipe import settled_run
from ..survey.instruments.counter_resets import CounterPart, as_if_never_reset
from ..survey.instruments.instruments import Instruments, instruments_of
from ..survey.plan.run_extent import RunExtent, run_extent
from ..survey.records import (
    CheckRecord,
    LevelTieRecord,
    NodeRecord,
    ObservationRecord,
    PhotoRecord,
    ReadingRecord,
    RemarkRecord,
    RunFields,
    RunRecord,
    StretchRecord,
)


@dataclass(frozen=True)
class RunRecords:
    """The records behind a run: ``id`` and ``fields`` each, ``conflicts`` where values stand in dispute.

    In the order of their making. ``nodes`` and ``checks`` are those of the job, the others those of the run.
    ``erased``: the places of its observations that were erased, as stretches.
    """

    nodes: Sequence[NodeRecord] = ()
    checks: Sequence[CheckRecord] = ()
    readings: Sequence[ReadingRecord] = ()
    level_ties: Sequence[LevelTieRecord] = ()
    stretches: Sequence[StretchRecord] = ()
    observations: Sequence[ObservationRecord] = ()
    remarks: Sequence[RemarkRecord] = ()
    photos: Sequence[PhotoRecord] = ()
    erased: Sequence[StretchRecord] = ()


@dataclass(frozen=True)
class RunSource:
    """A run with its records as the figures take them.

    ``run``: its fields as ``ended_run``. The stretches of ``records`` are as recorded, ``stretches`` are
    closed as by ``closed_stretches``. ``parts``: its counter between resets. ``extent``: as ``run_extent``.
    ``unusable``: findings on what was taken out of the records because it is not whole.
    """

    run_id: str
    run: RunFields
    records: RunRecords
    parts: Sequence[CounterPart]
    instruments: Instruments
    extent: RunExtent
    stretches: Sequence[StretchRecord]
    unusable: Sequence[RecordFinding] = ()


def run_source(stored: RunRecord, stored_records: RunRecords) -> RunSource:
    """Return a run as its figures take it; records that count on through resets already stay as they are.

    Composites that are not whole are taken out first: no figure rests on them.

    The values in dispute of its own fields count, but for those of its end after a reset, which were read in
    parts of the counter that nobody tells apart.
    """
    recorded, records = usable(stored), _usable_records(stored_records)
    instruments = instruments_of(records.checks, recorded["id"])
    moved, by_kind, parts = as_if_never_reset(
        recorded["fields"],
        {
            "reading": records.readings,
            "level_tie": records.level_ties,
            "stretch": [*records.stretches, *records.erased],
            "observation": records.observations,
            "remark": records.remarks,
            "photo": records.photos,
        },
    )
    count = len(records.stretches)
    whole = replace(
        records,
        readings=by_kind["reading"],
        level_ties=by_kind["level_tie"],
        stretches=by_kind["stretch"][:count],
        erased=by_kind["stretch"][count:],
        observations=by_kind["observation"],
        remarks=by_kind["remark"],
        photos=by_kind["photo"],
    )
    run = ended_run(settled_run(moved, disputes_of(recorded, parts)), whole.observations)
    extent = run_extent(run, whole.readings, whole.observations, instruments)
    closed = closed_stretches(whole.stretches, extent["end_counter_m"])
    unusable = list(_unusable(recorded, records))
    return RunSource(recorded["id"], run, whole, parts, instruments, extent, closed, unusable)


def _usable_records(records: RunRecords) -> RunRecords:
    return replace(
        records,
        nodes=[usable(one) for one in records.nodes],
        checks=[usable(one) for one in records.checks],
        readings=[usable(one) for one in records.readings],
        stretches=[usable(one) for one in records.stretches],
        observations=[usable(one) for one in records.observations],
    )


def _unusable(recorded: RunRecord, records: RunRecords) -> Iterator[RecordFinding]:
    """What was taken out of the run and its records; of those of the job, out of its nodes and checks."""
    run = recorded["fields"]
    ends = (run.get("start_node_id"), run.get("finish_node_id"))
    nodes = [one for one in records.nodes if one["id"] in ends]
    checks = [
        one for one in records.checks if (one["fields"].get("run_id") or recorded["id"]) == recorded["id"]
    ]
    for record in (recorded, *nodes, *checks, *records.readings, *records.stretches, *records.observations):
        for name in record.get("unusable", ()):
            yield {"record_id": record["id"], "code": "value_not_whole", "field": name, "values": {}}


def disputes_of(recorded: RunRecord, parts: Sequence[CounterPart]) -> dict[str, Any]:
    """Return the values of a run's own fields that stand in dispute and can be held against each other."""
    conflicts = recorded.get("conflicts") or {}
    return {name: values for name, values in conflicts.items() if name != "end_counter_m" or len(parts) < 2}
