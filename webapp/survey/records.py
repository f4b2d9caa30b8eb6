"""What a record of each kind holds.  GENERATED: ``python -m webapp.schemas.types``.

A field may be missing or cleared (None).  What is marked as computed is added on the way and never stored.
"""

from collections.abc import Mapping, Sequence
from typing import Any, Generic, Literal, NotRequired, Required, TypedDict, TypeVar

Disputed = Mapping[str, Sequence[Sequence[Any]]]  # by field, the entries whose values stand side by side

Answer = Literal["yes", "no", "not_applicable"]
BearingNorth = Literal["magnetic", "true", "grid"]
ChainageDatum = Literal["wall_face", "node_centre", "headwall_face", "other"]
CheckType = Literal[
    "safety_sheet",
    "counter_tape",
    "inclinometer_reversed",
    "inclinometer_limit",
    "camera_height",
    "cable_length",
    "gas_meter",
]
ContinuousRole = Literal["start", "change", "finish"]
DeclinationKnown = Literal["model", "map", "typed"]
Direction = Literal["with_flow", "against_flow", "unknown"]
EndReason = Literal["node_reached", "obstruction", "end_of_cable", "view_lost", "water", "other"]
EndReasonFrom = Literal["observation"]
FlowControl = Literal["none", "blocked", "partly", "other"]
Groundwater = Literal["above", "between", "below", "unknown"]
InclinationSense = Literal["rising", "falling", "level"]
InclinationUnit = Literal["deg", "pct", "permille", "one_in"]
LengthUnit = Literal["m", "cm", "mm", "km", "ft", "in"]
Lining = Literal[
    "at_manufacture",
    "sprayed",
    "cured_in_place",
    "segments",
    "discrete_pipes",
    "continuous_pipe",
    "close_fit",
    "spirally_wound",
    "none",
    "other",
    "unknown",
]
Material = Literal[
    "asbestos_cement",
    "bitumen",
    "pitch_fibre",
    "brick",
    "vitrified_clay",
    "cement_mortar",
    "concrete",
    "reinforced_concrete",
    "sprayed_concrete",
    "concrete_segments",
    "fibre_cement",
    "grp",
    "cast_iron",
    "grey_iron",
    "ductile_iron",
    "steel",
    "iron_or_steel",
    "masonry_coursed",
    "masonry_random",
    "epoxy",
    "polyester",
    "polyethylene",
    "polypropylene",
    "pvc_u",
    "plastic",
    "unknown",
    "other",
]
NodeType = Literal[
    "manhole",
    "inspection_chamber",
    "outfall",
    "inlet",
    "gully",
    "rodding_eye",
    "junction",
    "buried",
    "unknown",
]
PositionSource = Literal["phone", "receiver", "map", "typed"]
ProtectionZone = Literal["outside", "III_B", "III_A", "II", "I", "unknown"]
Purpose = Literal[
    "new_construction",
    "guarantee_end",
    "routine",
    "structural",
    "operating",
    "infiltration",
    "after_repair",
    "transfer",
    "planning",
    "tracing",
    "other",
]
Shape = Literal["circular", "rectangular", "egg", "u_shape", "arch", "oval", "other", "unknown"]
SizeKnown = Literal["measured", "drawing", "assumed", "unknown"]
Soil = Literal["loam_or_clay", "sandy_loam", "sand_or_gravel", "unknown"]
TieMethod = Literal["levelled", "dipped", "drawing", "other"]
ToKnown = Literal["start_of_next", "end_of_run"]
TurnsTo = Literal["left", "right", "up", "down", "left_up", "left_down", "right_up", "right_down"]
Urgency = Literal["at_once", "short_term", "medium_term", "long_term", "no_term"]
WaterCarried = Literal["foul", "combined", "surface_water", "culverted_watercourse", "hazardous", "unknown"]
Weather = Literal["dry", "rain", "snow", "freezing"]


class Bearing(TypedDict, total=False):
    """A bearing clockwise from a stated north, with its standard deviation."""

    bearing_deg: Required[float]  # [degrees]
    north: Required[BearingNorth]
    sd_deg: float | None  # [degrees]


class Clock(TypedDict, total=False):
    """Clock positions 1 to 12, 12 at the crown, seen looking in the direction of survey."""

    hour_from: Required[int]  # [o’clock]
    hour_to: int | None  # [o’clock]


