"""The condition of a run, what to do next, and what of its levels a visit to the far end would settle."""

from collections.abc import Sequence

from ..survey.coding.visibility import with_unseen
from ..survey.flow.types import RunCapacity
from ..survey.grading.actions import LevelFacts, suggested_actions
from ..survey.grading.graded_pieces import GradingFacts
from ..survey.grading.hazards import Hazard
from ..survey.grading.prohibitions import Plan, with_prohibitions
from ..survey.grading.run_grading import Grading, run_grading
from ..survey.levels.levels import TIED, LevelProfile
from ..survey.levels.run_model import RunModel
from ..survey.levels.tie_benefit import TieBenefit
from ..survey.plan.run_places import FarEnd
from ..survey.records import RunFields
from ..survey.table_types import Tables
from .capacity import Sight
from .run_records import RunSource


def grading_of(source: RunSource, sight: Sight, capacity: RunCapacity | None, tables: Tables) -> Grading:
    """Return the preliminary classes of a run, each with what caused it."""
    items, account = sight
    codes, scheme = tables["observation_codes"]["rows"], tables["grading_limits"]
    scale = source.instruments.scale
    facts = GradingFacts(
        source.run, source.stretches, source.records.observations, items,
        capacity["rows"] if capacity else [], source.extent["end_counter_m"], scale,
    )  # fmt: skip
    return with_unseen(run_grading(facts, codes, scheme), account, scale)


def suggested_of(
    source: RunSource, grading: Grading, dangers: Sequence[Hazard], levels: LevelFacts, tables: Tables
) -> list[Plan]:
    """Return what to do next, by rule, and what a hazard forbids; ``levels`` from ``level_facts``."""
    scale, zero_m = source.instruments.scale, source.run.get("counter_zero_m") or 0.0
    plan = suggested_actions(grading, levels, tables["actions"], scale)
    return with_prohibitions(plan, dangers, tables["hazards"]["rows"], tables["actions"], zero_m, scale)


def level_facts(
    run: RunFields,
    model: RunModel,
    profile: LevelProfile | None,
    end: FarEnd | None,
    far_tie: TieBenefit | None,
) -> LevelFacts:
    """Return what of the levels and of the trace would be settled at the far end."""
    reached = run.get("end_reason") == "node_reached"  # then somebody stood there
    facts: LevelFacts = {"radius_m": end["radius_m"] if end and not reached else None}
    if profile is None or far_tie is None or profile.stations[-1].known in TIED:
        return facts
    return facts | {
        "far_m": profile.stations[-1].chainage_m,
        "now_sd_m": far_tie["now_sd_m"],
        "then_sd_m": far_tie["sd_m"],
        "both_ends": far_tie["both_ends"],
        "gaps_m": [model.readings[g.reading].chainage_m for g in profile.gaps if g.status != "solved"],
    }
