"""The tables of condition classes, actions, hazards and what could be seen."""

from collections.abc import Mapping, Sequence
from typing import Any, Literal, NotRequired, TypedDict

from ..records import Material, Urgency
from .pipe import NarrowingForm
from .sourced import Sourced

Unread = Any  # what a firm may write as it likes
PointsInput = Literal["water_carried", "protection_zone", "groundwater", "soil", "clock", "at_joint"]
Goal = Literal["tightness", "stability", "operation"]
Act = Literal["enter", "jet", "cut", "dig", "load", "pull"]
ActionName = Literal[
    "report_air", "find_owner", "check_ground", "dig_expose", "clean", "survey_again", "repair_point",
    "renew", "level_far_end", "none",
]  # fmt: skip


# actions.json


class Action(TypedDict):
    """What can be done next, and which acts it needs."""

    action: ActionName
    label: str
    help: str
    acts: Sequence[Act]


class ActOnSite(TypedDict):
    """Something done on site that a hazard can forbid, there or in the whole run."""

    act: Act
    words: str
    whole_run: bool


class UrgencyRow(TypedDict):
    """How soon, and from which class on."""

    urgency: Urgency
    label: str
    from_class: int


class Actions(Sourced):
    """What to do next: the actions, their urgency, and from where on each is suggested."""

    title: str
    name: str
    note: str
    actions: Sequence[Action]
    acts: Sequence[ActOnSite]
    acts_note: str
    urgencies: Sequence[UrgencyRow]
    urgencies_source: str
    urgencies_url: str
    urgencies_certainty: str
    dig_conditions: Sequence[str]
    clean_codes: Sequence[str]
    unseen_class: int
    unseen_note: str
    clean_from_class: int
    repair_from_class: int
    renew_from_share_pct: float
    renew_from_places: int
    level_sd_m: float
    search_radius_m: float


# grading_limits.json, or a firm's own file


_Class = TypedDict("_Class", {"class": int})
_PerhapsClass = TypedDict("_PerhapsClass", {"class": int}, total=False)


class ConditionClass(_Class):
    """A condition class, its name and its number [points]."""

    word: str
    number: float
    meaning: str


class ExtraPoints(TypedDict):
    """Points for what is around the pipe, per goal; None where it does not matter."""

    input: PointsInput
    value: str
    label: str
    tightness: float | None
    stability: float | None
    operation: float | None
    source: str
    url: NotRequired[Unread]
    certainty: NotRequired[Unread]


class PipeStiffness(TypedDict):
    """Which materials are rigid, and which flexible."""

    rigid: Sequence[Material]
    flexible: Sequence[Material]
    source: NotRequired[Unread]
    certainty: NotRequired[Unread]


class ImmediateRow(TypedDict):
    """What calls for action at once: a code, a share left of the capacity [%], or a class in a zone."""

    condition: str
    words: str
    code: str | None
    characterisation_1: Sequence[str]
    source: str
    url: NotRequired[Unread]
    certainty: NotRequired[Unread]
    capacity_left_pct: NotRequired[float | None]
    goal: NotRequired[Goal]
    from_class: NotRequired[int]
    zones: NotRequired[Sequence[str]]


class GradingRow(_PerhapsClass):
    """How a code is graded for one goal: flat, by the limits of its size, or by what is left."""

    code: str
    characterisation_1: Sequence[str]
    characterisation_2: Sequence[str]
    pipe: Literal["any", "rigid", "flexible"]
    goal: Goal
    rule: Literal["flat", "limits", "capacity"]
    unit: NotRequired[str]
    limits: NotRequired[Mapping[str, float]]  # the least size of each class, in the unit
    form: NotRequired[NarrowingForm]
    review: bool
    basis: Literal["indicative", "sourced"]
    source: str
    certainty: str
    note: NotRequired[str]
    patterns: NotRequired[str | None]
    optional: NotRequired[bool | None]


class GradingLimits(TypedDict):
    """The limits of the condition classes: ours, or a firm's own."""

    format: Literal["fallbook-grading"]
    version: Literal[1]
    title: NotRequired[Unread]
    name: str
    note: str
    classes: Sequence[ConditionClass]
    classes_source: str
    classes_url: NotRequired[Unread]
    classes_certainty: NotRequired[Unread]
    point_length_m: float
    point_length_source: str
    point_length_url: NotRequired[Unread]
    point_length_certainty: NotRequired[Unread]
    extra_points: Sequence[ExtraPoints]
    pipes: PipeStiffness
    capacity_left_pct: Mapping[str, float]
    area_left_pct: Mapping[str, float]
    narrowing_source: str
    narrowing_basis: Literal["indicative", "sourced"]
    narrowing_certainty: str
    immediate: Sequence[ImmediateRow]
    rows: Sequence[GradingRow]


# hazards.json, visibility.json


class HazardRow(TypedDict):
    """A hazard to people, what it forbids, and what it asks for."""

    hazard: str
    code: str
    characterisation_1: Sequence[str]
    label: str
    caution: str
    do: ActionName | None
    do_not: Sequence[Act]
    certainty: str


class Hazards(TypedDict):
    """The hazards to people, the gravest first."""

    title: str
    note: str
    source: str
    rows: Sequence[HazardRow]


class VisibilityTable(Sourced):
    """Which records tell what the camera could not see, and from which depth on [%]."""

    title: str
    note: str
    view_lost_codes: Sequence[str]
    water_code: str
    deposit_code: str
    node_codes: Sequence[str]
    node_codes_note: str
    part_from_pct: float
    part_note: str
    hidden_from_pct: float
    hidden_note: str
