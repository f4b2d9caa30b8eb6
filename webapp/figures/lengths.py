"""A length of pipe surveyed in pieces: its runs put together, and the figures of that as those of one run."""

from collections.abc import Sequence

from ..survey.lengths.length_of_runs import PieceRun, WholeLength, length_of_runs
from ..survey.plan.run_extent import RunExtent
from ..survey.table_types import Tables
from .run_figures import RunFigures
from .run_records import RunRecords, RunSource

DEFECTS = ("fabric", "operation")


def whole_length(runs: Sequence[RunFigures], tables: Tables) -> WholeLength:
    """Return what the runs of a length are together, from the figures of each, the first run first."""
    codes = tables["observation_codes"]["rows"]
    counted = [row["code"] for row in codes if row["group"] in DEFECTS]
    return length_of_runs(
        [piece_of(one) for one in runs], runs[0].records.checks, tables["visibility"], counted
    )


def piece_of(figures: RunFigures) -> PieceRun:
    """Return a run as a piece of a length."""
    own = figures.records
    return PieceRun(
        figures.source.run_id, figures.run, own.readings, own.level_ties, own.stretches, own.observations,
        own.erased,
    )  # fmt: skip


def length_figures(whole: WholeLength, first: RunFigures) -> RunFigures | None:
    """Return the figures of a length; None where it is not known how its runs join."""
    if whole.join.length_m is None or whole.extent is None:
        return None
    return RunFigures(length_source(whole, whole.extent, first), first.job, first.tables, whole, first)


def length_source(whole: WholeLength, extent: RunExtent, first: RunFigures) -> RunSource:
    """Return the records of a length as those of one run."""
    own = first.records
    records = RunRecords(
        own.nodes, own.checks, whole.readings, whole.level_ties, whole.stretches, whole.observations
    )
    instruments = whole.pieces[0].instruments
    return RunSource(first.source.run_id, whole.run, records, (), instruments, extent, whole.stretches)
