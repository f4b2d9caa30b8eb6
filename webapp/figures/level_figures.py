"""The figures of the levels of a run, or of a length surveyed in pieces, from its records."""

from collections.abc import Callable
from functools import cached_property
from typing import TypeVar

from ..survey.errors import SurveyError
from ..survey.instruments.instruments import ASSUMED
from ..survey.lengths.length_of_runs import WholeLength
from ..survey.lengths.levels_both_ends import with_assumed, with_unsurveyed
from ..survey.levels.bound_side import level_senses
from ..survey.levels.falls import LengthRow, length_row, length_table
from ..survey.levels.gap_inclinations import settled_inclinations
from ..survey.levels.levels import LevelProfile, level_profile
from ..survey.levels.reading_findings import LevelFinding, level_findings
from ..survey.levels.run_model import RunModel, run_model
from ..survey.levels.tie_benefit import TieBenefit, what_a_far_tie_settles
from ..survey.levels.values import LevelValue, rise_value
from ..survey.records import JobFields
from ..survey.table_types import Tables
from .run_records import RunSource

Span = tuple[float, float]
T = TypeVar("T")


class LevelFigures:
    """What all figures of a run are made from, and those of its levels; units as in the survey functions.

    ``whole``: the length that it stands for, if it is no single run.
    """

    def __init__(self, source: RunSource, job: JobFields, tables: Tables, whole: WholeLength | None = None):
        self.source, self.job, self.tables, self.whole = source, job, tables, whole
        self.run, self.records, self.instruments = source.run, source.records, source.instruments
        self.parts, self.extent, self.stretches = source.parts, source.extent, source.stretches
        self.refused: dict[str, str] = {}

    def _stage(self, name: str, make: Callable[[], T]) -> T | None:
        """Return a figure that may be refused: then ``refused`` says why."""
        try:
            return make()
        except SurveyError as error:
            self.refused[name] = error.code
            return None

    @cached_property
    def opened(self) -> tuple[RunModel, list[Span]]:
        """The model of the levels, open where nothing was surveyed; where a reading is taken to go on [m]."""
        own = self.records
        model = run_model(self.run, own.readings, own.level_ties, self.stretches, own.nodes, self.instruments)
        return with_unsurveyed(model, self.whole.join.between if self.whole is not None else ())

    @property
    def model(self) -> RunModel:
        """The model of the levels."""
        return self.opened[0]

    @cached_property
    def profile(self) -> LevelProfile | None:
        """The levels; None without a reading."""
        model, assumed = self.opened
        if not model.readings:
            return None
        return self._stage(
            "profile", lambda: with_assumed(level_profile(model.readings, model.ties, model.setup), assumed)
        )

    @property
    def measured(self) -> LevelProfile | None:
        """The levels where there are two places at least, so that there is a fall between them."""
        profile = self.profile
        return profile if profile is not None and len(profile.stations) > 1 else None

    @cached_property
    def level_findings(self) -> list[LevelFinding]:
        """What the readings say of themselves."""
        return level_findings(self.profile, [one.chainage_m for one in self.model.readings])

    @cached_property
    def senses(self) -> list[str]:
        """Of each station that is only bounded, on which side."""
        return level_senses(self.measured) if self.measured is not None else []

    @cached_property
    def rise(self) -> LevelValue | None:
        """From the start to the end, bounded where it is only bounded."""
        profile = self.measured
        if profile is None:
            return None
        return self._stage("rise", lambda: rise_value(profile.solution, 0, len(profile.stations) - 1))

    @cached_property
    def rise_known(self) -> str:
        """How that is known."""
        profile, rise = self.measured, self.rise
        if profile is None or rise is None:
            return "unknown"
        if not rise.settled:
            return "bounded"
        if profile.blunders:
            return "contradicted"
        return "assumed" if any(s.known == "assumed" for s in profile.stations[1:]) else "computed"

    @cached_property
    def lengths(self) -> list[LengthRow]:
        """The table of falls."""
        profile = self.measured
        return [] if profile is None else self._stage("lengths", lambda: length_table(profile)) or []

    @cached_property
    def last_length(self) -> LengthRow | None:
        """The length surveyed last, without the others."""
        profile = self.measured
        if profile is None:
            return None
        return self._stage("last_length", lambda: length_row(profile, len(profile.stations) - 2))

    @cached_property
    def far_tie(self) -> TieBenefit | None:
        """What a level taken at the far end would settle."""
        profile = self.measured
        if profile is None:
            return None
        return self._stage("far_tie", lambda: what_a_far_tie_settles(profile, ASSUMED["tie_sd_m"]))

    @cached_property
    def settled(self) -> dict[str, tuple[float, float, bool]]:
        """What the ties tell of readings beyond the range."""
        gaps = self.profile.gaps if self.profile is not None else ()
        return settled_inclinations(self.model.reading_ids, gaps)
