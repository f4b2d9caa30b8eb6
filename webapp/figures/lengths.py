"""Figures of one length of pipe surveyed in pieces: of its runs put together, as those of one run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .. import tables
from ..survey.flow.whole_run import whole_run_limits
from ..survey.grading.hazards import hazards
from ..survey.lengths.length_of_runs import (
    STOPPED,
    PieceRun,
    WholeLength,
    length_of_runs,
    stopped_counters,
    withheld_between,
)
from ..survey.lengths.levels_both_ends import with_unsurveyed
from ..survey.levels.run_model import run_model
from ..survey.records import CheckRecord, JobFields, NodeRecord, RunFields
from .run_figures import RunFigures, RunRecords, complete, run_figures

Item = Mapping[str, Any]
DEFECTS = ("fabric", "operation")


@dataclass(frozen=True)
class LengthFigures:
    """A length; ``figures`` None where it is not known how its runs join."""

    whole: WholeLength
    figures: RunFigures | None


def length_figures(
    runs: Sequence[PieceRun], job: JobFields, nodes: Sequence[NodeRecord], checks: Sequence[CheckRecord]
) -> LengthFigures:
    """Return the figures of a length from its runs, the first run first."""
    codes = tables.load("observation_codes")["rows"]
    counted = [row["code"] for row in codes if row["group"] in DEFECTS]
    whole = length_of_runs(runs, checks, tables.load("visibility"), counted)
    if whole.join.length_m is None:
        return LengthFigures(whole, None)
    instruments, end_m = whole.pieces[0].instruments, whole.extent["end_counter_m"]
    records = RunRecords(nodes, checks, whole.readings, whole.level_ties, whole.stretches, whole.observations)
    model = run_model(whole.run, whole.readings, whole.level_ties, whole.stretches, nodes, instruments)
    model, assumed = with_unsurveyed(model, whole.join.between)
    dangers = hazards(whole.observations, whole.items, end_m, tables.load("hazards")["rows"])
    found = RunFigures(
        whole.run,
        whole.stretches,
        instruments,
        dict(whole.extent),
        model,
        [dict(one) for one in whole.items],
        dict(whole.visibility),
        dangers,
        assumed=assumed,
    )
    found = complete(found, job, records)
    if whole.join.between:
        _first_trace(found, runs[0], job, nodes, checks)
    if found.capacity is not None:
        found.capacity = withheld_between(found.capacity, whole.join, _is_stopped(whole))
    return LengthFigures(whole, found)


def _is_stopped(whole: WholeLength) -> bool:
    """Whether what stopped a run still lies in the length, and nothing with a size is recorded there."""
    run: RunFields = {"end_reason": "obstruction"}
    table = tables.load("narrowings")
    return any(
        STOPPED in whole_run_limits(run, whole.stretches, whole.observations, at_m, table)
        for at_m in stopped_counters(whole)
    )


def _first_trace(
    found: RunFigures,
    run: PieceRun,
    job: JobFields,
    nodes: Sequence[NodeRecord],
    checks: Sequence[CheckRecord],
) -> None:
    """Nobody knows which way a pipe goes that was not surveyed: the trace ends where the first run did."""
    records = RunRecords(nodes, checks, run.readings, run.level_ties, run.stretches, run.observations)
    own = run_figures(run.run_id, run.fields, job, records)
    found.trace, found.end, found.placed = own.trace, None, own.placed
