"""The condition of a run and what to do next: one composition of the survey functions."""

from collections.abc import Mapping, Sequence
from typing import Any

from .. import tables
from ..survey.coding.visibility import with_unseen
from ..survey.grading.actions import suggested_actions
from ..survey.grading.prohibitions import with_prohibitions
from ..survey.grading.run_grading import run_grading
from ..survey.instruments.instruments import ASSUMED, Instruments
from ..survey.levels.levels import TIED, LevelProfile
from ..survey.levels.run_model import RunModel
from ..survey.levels.tie_benefit import what_a_far_tie_settles
from ..survey.records import ObservationRecord, RunFields, StretchRecord

Item = Mapping[str, Any]


def condition_of(
    run: RunFields, stretches: Sequence[StretchRecord], observations: Sequence[ObservationRecord],
    capacity: Mapping[str, Any] | None, levels: Mapping[str, Any], instruments: Instruments,
    sight: tuple[float | None, Mapping[str, Any], Sequence[Item], Sequence[Item]],
) -> dict[str, Any]:  # fmt: skip
    """Return ``grading`` (as ``run_grading``) and ``suggested`` (as ``with_prohibitions``) of a run.

    ``sight``: the counter reading to which it was surveyed [m], what ``visibility`` says of it, its hazards,
    what goes on along it.
    """
    end_m, account, dangers, items = sight
    codes, scheme = tables.load("observation_codes")["rows"], tables.load("grading_limits")
    rows = capacity["rows"] if capacity else []
    grading = run_grading(run, stretches, observations, items, codes, rows, scheme, end_m, instruments.scale)
    grading = with_unseen(grading, account, instruments.scale)
    suggested = suggested_actions(grading, levels, tables.load("actions"), instruments.scale)
    rows, zero_m = tables.load("hazards")["rows"], run.get("counter_zero_m") or 0.0
    plan = with_prohibitions(suggested, dangers, rows, tables.load("actions"), zero_m, instruments.scale)
    return {"grading": grading, "suggested": plan}


def level_facts(
    run: RunFields, profile: LevelProfile | None, model: RunModel, end: Mapping[str, Any] | None
) -> dict[str, Any]:
    """Return what of the levels and of the trace would be settled at the far end."""
    reached = run.get("end_reason") == "node_reached"  # then somebody stood there
    facts: dict[str, Any] = {"radius_m": end["radius_m"] if end and not reached else None}
    if profile is None or len(profile.stations) < 2 or profile.stations[-1].known in TIED:
        return facts
    settles = what_a_far_tie_settles(profile, ASSUMED["tie_sd_m"])
    return facts | {
        "far_m": profile.stations[-1].chainage_m,
        "now_sd_m": settles["now_sd_m"],
        "then_sd_m": settles["sd_m"],
        "both_ends": settles["both_ends"],
        "gaps_m": [model.readings[g.reading].chainage_m for g in profile.gaps if g.status != "solved"],
    }
