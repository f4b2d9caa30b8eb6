"""Records of the pipe: run, stretch, reading, observation, level tie."""

from typing import Any

from marshmallow import ValidationError

from .. import tables
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
from .composites import Bearing, Clock, Continuous, CounterReset, Inclination, NextSteps

DIRECTIONS = {
    "with_flow": "With the flow (downstream)",
    "against_flow": "Against the flow (upstream)",
    "unknown": "Flow direction not known",
}
DATUMS = {
    "wall_face": "Inner wall face of the start node (pipe end)",
    "node_centre": "Centre of the start node",
    "headwall_face": "Face of the headwall",
    "other": "Other, see remark",
}
END_REASONS = {
    "node_reached": "Finish node reached",
    "obstruction": "Obstruction",
    "end_of_cable": "End of cable",
    "view_lost": "View lost",
    "water": "Water too deep",
    "other": "Other, see remark",
}
HOW_KNOWN = {
    "measured": "Measured here",
    "drawing": "From a drawing",
    "assumed": "Assumed",
    "unknown": "Not known",
}
TIE_METHODS = {
    "levelled": "Levelled",
    "dipped": "Cover level and dip",
    "drawing": "From a drawing",
    "other": "Other, see remark",
}

WATER = {
    "foul": "Foul water",
    "combined": "Foul and surface water together",
    "surface_water": "Surface water",
    "culverted_watercourse": "A watercourse",
    "hazardous": "Water that endangers water",
    "unknown": "Not known",
}
ZONES = {
    "outside": "Outside any zone",
    "III_B": "Zone III B",
    "III_A": "Zone III A",
    "II": "Zone II",
    "I": "Zone I",
    "unknown": "Not known",
}
GROUNDWATER = {
    "above": "The invert lies above it",
    "between": "It rises and falls around the invert",
    "below": "The invert lies in it",
    "unknown": "Not known",
}
SOILS = {
    "loam_or_clay": "Loam or clay",
    "sandy_loam": "Sandy loam, loess, loamy or fine sand",
    "sand_or_gravel": "Medium or coarse sand, gravel",
    "unknown": "Not known",
}
TURNS = {
    "left": "To the left",
    "right": "To the right",
    "up": "Straight up",
    "down": "Straight down",
    "left_up": "Left and up",
    "left_down": "Left and down",
    "right_up": "Right and up",
    "right_down": "Right and down",
}
LENGTH_UNITS = {
    "m": "Metres",
    "cm": "Centimetres",
    "mm": "Millimetres",
    "km": "Kilometres",
    "ft": "Feet (0.3048 m)",
    "in": "Inches (0.0254 m)",
}
AROUND = "Water and ground, for the condition classes"


def _counter(label: str = "Counter reading", **more: Any) -> Number:
    return Number(0, 5000, "m", metadata=meta(label, pad="counter", **more))


class RunSchema(RecordSchema):
    """The pipe from one node to the next, as surveyed in one direction."""

    KIND, LABEL, PLURAL = "run", "Run", "Runs"

    run_ref = Text(60, metadata=meta("Run reference", required=True))
    start_node_id = Ref("node", metadata=meta("Start node", required=True))
    finish_node_id = Ref("node", metadata=meta("Finish node"))
    direction = Choice(DIRECTIONS, metadata=meta("Survey direction", required=True))
    chainage_datum = Choice(DATUMS, metadata=meta("Chainage is measured from"))
    counter_zero_m = _counter(
        "Counter at chainage zero",
        help="What the counter shows when the camera looks at the chainage datum.",
    )
    expected_length_m = Number(
        0, 5000, "m", metadata=meta("Length expected", help="From a plan or taped above ground.")
    )
    start_bearing = Composite(Bearing, "bearing", metadata=meta("Start bearing"))
    continues_run_id = Ref(
        "run",
        metadata=meta(
            "Continues the survey of",
            help="An earlier run along the same pipe: from this end on another day, or from the other end.",
            advanced=True,
        ),
    )
    end_reason = Choice(END_REASONS, metadata=meta("How the run ended"))
    end_counter_m = _counter("Counter where it ended")
    water_carried = Choice(WATER, metadata=meta("Water it carries", group=AROUND))
    protection_zone = Choice(ZONES, metadata=meta("Water protection zone", group=AROUND))
    groundwater = Choice(GROUNDWATER, metadata=meta("Groundwater", group=AROUND))
    soil = Choice(SOILS, metadata=meta("Soil around the pipe", group=AROUND))
    remark = Text(400, lines=2, metadata=meta("Remark"))
    next_steps = Composite(
        NextSteps, "next_steps", metadata=meta("What to do next, by the surveyor", hidden=True)
    )


