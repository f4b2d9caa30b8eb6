"""Records of the site: job, node, check, remark."""

from typing import Any

from marshmallow import ValidationError

from .base import (
    Choice,
    Composite,
    Flag,
    Number,
    Pattern,
    RecordSchema,
    Ref,
    Text,
    meta,
    part_of_counter,
)
from .composites import Inclination, Position

DATE = r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])"

PURPOSES = {
    "new_construction": "Final check of new construction",
    "guarantee_end": "End of the guarantee period",
    "routine": "Routine condition check",
    "structural": "Suspected structural problem",
    "operating": "Suspected operating problem",
    "infiltration": "Suspected infiltration",
    "after_repair": "Check after renovation or repair",
    "transfer": "Transfer of ownership",
    "planning": "Investment planning",
    "tracing": "Finding where the pipe goes",
    "other": "Other",
}
WEATHER = {"dry": "Dry", "rain": "Rain", "snow": "Snow or melt", "freezing": "Dry and freezing"}
FLOW_CONTROL = {
    "none": "None",
    "blocked": "Flow blocked upstream",
    "partly": "Flow partly blocked upstream",
    "other": "Other",
}
NODE_TYPES = {
    "manhole": "Manhole",
    "inspection_chamber": "Inspection chamber",
    "outfall": "Outfall",
    "inlet": "Inlet or culvert mouth",
    "gully": "Gully",
    "rodding_eye": "Rodding eye",
    "junction": "Junction",
    "buried": "Buried chamber",
    "unknown": "Unknown end",
}
CHECKS = {
    "safety_sheet": "Safety sheet answer",
    "counter_tape": "Counter against a taped length",
    "inclinometer_reversed": "Inclinometer on a surface, then turned round",
    "inclinometer_limit": "Inclinometer's limit and spread",
    "camera_height": "Camera height above invert",
    "cable_length": "Cable on the drum",
    "gas_meter": "Gas meter check",
}


class JobSchema(RecordSchema):
    """What a client ordered; one pack.  The record's id is the job's id."""

    KIND, LABEL, PLURAL = "job", "Job", "Jobs"

    title = Text(120, metadata=meta("Job title", required=True))
    client_reference = Text(80, metadata=meta("Client reference"))
    purpose = Choice(PURPOSES, metadata=meta("Purpose"))
    site = Text(400, lines=3, metadata=meta("Site and way in"))
    grid_reference = Text(60, metadata=meta("Grid reference"))
    level_datum = Text(160, metadata=meta("Level datum", help="What levels are measured from, in words."))
    surveyor = Text(80, metadata=meta("Surveyor"))
    surveyed_on = Pattern(
        DATE,
        "The survey date must be a date such as 2026-11-25.",
        metadata=meta("Survey date", type="date"),
    )
    weather = Choice(WEATHER, metadata=meta("Weather"))
    recent_rain = Text(160, metadata=meta("Rain in the last days"))
    flow_control = Choice(FLOW_CONTROL, metadata=meta("Flow control"))
    declination_deg = Number(
        -180,
        180,
        "degrees",
        metadata=meta(
            "Magnetic declination",
            help="From true to magnetic north, east positive; turns a compass bearing to true north.",
            advanced=True,
        ),
    )
    declination_known = Choice(
        {"model": "From the World Magnetic Model", "map": "From a map", "typed": "Typed in"},
        metadata=meta("How the declination is known", advanced=True),
    )
    declination_sd_deg = Number(
        0,
        180,
        "degrees",
        metadata=meta(
            "Magnetic declination, standard deviation",
            help="Left empty, 0.7 degrees is assumed of a model and 1 degree of anything else.",
            advanced=True,
        ),
    )
    declination_model = Text(
        60,
        metadata=meta(
            "Model or map of the declination, with its year",
            help="Declination changes by up to 0.3 degrees a year: an old map turns every trace.",
            advanced=True,
        ),
    )
    grid_convergence_deg = Number(
        -180,
        180,
        "degrees",
        metadata=meta("Grid convergence", help="From true to grid north, clockwise positive.", advanced=True),
    )
    longest_gap_m = Number(
        0.1,
        5000,
        "m",
        metadata=meta(
            "Longest length without a reading",
            help="A longer one is told before leaving. Left empty, 5 m is assumed.",
            advanced=True,
        ),
    )
    photo_location = Flag(
        metadata=meta(
            "Keep the position in photos",
            type="flag",
            help="A camera may write where it was into its pictures. "
            "Unless you say yes, the phone takes that out.",
            advanced=True,
        )
    )
    local_rules = Text(
        240,
        lines=2,
        metadata=meta("Law and code that govern this site", help="They come before anything here."),
    )


class NodeSchema(RecordSchema):
    """A point where pipes meet or end, or where the pipe can be reached."""

    KIND, LABEL, PLURAL = "node", "Node", "Nodes"

    node_ref = Text(60, metadata=meta("Node reference", required=True))
    node_type = Choice(NODE_TYPES, metadata=meta("Type of node"))
    position = Composite(Position, "position", metadata=meta("Position"))
    position_note = Text(240, lines=2, metadata=meta("How to find it"))
    cover_level_m = Number(-500, 9000, "m", metadata=meta("Cover level", help="Above the job's datum."))
    cover_level_sd_m = Number(0, 10, "m", metadata=meta("Cover level, standard deviation", advanced=True))
    dipped_depth_m = Number(
        0,
        100,
        "m",
        metadata=meta("Depth from cover to invert", help="Measured with a dip rod or tape."),
    )
    dipped_depth_sd_m = Number(
        0, 10, "m", metadata=meta("Depth to invert, standard deviation", advanced=True)
    )