class Continuous(TypedDict, total=False):
    """Start, change or finish of something that goes on along the pipe; the number pairs them."""

    role: Required[ContinuousRole]
    number: Required[int]


class CounterReset(TypedDict, total=False):
    """The counter was set to another value before this reading: what it had shown, and what it was set to."""

    had_shown_m: Required[float]  # [m]
    set_to_m: Required[float]  # [m]


class Inclination(TypedDict, total=False):
    """What the inclinometer showed: a size, the unit it was read in, and whether it rises ahead."""

    size: float | None
    unit: InclinationUnit
    sense: Required[InclinationSense]
    over_range: bool
    typed: str | None


class NextSteps(TypedDict, total=False):
    """What the surveyor says should be done: an urgency for each action chosen, or no action; and why."""

    report_air: Urgency
    find_owner: Urgency
    check_ground: Urgency
    dig_expose: Urgency
    clean: Urgency
    survey_again: Urgency
    repair_point: Urgency
    renew: Urgency
    level_far_end: Urgency
    no_action: bool
    why: str | None


class Position(TypedDict, total=False):
    """A place on the ground, WGS 84, with a radius as its source states it."""

    lat_deg: Required[float]  # [degrees]
    lon_deg: Required[float]  # [degrees]
    accuracy_m: float | None  # [m]
    accuracy_pct: float | None  # [%]
    source: PositionSource


class JobFields(TypedDict, total=False):
    """What a client ordered; one pack.  The record's id is the job's id."""

    title: str | None
    client_reference: str | None
    purpose: Purpose | None
    site: str | None
    grid_reference: str | None
    level_datum: str | None
    surveyor: str | None
    surveyed_on: str | None
    weather: Weather | None
    recent_rain: str | None
    flow_control: FlowControl | None
    declination_deg: float | None  # [degrees]
    declination_known: DeclinationKnown | None
    declination_sd_deg: float | None  # [degrees]
    declination_model: str | None
    grid_convergence_deg: float | None  # [degrees]
    grid_central_meridian_deg: float | None  # [degrees]
    longest_gap_m: float | None  # [m]
    photo_location: bool | None
    local_rules: str | None


class NodeFields(TypedDict, total=False):
    """A point where pipes meet or end, or where the pipe can be reached."""

    node_ref: str | None
    node_type: NodeType | None
    position: Position | None
    position_note: str | None
    cover_level_m: float | None  # [m]
    cover_level_sd_m: float | None  # [m]
    dipped_depth_m: float | None  # [m]
    dipped_depth_sd_m: float | None  # [m]


class RunFields(TypedDict, total=False):
    """The pipe from one node to the next, as surveyed in one direction."""

    run_ref: str | None
    start_node_id: str | None
    finish_node_id: str | None
    direction: Direction | None
    chainage_datum: ChainageDatum | None
    counter_zero_m: float | None  # [m]
    expected_length_m: float | None  # [m]
    start_bearing: Bearing | None
    continues_run_id: str | None
    end_reason: EndReason | None
    end_counter_m: float | None  # [m]
    water_carried: WaterCarried | None
    protection_zone: ProtectionZone | None
    groundwater: Groundwater | None
    soil: Soil | None
    remark: str | None
    next_steps: NextSteps | None
    end_counter_shown_m: float | None  # computed
    end_reason_from: EndReasonFrom | None  # computed
    least_end_counter_m: float | None  # computed


class StretchFields(TypedDict, total=False):
    """A length of a run that is the same pipe throughout."""

    run_id: str | None
    from_counter_m: float | None  # [m]
    from_part: int | None
    to_counter_m: float | None  # [m]
    to_part: int | None
    shape: Shape | None
    height_mm: float | None  # [mm]
    width_mm: float | None  # [mm]
    size_known: SizeKnown | None
    material: Material | None
    lining: Lining | None
    pipe_unit_length_m: float | None  # [m]
    roughness_mm: float | None  # [mm]
    remark: str | None
    next_steps: NextSteps | None
    from_counter_shown_m: float | None  # computed
    to_counter_shown_m: float | None  # computed
    to_known: ToKnown | None  # computed


