"""The computed figures of a run as the writers of a pack use them: nothing left to compute.

Units stand in the names. Their parts stand in ``levels``, ``capacity`` and ``plan``.
"""

from dataclasses import dataclass

from ..survey.instruments.instruments import Instruments
from ..survey.levels.falls import LengthRow
from ..survey.levels.ponding import Backfall, Sag
from ..survey.levels.reading_findings import LevelFinding
from .capacity import Bottleneck, Capacity, WholeRun
from .levels import Blunder, FarTie, Gap, Level, Rise, Tie, WaterSeen
from .plan import Trace


@dataclass(frozen=True)
class FarCheck:
    """The counter at the far node against the length expected."""

    difference_m: float
    difference_pct: float
    allowed_m: float
    flagged: bool
    factor: float


@dataclass(frozen=True)
class Figures:
    """Every computed figure of a run. ``trouble``: which figure was refused, and the code of it."""

    instruments: Instruments
    absolute: bool  # levels are above the job's datum, not above the start of the run
    levels: tuple[Level, ...]
    rise: Rise | None
    lengths: tuple[LengthRow, ...]
    ties: tuple[Tie, ...]
    blunders: tuple[Blunder, ...]
    level_findings: tuple[LevelFinding, ...]
    zero_deg: float | None  # what the ties add to the zero error
    zero_sd_deg: float | None
    gaps: tuple[Gap, ...]
    flow: str
    flow_known: str
    sags: tuple[Sag, ...]
    backfalls: tuple[Backfall, ...]
    water: tuple[WaterSeen, ...]
    capacities: tuple[Capacity, ...]
    bottleneck: Bottleneck | None
    whole_run: WholeRun | None
    limits: tuple[str, ...]  # why no number can stand for the run as a whole
    trace: Trace | None
    far_tie: FarTie | None
    far_check: FarCheck | None
    trouble: tuple[tuple[str, str], ...]