class CheckSchema(RecordSchema):
    """One answer of the safety sheet, or one check of an instrument."""

    KIND, LABEL, PLURAL = "check", "Check", "Checks"

    check_type = Choice(CHECKS, metadata=meta("Check", required=True))
    run_id = Ref("run", metadata=meta("Run"))
    question_id = Text(40, metadata=meta("Question", only=["safety_sheet"]))
    answer = Choice(
        {"yes": "Yes", "no": "No", "not_applicable": "Does not apply"},
        metadata=meta("Answer", only=["safety_sheet", "gas_meter"]),
    )
    taped_length_m = Number(0.1, 1000, "m", metadata=meta("Taped length", only=["counter_tape"]))
    taped_length_sd_m = Number(
        0, 10, "m", metadata=meta("Taped length, standard deviation", only=["counter_tape"])
    )
    counter_from_m = Number(
        0, 5000, "m", metadata=meta("Counter at the start of the tape", only=["counter_tape"])
    )
    counter_to_m = Number(
        0, 5000, "m", metadata=meta("Counter at the end of the tape", only=["counter_tape"])
    )
    reading_forward = Composite(
        Inclination,
        "inclination",
        metadata=meta("Reading, crawler one way", only=["inclinometer_reversed"]),
    )
    reading_reversed = Composite(
        Inclination,
        "inclination",
        metadata=meta("Reading, crawler turned round", only=["inclinometer_reversed"]),
    )
    limit_deg = Number(
        1,
        90,
        "degrees",
        metadata=meta("Largest inclination it can read", only=["inclinometer_limit"]),
    )
    sd_deg = Number(
        0,
        10,
        "degrees",
        metadata=meta("Standard deviation of one reading", only=["inclinometer_limit"]),
    )
    camera_height_mm = Number(
        1, 5000, "mm", metadata=meta("Camera height above invert", only=["camera_height"])
    )
    cable_length_m = Number(1, 5000, "m", metadata=meta("Cable length", only=["cable_length"]))
    instrument = Text(80, metadata=meta("Instrument", help="Type and number on its plate."))
    first_made_for = Text(
        120, metadata=meta("First made for the job", hidden=True, help="Taken over from it, the same day.")
    )
    first_made_at = Pattern(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)",
        "The time of a check must be a date and time with its offset.",
        metadata=meta("First made at", type="time", hidden=True),
    )
    remark = Text(400, lines=2, metadata=meta("Remark"))

    def check_together(self, data: dict[str, Any]) -> None:
        start, end = data.get("counter_from_m"), data.get("counter_to_m")
        if start is not None and end is not None and end <= start:
            raise ValidationError(
                "The counter must show more at the end of the tape than at its start.",
                "counter_to_m",
            )


class RemarkSchema(RecordSchema):
    """Free text, at a distance or on the job."""

    KIND, LABEL, PLURAL = "remark", "Remark", "Remarks"

    run_id = Ref("run", metadata=meta("Run"))
    counter_m = Number(0, 5000, "m", metadata=meta("Counter reading"))
    counter_part = part_of_counter()
    text = Text(4000, lines=4, metadata=meta("Remark", required=True))


class PhotoSchema(RecordSchema):
    """A picture: what it is by content, and what it shows."""

    KIND, LABEL, PLURAL = "photo", "Photo", "Photos"

    sha256 = Pattern(
        "[0-9a-f]{64}",
        "A photo is named by its SHA-256, 64 hexadecimal digits.",
        metadata=meta("SHA-256", type="sha256", required=True, hidden=True),
    )
    size_bytes = Number(
        1, 200_000_000, "bytes", whole=True, metadata=meta("Size", required=True, hidden=True)
    )
    media_type = Pattern(
        r"[a-z]+/[a-z0-9.+-]{1,60}",
        "The type of a photo looks like image/jpeg.",
        metadata=meta("Type", type="media_type", required=True, hidden=True),
    )
    width_px = Number(1, 100_000, "px", whole=True, metadata=meta("Width", hidden=True))
    height_px = Number(1, 100_000, "px", whole=True, metadata=meta("Height", hidden=True))
    taken_at = Pattern(
        r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?(Z|[+-]\d\d:\d\d)",
        "The time of a photo must be a date and time with its offset.",
        metadata=meta("Taken at", type="time", hidden=True),
    )
    run_id = Ref("run", metadata=meta("Run", hidden=True))
    belongs_to = Ref("any", metadata=meta("Belongs to", hidden=True))
    counter_m = Number(0, 5000, "m", metadata=meta("Counter reading"))
    counter_part = part_of_counter()
    caption = Text(400, lines=2, metadata=meta("Caption"))
    location_removed = Flag(
        metadata=meta("The position that the camera wrote was taken out", type="flag", hidden=True)
    )
    focus_pct = Number(
        0, 100_000, "%", metadata=meta("Sharpness (measured, a ratio of variances)", hidden=True)
    )
    brightness_pct = Number(0, 100, "%", metadata=meta("Mean brightness (measured)", hidden=True))
    contrast_pct = Number(0, 100, "%", metadata=meta("Contrast (measured)", hidden=True))
    shows_enough = Flag(
        metadata=meta(
            "It shows what it should",
            help="Say yes to a dark or soft picture that you have looked at and that is good enough.",
        )
    )


__all__ = ["CheckSchema", "JobSchema", "NodeSchema", "PhotoSchema", "RemarkSchema"]
