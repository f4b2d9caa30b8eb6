"""Every computed figure of a run, from its records: one composition of the survey functions."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from .. import tables
from ..survey.coding.continuous import continuous_items
from ..survey.coding.run_end import closed_stretches, ended_run
from ..survey.coding.visibility import visibility
from ..survey.errors import SurveyError
from ..survey.flow.capacity_limits import CapacityFacts, limited_capacity
from ..survey.flow.disputed_pipe import over_pipes, pipe_variants, settled_rows, settled_run
from ..survey.flow.run_capacity import run_capacity
from ..survey.flow.whole_run import whole_run_limits, with_whole_run
from ..survey.grading.hazards import hazards
from ..survey.instruments.instruments import ASSUMED, Instruments, instruments_of
from ..survey.lengths.levels_both_ends import with_assumed
from ..survey.levels.bound_side import level_senses
from ..survey.levels.falls import LengthRow, TiePrediction, length_table, what_would_a_tie_settle
from ..survey.levels.gap_inclinations import settled_inclinations
from ..survey.levels.levels import TIED, LevelProfile, level_profile
from ..survey.levels.run_model import RunModel, run_model
from ..survey.levels.run_water import run_water
from ..survey.levels.values import LevelValue, rise_value
from ..survey.plan.run_extent import run_extent
from ..survey.plan.run_places import far_end, places_along
from ..survey.plan.run_trace import run_trace
from ..survey.plan.trace_basis import basis_of
from ..survey.records import (
    CheckRecord,
    JobFields,
    LevelTieRecord,
    NodeRecord,
    ObservationRecord,
    ReadingRecord,
    RunFields,
    StretchRecord,
)
from .condition import condition_of, level_facts

Item = Mapping[str, Any]


@dataclass(frozen=True)
class RunRecords:
    """The records behind a run: ``id`` and ``fields`` each, in the order of their making.

    ``nodes`` and ``checks`` are those of the job, the others those of the run.
    """

    nodes: Sequence[NodeRecord] = ()
    checks: Sequence[CheckRecord] = ()
    readings: Sequence[ReadingRecord] = ()
    level_ties: Sequence[LevelTieRecord] = ()
    stretches: Sequence[StretchRecord] = ()
    observations: Sequence[ObservationRecord] = ()


@dataclass
class RunFigures:
    """What the survey functions make of a run; None where a figure cannot be had.

    ``run`` and ``stretches`` are the records with their ends, as ``ended_run`` and ``closed_stretches``.
    ``trouble``: which figure was refused, and the code of the refusal. ``assumed``: chainages [m] between
    which a reading is taken to go on. Units as in ``webapp.survey``.
    """

    run: RunFields
    stretches: Sequence[StretchRecord]
    instruments: Instruments
    extent: dict[str, Any]
    model: RunModel
    items: list[dict[str, Any]] = field(default_factory=list)
    visibility: dict[str, Any] = field(default_factory=dict)
    hazards: list[dict[str, Any]] = field(default_factory=list)
    profile: LevelProfile | None = None
    senses: list[str] = field(default_factory=list)
    rise: LevelValue | None = None
    lengths: list[LengthRow] = field(default_factory=list)
    water: dict[str, Any] | None = None
    capacity: dict[str, Any] | None = None
    trace: dict[str, Any] | None = None
    end: dict[str, Any] | None = None
    placed: list[dict[str, Any]] = field(default_factory=list)
    far_tie: TiePrediction | None = None
    condition: dict[str, Any] | None = None
    trouble: list[tuple[str, str]] = field(default_factory=list)
    assumed: list[tuple[float, float]] = field(default_factory=list)


def run_figures(
    run_id: str, run: RunFields, job: JobFields, records: RunRecords,
    conflicts: Mapping[str, Sequence[Sequence[Any]]] | None = None,
) -> RunFigures:  # fmt: skip
    """Return every computed figure of a run; what is refused stands in ``trouble``, never raised.

    ``conflicts``: the values of the run's own fields that stand in dispute.
    """
    instruments = instruments_of(records.checks, run_id)
    run = ended_run(settled_run(run, conflicts), records.observations)
    extent = run_extent(run, records.readings, records.observations, instruments)
    stretches = closed_stretches(records.stretches, extent["end_counter_m"])
    model = run_model(run, records.readings, records.level_ties, stretches, records.nodes, instruments)
    found = RunFigures(run, stretches, instruments, extent, model)
    _sight(found, records)
    return complete(found, job, records)


def complete(found: RunFigures, job: JobFields, records: RunRecords) -> RunFigures:
    """Return the figures with all that follows from what was seen and from the model of the levels."""
    instruments = found.instruments
    run, stretches, model = found.run, found.stretches, found.model
    if model.readings:
        found.profile = _try(found, "levels", lambda: _profile(found))
    if found.profile is not None and len(found.profile.stations) > 1:
        _from_levels(found, found.profile, records)
    found.capacity = _try(found, "capacity", lambda: _capacity(found, records))
    if found.profile is not None and len(found.profile.stations) > 1:
        profile, rows = found.profile, settled_rows(found.capacity["rows"]) if found.capacity else []
        found.water = _try(
            found, "water", lambda: run_water(run, records.observations, profile, rows, instruments)
        )
    _plan(found, job, records)
    levels = _try(found, "far_tie", lambda: level_facts(run, found.profile, model, found.end)) or {}
    facts = found.extent["end_counter_m"], found.visibility, found.hazards, found.items
    found.condition = _try(
        found,
        "condition",
        lambda: condition_of(
            run, stretches, records.observations, found.capacity, levels, instruments, facts
        ),
    )
    return found


def _profile(found: RunFigures) -> LevelProfile:
    model = found.model
    return with_assumed(level_profile(model.readings, model.ties, model.setup), found.assumed)


def _sight(found: RunFigures, records: RunRecords) -> None:
    """What the camera could see, and the hazards that it showed."""
    end_m, seen = found.extent["end_counter_m"], records.observations
    items = found.items = continuous_items(seen, end_m)["items"]
    scale = found.instruments.scale
    table = tables.load("visibility")
    found.visibility = visibility(found.run, found.stretches, seen, items, end_m, scale, table)
    found.hazards = hazards(seen, items, end_m, tables.load("hazards")["rows"])


def _capacity(found: RunFigures, records: RunRecords) -> dict[str, Any]:
    """What the run carries as it is."""
    run, stretches, seen, profile = found.run, found.stretches, records.observations, found.profile
    rough = tables.load("roughness")["rows"]
    table, end_m = tables.load("narrowings"), found.extent["end_counter_m"]

    def made(pipes: Sequence[StretchRecord]) -> dict[str, Any]:
        plain = run_capacity(run, pipes, seen, rough, profile, found.instruments)
        facts = CapacityFacts(
            run, pipes, seen, found.items, found.visibility, end_m, profile, found.instruments.scale,
            records.nodes, bool(found.model.ties),
        )  # fmt: skip
        return limited_capacity(plain, facts, rough, table)

    others = {k: mays[1:] for k, one in enumerate(stretches) if len(mays := pipe_variants(one)) > 1}
    each = {
        k: [made([*stretches[:k], may, *stretches[k + 1 :]])["rows"][k] for may in mays]
        for k, mays in others.items()
    }
    limits = [*whole_run_limits(run, stretches, seen, end_m, table), *(["pipe_in_dispute"] if each else [])]
    contradicted = profile is not None and bool(profile.blunders)
    return with_whole_run(over_pipes(made(stretches), each), limits, contradicted)


def _try(found: RunFigures, figure: str, make: Callable[[], Any]) -> Any:
    try:
        return make()
    except SurveyError as error:
        found.trouble.append((figure, error.code))
        return None


def _from_levels(found: RunFigures, profile: LevelProfile, records: RunRecords) -> None:
    model, last = found.model, len(profile.stations) - 1
    found.senses = level_senses(profile)
    found.rise = _try(found, "levels", lambda: rise_value(profile.solution, 0, last))
    found.lengths = _try(found, "falls", lambda: length_table(profile)) or []
    far_m = profile.stations[last].chainage_m
    if profile.stations[last].known not in TIED:
        found.far_tie = _try(
            found,
            "far_tie",
            lambda: what_would_a_tie_settle(
                model.readings, model.ties, model.setup, far_m, ASSUMED["tie_sd_m"]
            ),
        )


def _plan(found: RunFigures, job: JobFields, records: RunRecords) -> None:
    codes = tables.load("observation_codes")["rows"]
    run, nodes, readings, seen = found.run, records.nodes, records.readings, records.observations
    gaps = found.profile.gaps if found.profile is not None else ()
    settled = settled_inclinations(found.model.reading_ids, gaps)
    turns = job.get("declination_deg"), job.get("grid_convergence_deg")
    basis = basis_of(job, found.stretches, tables.load("joint_deflections")["rows"])
    trace = _try(
        found,
        "trace",
        lambda: run_trace(run, nodes, readings, seen, codes, found.instruments, *turns, settled, basis),
    )
    found.trace = trace
    if trace is not None:
        found.end = _try(found, "trace", lambda: far_end(trace))
        found.placed = (
            _try(
                found,
                "trace",
                lambda: places_along(seen, run, nodes, readings, found.instruments, trace, settled),
            )
            or []
        )
