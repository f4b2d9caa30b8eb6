"""Every computed figure of a run, or of a length surveyed in pieces, from its records: one composition.

A figure is computed when it is first asked for. One that cannot be had is None; where it was refused,
``refused`` says with which code.
"""

from collections.abc import Sequence
from functools import cached_property

from ..survey.coding.continuous import ContinuousItem, continuous_items
from ..survey.coding.visibility import SightFacts, Visibility, visibility
from ..survey.flow.disputed_pipe import settled_rows
from ..survey.flow.types import RunCapacity
from ..survey.grading.actions import LevelFacts
from ..survey.grading.hazards import Hazard, hazards
from ..survey.grading.prohibitions import Plan
from ..survey.grading.run_grading import Grading
from ..survey.lengths.length_of_runs import WholeLength
from ..survey.levels.run_water import RunWater, run_water
from ..survey.plan.run_places import FarEnd, PlacedItem, far_end, places_along
from ..survey.plan.run_trace import RunTrace, TraceFacts, run_trace
from ..survey.plan.trace_basis import basis_of
from ..survey.records import JobFields, RunRecord
from ..survey.table_types import Tables
from .capacity import capacity_of
from .condition import grading_of, level_facts, suggested_of
from .level_figures import LevelFigures
from .run_records import RunRecords, RunSource, run_source

# the data tables that the figures read
TABLES = (
    "observation_codes",
    "grading_limits",
    "actions",
    "visibility",
    "hazards",
    "roughness",
    "narrowings",
    "joint_deflections",
)


def run_figures(recorded: RunRecord, records: RunRecords, job: JobFields, tables: Tables) -> "RunFigures":
    """Return the figures of a run; ``recorded``: ``id``, ``fields``, ``conflicts``; ``tables`` by name."""
    return RunFigures(run_source(recorded, records), job, tables)


class RunFigures(LevelFigures):
    """What the survey functions make of a run; units as there.

    ``whole``: the length that it stands for, if it is no single run; ``first``: the figures of its first run.
    """

    def __init__(
        self, source: RunSource, job: JobFields, tables: Tables, whole: WholeLength | None = None,
        first: "RunFigures | None" = None,
    ):  # fmt: skip
        super().__init__(source, job, tables, whole)
        self.first = first

    @cached_property
    def items(self) -> Sequence[ContinuousItem]:
        """What goes on along the pipe."""
        if self.whole is not None:
            return self.whole.items
        return continuous_items(self.records.observations, self.extent["end_counter_m"])["items"]

    @cached_property
    def visibility(self) -> Visibility:
        """What the camera could see."""
        if self.whole is not None and self.whole.visibility is not None:
            return self.whole.visibility
        seen, end_m, scale = self.records.observations, self.extent["end_counter_m"], self.instruments.scale
        erased = self.records.erased
        facts = SightFacts(self.run, self.stretches, seen, self.items, end_m, scale, erased)
        return visibility(facts, self.tables["visibility"])

    @cached_property
    def hazards(self) -> list[Hazard]:
        """Hazards to people, the gravest first."""
        seen, end_m = self.records.observations, self.extent["end_counter_m"]
        return hazards(seen, self.items, end_m, self.tables["hazards"]["rows"])

    @cached_property
    def capacity(self) -> RunCapacity | None:
        """What the stretches and the run carry."""
        sight, levels = (self.items, self.visibility), (self.model, self.profile)
        return self._stage(
            "capacity", lambda: capacity_of(self.source, sight, levels, self.tables, self.whole)
        )

    @cached_property
    def water(self) -> RunWater | None:
        """Standing water and lengths that rise with the flow."""
        profile, capacity = self.measured, self.capacity
        if profile is None:
            return None
        rows = settled_rows(capacity["rows"]) if capacity else []
        return self._stage(
            "water", lambda: run_water(self.run, self.records.observations, profile, rows, self.instruments)
        )

    @property
    def between(self) -> bool:
        """Whether part of the length was not surveyed: nobody knows which way the pipe goes on there."""
        return self.whole is not None and bool(self.whole.join.between)

    def _trace_facts(self) -> TraceFacts:
        """What the trace is made from."""
        own, codes = self.records, self.tables["observation_codes"]["rows"]
        return TraceFacts(
            self.run, own.nodes, own.readings, own.observations, codes, self.instruments,
            self.job.get("declination_deg"), self.job.get("grid_convergence_deg"), self.settled,
            basis_of(self.job, self.stretches, self.tables["joint_deflections"]["rows"]),
        )  # fmt: skip

    @cached_property
    def trace(self) -> RunTrace | None:
        """Where the run goes in plan; of a length with part not surveyed, where its first run goes."""
        if self.between:
            return self.first.trace if self.first is not None else None
        return self._stage("trace", lambda: run_trace(self._trace_facts()))

    @cached_property
    def end(self) -> FarEnd | None:
        """The far end, as seen from the start."""
        return None if self.between or self.trace is None else far_end(self.trace)

    @cached_property
    def placed(self) -> list[PlacedItem]:
        """Where the observations lie along the trace."""
        if self.between:
            return self.first.placed if self.first is not None else []
        seen, trace = self.records.observations, self.trace
        if trace is None:
            return []
        return self._stage("placed", lambda: places_along(seen, trace, self._trace_facts())) or []

    @cached_property
    def grading(self) -> Grading | None:
        """The preliminary classes, each with what caused it."""
        sight, capacity = (self.items, self.visibility), self.capacity
        return self._stage("grading", lambda: grading_of(self.source, sight, capacity, self.tables))

    @cached_property
    def level_facts(self) -> LevelFacts:
        """What of the levels and of the trace would be settled at the far end."""
        return level_facts(self.run, self.model, self.measured, self.end, self.far_tie)

    @cached_property
    def suggested(self) -> list[Plan] | None:
        """What to do next, by rule."""
        grading = self.grading
        if grading is None:
            return None
        return self._stage(
            "suggested",
            lambda: suggested_of(self.source, grading, self.hazards, self.level_facts, self.tables),
        )
