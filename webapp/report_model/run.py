"""A run with its records in order of chainage, as the writers of a pack are given it."""

from dataclasses import dataclass, field

from ..survey.records import Bearing, CounterReset, Inclination, Position
from .condition import Condition
from .figures import Figures
from .levels import Level
from .sight import Sight

CODE_OF_NOBODY = "not in the table"


@dataclass(frozen=True)
class Node:
    """A node as recorded."""

    record_id: str
    ref: str
    node_type: str
    type_label: str
    position: Position | None
    position_note: str
    cover_level_m: float | None
    dipped_depth_m: float | None
    invert_m: float | None  # cover level less the dip
    position_unusable: bool = False  # one was stored, and is not whole


@dataclass(frozen=True)
class Photo:
    """A picture as recorded; ``filename`` is its name in the pack."""

    record_id: str
    sha256: str
    media_type: str
    size_bytes: int
    taken_at: str
    run_id: str
    run_ref: str
    belongs_to: str
    counter_m: float | None
    chainage_m: float | None
    caption: str
    filename: str


@dataclass(frozen=True)
class Stretch:
    """A length of the same pipe."""

    record_id: str
    from_counter_m: float | None
    to_counter_m: float | None
    from_m: float | None
    to_m: float | None
    shape: str
    height_mm: float | None
    width_mm: float | None
    size_known: str
    material: str
    lining: str
    pipe_unit_length_m: float | None
    remark: str
    to_known: str  # empty as recorded, else start_of_next or end_of_run
    disputed: tuple[str, ...] = ()  # what is in dispute of it, with the values that stand


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading: raw, then what follows from it."""

    record_id: str
    counter_m: float | None
    counter_reset: CounterReset | None
    chainage_m: float | None
    inclination: Inclination | None
    deg: float | None
    pct: float | None
    one_in: float | None
    over: int  # +1 or -1 beyond the instrument's range, else 0
    level: Level | None
    remark: str
    disputed: bool
    run_ref: str = ""  # of a length surveyed in pieces: the run in which it was taken
    counter_typed: str = ""  # of a reading from a file whose counter was converted: as it stands there
    counter_unit: str = ""
    counter_added_m: float | None = None


@dataclass(frozen=True)
class FurtherValue:
    """A field of an observation that no passage of the pack places by hand: its name, label, unit, value."""

    name: str
    label: str
    unit: str
    value: str | float | bool


@dataclass(frozen=True)
class Observation:
    """A coded observation with the words of its code."""

    record_id: str
    counter_m: float | None
    chainage_m: float | None
    code: str
    compact: str
    written: str  # the whole observation in its compact written form
    code_from: str  # whose code it is: the standard's, a client's, nobody's
    title: str
    group: str
    characterisation_1: str
    characterisation_2: str
    words: tuple[str, ...]  # the labels of its characterisations
    sizes: tuple[tuple[str, float, str], ...]  # label, value, unit
    quantification_1: float | None
    quantification_2: float | None
    clock_from: int | None
    clock_to: int | None
    at_joint: bool | None
    continuous_role: str
    continuous_number: int | None
    finish_m: float | None  # chainage of the finish that pairs with this start
    level: Level | None
    remark: str
    disputed: bool
    photos: tuple[Photo, ...]
    turns_to: str = ""  # label of the way that the pipe turns at an angled joint
    taken_over: tuple[str, ...] = ()  # labels of the sizes that are those of the observation before
    run_ref: str = ""  # of a length surveyed in pieces: the run in which it was recorded
    same_as: str = ""  # the observation that it repeats: id
    part_of: str = ""  # the start that it changes or finishes: id
    further: tuple[FurtherValue, ...] = ()  # those that are recorded
    page_one: int | None = None  # its code's place among what page one names first


@dataclass(frozen=True)
class Remark:
    """Free text."""

    record_id: str
    chainage_m: float | None
    counter_m: float | None
    text: str


@dataclass(frozen=True)
class PlacedReset:
    """The counter had shown one value and was set to another, at a chainage [m]."""

    record_id: str  # the reading that tells of it
    had_shown_m: float
    set_to_m: float
    chainage_m: float


@dataclass(frozen=True)
class LengthRun:
    """A run of a length surveyed in pieces; ``at_m``: where it ended, by the chainage of the length [m]."""

    record_id: str
    ref: str
    from_other_end: bool
    surveyed_m: float | None
    end_reason: str
    end_reason_label: str
    at_m: float | None


@dataclass(frozen=True)
class PipeLength:
    """One length surveyed in pieces: how its runs join [m], as ``LengthJoin``, and what that means in words.

    ``joined`` False: how they lie to each other is not known, and each stays a run of its own. ``perhaps``:
    pairs of observations that may be one. ``repeats``: which observation repeats which.
    """

    runs: tuple[LengthRun, ...]
    joined: bool
    how: str
    length_m: float | None
    expected_m: float | None
    closing_m: float | None
    between: tuple[tuple[float, float], ...]
    not_surveyed_m: float | None
    surveyed_m: float | None
    twice_m: float
    words: tuple[str, ...]
    words_of_join: tuple[str, ...] = ()  # the same without the lengths that were not surveyed
    perhaps: tuple[tuple[str, str], ...] = ()
    repeats: dict[str, str] = field(default_factory=dict)
    end_disputed: bool = False  # where one of its runs ended


@dataclass(frozen=True)
class Run:
    """A run, its records in order of chainage, and its figures."""

    record_id: str
    ref: str
    start: Node | None
    finish: Node | None
    direction: str
    direction_label: str
    datum_label: str
    counter_zero_m: float
    zero_known: str
    start_bearing: Bearing | None
    end_reason: str
    end_reason_label: str
    end_counter_m: float | None
    counter_resets: tuple[PlacedReset, ...]
    surveyed_m: float | None
    surveyed_known: str
    surveyed_word: str  # how it is known, in a word
    expected_m: float | None
    remaining_m: float | None
    figures: Figures
    readings: tuple[Reading, ...]
    stretches: tuple[Stretch, ...]
    observations: tuple[Observation, ...]
    remarks: tuple[Remark, ...]
    photos: tuple[Photo, ...]  # those that belong to no observation
    over_range: tuple[tuple[float, float], ...]
    findings: tuple[tuple[str, str], ...]  # severity, sentence
    remark: str
    sight: Sight
    condition: Condition | None = None
    length: PipeLength | None = None

    @property
    def end_m(self) -> float | None:
        """Chainage of its far end [m]: of a length surveyed from both ends not what was surveyed of it."""
        if self.length is not None and self.length.joined:
            return self.length.length_m
        return self.surveyed_m
