"""Records of the site: job, node, check, remark."""

from typing import Any

from marshmallow import ValidationError

from ..messages import t
from .base import Choice, Composite, Flag, Number, Pattern, Ref, Text, meta, part_of_counter
from .checked_schema import RecordSchema
from .composites import Inclination, Position
from .words import Choices

DATE = r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])"

PURPOSES = Choices(
    "purpose",
    (
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
    ),
)
WEATHER = Choices("weather", ("dry", "rain", "snow", "freezing"))
FLOW_CONTROL = Choices("flow_control", ("none", "blocked", "partly", "other"))
NODE_TYPES = Choices(
    "node_type",
    (
        "manhole",
        "inspection_chamber",
        "outfall",
        "inlet",
        "gully",
        "rodding_eye",
        "junction",
        "buried",
        "unknown",
    ),
)
CHECKS = Choices(
    "check_type",
    (
        "safety_sheet",
        "counter_tape",
        "inclinometer_reversed",
        "inclinometer_limit",
        "camera_height",
        "cable_length",
        "gas_meter",
    ),
)


class JobSchema(RecordSchema):
    """What a client ordered; one pack.  The record's id is the job's id."""

    KIND = "job"

    title = Text(120, metadata=meta(required=True))
    client_reference = Text(80)
    purpose = Choice(PURPOSES)
    site = Text(400, lines=3)
    grid_reference = Text(60)
    level_datum = Text(160)
    surveyor = Text(80)
    surveyed_on = Pattern(DATE, metadata=meta(type="date"))
    weather = Choice(WEATHER)
    recent_rain = Text(160)
    flow_control = Choice(FLOW_CONTROL)
    declination_deg = Number(-180, 180, "degrees", metadata=meta(advanced=True))
    declination_known = Choice(
        Choices("declination_known", ("model", "map", "typed")), metadata=meta(advanced=True)
    )
    declination_sd_deg = Number(0, 180, "degrees", metadata=meta(advanced=True))
    declination_model = Text(60, metadata=meta(advanced=True))
    grid_convergence_deg = Number(-180, 180, "degrees", metadata=meta(advanced=True))
    grid_central_meridian_deg = Number(-180, 180, "degrees", metadata=meta(advanced=True))
    longest_gap_m = Number(0.1, 5000, "m", metadata=meta(advanced=True))
    photo_location = Flag(metadata=meta(type="flag", advanced=True))
    local_rules = Text(240, lines=2)


class NodeSchema(RecordSchema):
    """A point where pipes meet or end, or where the pipe can be reached."""

    KIND = "node"

    node_ref = Text(60, metadata=meta(required=True))
    node_type = Choice(NODE_TYPES)
    position = Composite(Position, "position")
    position_note = Text(240, lines=2)
    cover_level_m = Number(-500, 9000, "m")
    cover_level_sd_m = Number(0, 10, "m", metadata=meta(advanced=True))
    dipped_depth_m = Number(0, 100, "m")
    dipped_depth_sd_m = Number(0, 10, "m", metadata=meta(advanced=True))


class CheckSchema(RecordSchema):
    """One answer of the safety sheet, or one check of an instrument."""

    KIND = "check"

    check_type = Choice(CHECKS, metadata=meta(required=True))
    run_id = Ref("run")
    question_id = Text(40, metadata=meta(only=["safety_sheet"]))
    answer = Choice(
        Choices("answer", ("yes", "no", "not_applicable")), metadata=meta(only=["safety_sheet", "gas_meter"])
    )
    taped_length_m = Number(0.1, 1000, "m", metadata=meta(only=["counter_tape"]))
    taped_length_sd_m = Number(0, 10, "m", metadata=meta(only=["counter_tape"]))
    counter_from_m = Number(0, 5000, "m", metadata=meta(only=["counter_tape"]))
    counter_to_m = Number(0, 5000, "m", metadata=meta(only=["counter_tape"]))
    reading_forward = Composite(Inclination, "inclination", metadata=meta(only=["inclinometer_reversed"]))
    reading_reversed = Composite(Inclination, "inclination", metadata=meta(only=["inclinometer_reversed"]))
    limit_deg = Number(1, 90, "degrees", metadata=meta(only=["inclinometer_limit"]))
    sd_deg = Number(0, 10, "degrees", metadata=meta(only=["inclinometer_limit"]))
    camera_height_mm = Number(1, 5000, "mm", metadata=meta(only=["camera_height"]))
    cable_length_m = Number(1, 5000, "m", metadata=meta(only=["cable_length"]))
    instrument = Text(80)
    first_made_for = Text(120, metadata=meta(hidden=True))
    first_made_at = Pattern(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)",
        metadata=meta(type="time", hidden=True),
    )
    remark = Text(400, lines=2)

    def check_together(self, data: dict[str, Any]) -> None:
        start, end = data.get("counter_from_m"), data.get("counter_to_m")
        if start is not None and end is not None and end <= start:
            raise ValidationError(
                t("refused.tape_end"),
                "counter_to_m",
            )


class RemarkSchema(RecordSchema):
    """Free text, at a distance or on the job."""

    KIND = "remark"

    run_id = Ref("run")
    counter_m = Number(0, 5000, "m")
    counter_part = part_of_counter()
    text = Text(4000, lines=4, metadata=meta(required=True))


class PhotoSchema(RecordSchema):
    """A picture: what it is by content, and what it shows."""

    KIND = "photo"

    sha256 = Pattern("[0-9a-f]{64}", metadata=meta(type="sha256", required=True, hidden=True))
    size_bytes = Number(1, 200_000_000, "bytes", whole=True, metadata=meta(required=True, hidden=True))
    media_type = Pattern(
        r"[a-z]+/[a-z0-9.+-]{1,60}", metadata=meta(type="media_type", required=True, hidden=True)
    )
    width_px = Number(1, 100_000, "px", whole=True, metadata=meta(hidden=True))
    height_px = Number(1, 100_000, "px", whole=True, metadata=meta(hidden=True))
    taken_at = Pattern(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)",
        metadata=meta(type="time", hidden=True),
    )
    run_id = Ref("run", metadata=meta(hidden=True))
    belongs_to = Ref("any", metadata=meta(hidden=True))
    counter_m = Number(0, 5000, "m")
    counter_part = part_of_counter()
    caption = Text(400, lines=2)
    location_removed = Flag(metadata=meta(type="flag", hidden=True))
    focus_pct = Number(0, 100_000, "%", metadata=meta(hidden=True))
    brightness_pct = Number(0, 100, "%", metadata=meta(hidden=True))
    contrast_pct = Number(0, 100, "%", metadata=meta(hidden=True))
    shows_enough = Flag()


__all__ = ["CheckSchema", "JobSchema", "NodeSchema", "PhotoSchema", "RemarkSchema"]