class ReadingFields(TypedDict, total=False):
    """What the counter and the inclinometer showed at one place."""

    run_id: str | None
    counter_m: float | None  # [m]
    inclination: Inclination | None
    counter_reset: CounterReset | None
    counter_part: int | None
    counter_typed: str | None
    counter_unit: LengthUnit | None
    counter_added_m: float | None  # [m]
    remark: str | None
    counter_shown_m: float | None  # computed
    inclination_shown: Inclination | None  # computed
    turned: bool | None  # computed
    zero_shift_deg: float | None  # computed


class ObservationFields(TypedDict, total=False):
    """A coded remark on what the camera shows at one place."""

    run_id: str | None
    counter_m: float | None  # [m]
    counter_part: int | None
    code: str | None
    characterisation_1: str | None
    characterisation_2: str | None
    quantification_1: float | None
    quantification_2: float | None
    as_before: str | None
    clock: Clock | None
    at_joint: bool | None
    turns_to: TurnsTo | None
    continuous: Continuous | None
    same_as: str | None
    remark: str | None
    counter_shown_m: float | None  # computed


class LevelTieFields(TypedDict, total=False):
    """An invert level known from outside the pipe, at one place of the run."""

    run_id: str | None
    counter_m: float | None  # [m]
    counter_part: int | None
    invert_level_m: float | None  # [m]
    sd_m: float | None  # [m]
    method: TieMethod | None
    remark: str | None
    counter_shown_m: float | None  # computed


class CheckFields(TypedDict, total=False):
    """One answer of the safety sheet, or one check of an instrument."""

    check_type: CheckType | None
    run_id: str | None
    question_id: str | None
    answer: Answer | None
    taped_length_m: float | None  # [m]
    taped_length_sd_m: float | None  # [m]
    counter_from_m: float | None  # [m]
    counter_to_m: float | None  # [m]
    reading_forward: Inclination | None
    reading_reversed: Inclination | None
    limit_deg: float | None  # [degrees]
    sd_deg: float | None  # [degrees]
    camera_height_mm: float | None  # [mm]
    cable_length_m: float | None  # [m]
    instrument: str | None
    first_made_for: str | None
    first_made_at: str | None
    remark: str | None


class PhotoFields(TypedDict, total=False):
    """A picture: what it is by content, and what it shows."""

    sha256: str | None
    size_bytes: int | None  # [bytes]
    media_type: str | None
    width_px: int | None  # [px]
    height_px: int | None  # [px]
    taken_at: str | None
    run_id: str | None
    belongs_to: str | None
    counter_m: float | None  # [m]
    counter_part: int | None
    caption: str | None
    location_removed: bool | None
    focus_pct: float | None  # [%]
    brightness_pct: float | None  # [%]
    contrast_pct: float | None  # [%]
    shows_enough: bool | None
    counter_shown_m: float | None  # computed


class RemarkFields(TypedDict, total=False):
    """Free text, at a distance or on the job."""

    run_id: str | None
    counter_m: float | None  # [m]
    counter_part: int | None
    text: str | None
    counter_shown_m: float | None  # computed


F = TypeVar("F")


class RecordOf(TypedDict, Generic[F]):
    """A record of one kind: its id and its fields."""

    id: str
    fields: F
    conflicts: NotRequired[Disputed]
    unusable: NotRequired[Sequence[str]]  # computed: fields taken out because their value is not whole


JobRecord = RecordOf[JobFields]
NodeRecord = RecordOf[NodeFields]
RunRecord = RecordOf[RunFields]
StretchRecord = RecordOf[StretchFields]
ReadingRecord = RecordOf[ReadingFields]
ObservationRecord = RecordOf[ObservationFields]
LevelTieRecord = RecordOf[LevelTieFields]
CheckRecord = RecordOf[CheckFields]
PhotoRecord = RecordOf[PhotoFields]
RemarkRecord = RecordOf[RemarkFields]


class RecordsByKind(TypedDict, total=False):
    """Records of a job or of a run, in the order of making."""

    job: Sequence[JobRecord]
    node: Sequence[NodeRecord]
    run: Sequence[RunRecord]
    stretch: Sequence[StretchRecord]
    reading: Sequence[ReadingRecord]
    observation: Sequence[ObservationRecord]
    level_tie: Sequence[LevelTieRecord]
    check: Sequence[CheckRecord]
    photo: Sequence[PhotoRecord]
    remark: Sequence[RemarkRecord]