class StretchSchema(RecordSchema):
    """A length of a run that is the same pipe throughout."""

    KIND, LABEL, PLURAL = "stretch", "Stretch", "Stretches"

    run_id = Ref("run", metadata=meta("Run", required=True, hidden=True))
    from_counter_m = _counter("From, counter reading", required=True)
    from_part = part_of_counter("Counter part of its beginning")
    to_counter_m = _counter("To, counter reading")
    to_part = part_of_counter("Counter part of its end")
    shape = Choice(tables.choices("shapes"), metadata=meta("Shape"))
    height_mm = Number(10, 20000, "mm", metadata=meta("Height or diameter"))
    width_mm = Number(10, 20000, "mm", metadata=meta("Width", help="Leave empty for a round pipe."))
    size_known = Choice(HOW_KNOWN, metadata=meta("How the size is known"))
    material = Choice(tables.choices("materials"), metadata=meta("Material"))
    lining = Choice(tables.choices("linings"), metadata=meta("Lining"))
    pipe_unit_length_m = Number(0.1, 100, "m", metadata=meta("Length of the single pipes"))
    roughness_mm = Number(0.0001, 100, "mm", metadata=meta("Roughness", advanced=True))
    remark = Text(400, lines=2, metadata=meta("Remark"))
    next_steps = Composite(
        NextSteps, "next_steps", metadata=meta("What to do next, by the surveyor", hidden=True)
    )

    def check_together(self, data: dict[str, Any]) -> None:
        start, end = data.get("from_counter_m"), data.get("to_counter_m")
        if data.get("to_part") is not None:
            return  # read after a reset, it may be the smaller one
        if start is not None and end is not None and end <= start:
            raise ValidationError(
                "The end of a stretch lies beyond its start. Was the counter reset in between? Then say in "
                "which part of it the end was read.",
                "to_counter_m",
            )


class ReadingSchema(RecordSchema):
    """What the counter and the inclinometer showed at one place."""

    KIND, LABEL, PLURAL = "reading", "Reading", "Readings"

    run_id = Ref("run", metadata=meta("Run", required=True, hidden=True))
    counter_m = _counter(required=True)
    inclination = Composite(
        Inclination, "inclination", metadata=meta("Inclination", required=True, pad="inclination")
    )
    counter_reset = Composite(
        CounterReset,
        "counter_reset",
        metadata=meta(
            "Counter reset before this reading",
            help="What the counter had shown, and what it was set to. This reading and all that is recorded "
            "after it count on from there.",
        ),
    )
    counter_part = part_of_counter()
    counter_typed = Text(
        40,
        metadata=meta(
            "Counter as it stands in the file",
            hidden=True,
            help="Raw, of a reading from a file in another unit than metres or from another zero.",
        ),
    )
    counter_unit = Choice(LENGTH_UNITS, metadata=meta("Its unit in the file", hidden=True))
    counter_added_m = Number(
        -5000, 5000, "m", metadata=meta("Added to it, so that our counter's zero is the same", hidden=True)
    )
    remark = Text(400, lines=2, metadata=meta("Remark"))


class ObservationSchema(RecordSchema):
    """A coded remark on what the camera shows at one place."""

    KIND, LABEL, PLURAL = "observation", "Observation", "Observations"
    PLACED = frozenset(
        "counter_m counter_part code characterisation_1 characterisation_2 quantification_1 quantification_2 "
        "clock at_joint turns_to continuous remark".split()
    )

    run_id = Ref("run", metadata=meta("Run", required=True, hidden=True))
    counter_m = _counter(required=True)
    counter_part = part_of_counter()
    code = Pattern(
        "[A-Z]{1,4}[A-Z0-9]{0,4}",
        "A code is made of capital letters, such as BAB.",
        metadata=meta("Code", type="code", required=True),
    )
    characterisation_1 = Text(8, metadata=meta("Characterisation 1", type="characterisation"))
    characterisation_2 = Text(8, metadata=meta("Characterisation 2", type="characterisation"))
    quantification_1 = Number(0, 100000, "", metadata=meta("Quantification 1", type="quantification"))
    quantification_2 = Number(0, 100000, "", metadata=meta("Quantification 2", type="quantification"))
    as_before = Pattern(
        "quantification_1(,quantification_2)?|quantification_2",
        "Quantities taken over are named quantification_1, quantification_2 or both with a comma.",
        metadata=meta("Quantities taken over from the observation before", hidden=True),
    )
    clock = Composite(Clock, "clock", metadata=meta("Clock position"))
    at_joint = Flag(metadata=meta("At a joint", type="flag"))
    turns_to = Choice(
        TURNS,
        metadata=meta(
            "Which way the pipe turns here",
            help="Looking in the direction of survey. A clock position does not say which way the line "
            "goes on: without this the trace takes left and right as equally likely.",
        ),
    )
    continuous = Composite(Continuous, "continuous", metadata=meta("Start or finish"))
    same_as = Ref("observation", metadata=meta("The same object, seen in another run", hidden=True))
    remark = Text(400, lines=2, metadata=meta("Remark"))


class LevelTieSchema(RecordSchema):
    """An invert level known from outside the pipe, at one place of the run."""

    KIND, LABEL, PLURAL = "level_tie", "Level tie", "Level ties"

    run_id = Ref("run", metadata=meta("Run", required=True, hidden=True))
    counter_m = _counter(required=True)
    counter_part = part_of_counter()
    invert_level_m = Number(
        -500, 9000, "m", metadata=meta("Invert level", required=True, help="Above the job's datum.")
    )
    sd_m = Number(0, 10, "m", metadata=meta("Standard deviation"))
    method = Choice(TIE_METHODS, metadata=meta("How it was measured"))
    remark = Text(400, lines=2, metadata=meta("Remark"))
