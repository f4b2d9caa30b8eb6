"""What the survey functions make of a run, as the pack prints it; its parts in the other modules."""

from collections.abc import Iterator, Mapping, Sequence

from ..figures.run_figures import RunFigures
from ..records.fold import Record
from ..report_model.figures import FarCheck, Figures
from ..report_model.levels import Blunder, FarTie, WaterSeen
from ..survey.errors import SurveyError
from ..survey.instruments.instruments import ASSUMED
from ..survey.levels.falls import what_would_a_tie_settle
from ..survey.levels.levels import TIED
from ..survey.levels.ponding import Backfall, Sag
from ..survey.levels.run_water import RunWater
from ..survey.records import LevelTieFields
from ..survey.wording.messages import Words
from .capacity import bottleneck_of, capacity_of, whole_run_of
from .levels import gaps_of, levels_of, rise_of, ties_of
from .trace import trace_of


def figures_of(
    words: Words, found: RunFigures, ties: Sequence[Record[LevelTieFields]], nodes: Mapping[str, str]
) -> Figures:
    """Return the figures of a run; ``nodes`` are the names of nodes by their ids."""
    profile, water = found.profile, found.water
    capacity, far_tie = found.capacity, _far_tie(found)
    return Figures(
        instruments=found.instruments,
        absolute=bool(found.model.ties),
        levels=tuple(levels_of(found)),
        rise=rise_of(found),
        lengths=tuple(found.lengths),
        ties=tuple(ties_of(words, found, ties, nodes)),
        blunders=tuple(
            Blunder(b.kind, b.from_m, b.to_m, b.size_m, b.standardised)
            for b in (profile.blunders if profile else ())
        ),
        level_findings=tuple(found.level_findings),
        zero_deg=profile.zero_deg if profile else None,
        zero_sd_deg=profile.zero_sd_deg if profile else None,
        gaps=tuple(gaps_of(found)),
        flow=capacity["flow"] if capacity else "unknown",
        flow_known=capacity["flow_known"] if capacity else "unknown",
        sags=tuple(Sag(**s) for s in water["sags"]) if water else (),
        backfalls=tuple(Backfall(**b) for b in water["backfalls"]) if water else (),
        water=tuple(_water_seen(water)) if water else (),
        capacities=tuple(capacity_of(words, row) for row in capacity["rows"]) if capacity else (),
        bottleneck=bottleneck_of(capacity["bottleneck"] if capacity else None),
        whole_run=whole_run_of(words, capacity["whole"] if capacity else None, nodes),
        limits=tuple(capacity["limits"]) if capacity else (),
        trace=trace_of(found),
        far_tie=far_tie if not isinstance(far_tie, str) else None,
        far_check=FarCheck(**check) if (check := found.extent["far_check"]) else None,
        trouble=tuple(_trouble(found, far_tie)),
    )


def _water_seen(water: RunWater) -> Iterator[WaterSeen]:
    for one in water["checks"]:
        yield WaterSeen(
            record_id=one["id"], flow_depth_m=one["flow_depth_m"], chainage_m=one["chainage_m"],
            computed_m=one["computed_m"], observed_m=one["observed_m"], difference_m=one["difference_m"],
            sd_m=one["sd_m"], verdict=one["verdict"],
        )  # fmt: skip


# what the pack calls a figure that was refused, in the order in which it tells of them
REFUSED = {
    "profile": "levels", "rise": "levels", "lengths": "falls", "last_length": "falls", "far_tie": "far_tie",
    "capacity": "capacity", "water": "water", "trace": "trace", "placed": "trace", "grading": "condition",
    "suggested": "condition",
}  # fmt: skip


def _trouble(found: RunFigures, far_tie: FarTie | str | None) -> list[tuple[str, str]]:
    """Which figures were refused, with the codes: every one is asked for."""
    for name in REFUSED:
        getattr(found, name)
    refused = dict(found.refused)
    if isinstance(far_tie, str):
        refused["far_tie"] = far_tie
    return list(dict.fromkeys((REFUSED[name], refused[name]) for name in REFUSED if name in refused))


def _far_tie(found: RunFigures) -> FarTie | str | None:
    """What a level at the far end would settle; the code where that was refused."""
    profile, model, settled = found.measured, found.model, found.far_tie
    if profile is None or settled is None or profile.stations[-1].known in TIED:
        return None
    far_m, sd_m = profile.stations[-1].chainage_m, ASSUMED["tie_sd_m"]
    try:
        tie = what_would_a_tie_settle(model.readings, model.ties, model.setup, far_m, sd_m)
    except SurveyError as error:
        return error.code
    now = sum(1 for s in profile.stations if s.known == "bounded")
    then = sum(1 for provenance in tie.known if provenance == "bounded")
    both = settled["both_ends"]
    now_sd_m = settled["now_sd_m"] if both else tie.far_now_sd_m
    then_sd_m = settled["sd_m"] if both else tie.far_sd_m
    return FarTie(far_m, sd_m, now_sd_m, then_sd_m, now, then, both)
