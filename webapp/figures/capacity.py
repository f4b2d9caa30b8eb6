"""What a run carries as it is: wider where a pipe is in dispute, withheld where a length is not known."""

from collections.abc import Sequence

from ..survey.coding.continuous import ContinuousItem
from ..survey.coding.visibility import Visibility
from ..survey.flow.capacity_limits import CapacityFacts, limited_capacity
from ..survey.flow.disputed_pipe import over_pipes, pipe_variants
from ..survey.flow.run_capacity import run_capacity
from ..survey.flow.types import LimitedCapacity, RunCapacity
from ..survey.flow.whole_run import whole_run_limits, with_whole_run
from ..survey.lengths.length_of_runs import STOPPED, WholeLength, stopped_counters, withheld_between
from ..survey.levels.levels import LevelProfile
from ..survey.levels.run_model import RunModel
from ..survey.records import RunFields, StretchRecord
from ..survey.table_types import Tables
from ..survey.table_types.pipe import Narrowings
from .run_records import RunSource

Sight = tuple[Sequence[ContinuousItem], Visibility]  # what goes on along a run, what could be seen of it


def capacity_of(
    source: RunSource, sight: Sight, levels: tuple[RunModel, LevelProfile | None], tables: Tables,
    whole: WholeLength | None,
) -> RunCapacity:  # fmt: skip
    """Return the capacities of a run; ``levels``: their model and, where it is solved, their profile."""
    (items, account), (model, profile) = sight, levels
    run, seen, end_m = source.run, source.records.observations, source.extent["end_counter_m"]
    rough, table = tables["roughness"]["rows"], tables["narrowings"]

    def made(pipes: Sequence[StretchRecord]) -> LimitedCapacity:
        plain = run_capacity(run, pipes, seen, rough, profile, source.instruments)
        facts = CapacityFacts(
            run, pipes, seen, items, account, end_m, profile, source.instruments.scale,
            source.records.nodes, bool(model.ties),
        )  # fmt: skip
        return limited_capacity(plain, facts, rough, table)

    stretches = source.stretches
    others = {k: mays[1:] for k, one in enumerate(stretches) if len(mays := pipe_variants(one)) > 1}
    each = {
        k: [made([*stretches[:k], may, *stretches[k + 1 :]])["rows"][k] for may in mays]
        for k, mays in others.items()
    }
    limits = [*whole_run_limits(run, stretches, seen, end_m, table), *(["pipe_in_dispute"] if each else [])]
    contradicted = profile is not None and bool(profile.blunders)
    found = with_whole_run(over_pipes(made(stretches), each), limits, contradicted)
    return found if whole is None else withheld_between(found, whole.join, is_stopped(whole, table))


def is_stopped(whole: WholeLength, table: Narrowings) -> bool:
    """Return whether what stopped a run still lies in the length, with no size recorded there."""
    run: RunFields = {"end_reason": "obstruction"}
    return any(
        STOPPED in whole_run_limits(run, whole.stretches, whole.observations, at_m, table)
        for at_m in stopped_counters(whole)
    )
