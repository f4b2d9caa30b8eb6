"""Records of the pipe: run, stretch, reading, observation, level tie."""

from typing import Any

from marshmallow import ValidationError

from .. import tables
from ..messages import t
from .base import Choice, Composite, Flag, Number, Pattern, Ref, Text, meta, part_of_counter
from .checked_schema import RecordSchema
from .composites import Bearing, Clock, Continuous, CounterReset, Inclination, NextSteps
from .words import Choices

DIRECTIONS = Choices("direction", ("with_flow", "against_flow", "unknown"))
DATUMS = Choices("chainage_datum", ("wall_face", "node_centre", "headwall_face", "other"))
END_REASONS = Choices(
    "end_reason", ("node_reached", "obstruction", "end_of_cable", "view_lost", "water", "other")
)
HOW_KNOWN = Choices("size_known", ("measured", "drawing", "assumed", "unknown"))
TIE_METHODS = Choices("tie_method", ("levelled", "dipped", "drawing", "other"))

WATER = Choices(
    "water_carried",
    ("foul", "combined", "surface_water", "culverted_watercourse", "hazardous", "unknown"),
)
ZONES = Choices("protection_zone", ("outside", "III_B", "III_A", "II", "I", "unknown"))
GROUNDWATER = Choices("groundwater", ("above", "between", "below", "unknown"))
SOILS = Choices("soil", ("loam_or_clay", "sandy_loam", "sand_or_gravel", "unknown"))
TURNS = Choices("turns_to", ("left", "right", "up", "down", "left_up", "left_down", "right_up", "right_down"))
LENGTH_UNITS = Choices("length_unit", ("m", "cm", "mm", "km", "ft", "in"))
AROUND = "water_and_ground"


def _counter(**more: Any) -> Number:
    return Number(0, 5000, "m", metadata=meta(pad="counter", **more))


class RunSchema(RecordSchema):
    """The pipe from one node to the next, as surveyed in one direction."""

    KIND = "run"

    run_ref = Text(60, metadata=meta(required=True))
    start_node_id = Ref("node", metadata=meta(required=True))
    finish_node_id = Ref("node")
    direction = Choice(DIRECTIONS, metadata=meta(required=True))
    chainage_datum = Choice(DATUMS)
    counter_zero_m = _counter()
    expected_length_m = Number(0, 5000, "m")
    start_bearing = Composite(Bearing, "bearing")
    continues_run_id = Ref("run", metadata=meta(advanced=True))
    end_reason = Choice(END_REASONS)
    end_counter_m = _counter()
    water_carried = Choice(WATER, metadata=meta(group=AROUND))
    protection_zone = Choice(ZONES, metadata=meta(group=AROUND))
    groundwater = Choice(GROUNDWATER, metadata=meta(group=AROUND))
    soil = Choice(SOILS, metadata=meta(group=AROUND))
    remark = Text(400, lines=2)
    next_steps = Composite(NextSteps, "next_steps", metadata=meta(hidden=True))


class StretchSchema(RecordSchema):
    """A length of a run that is the same pipe throughout."""

    KIND = "stretch"

    run_id = Ref("run", metadata=meta(required=True, hidden=True))
    from_counter_m = _counter(required=True)
    from_part = part_of_counter()
    to_counter_m = _counter()
    to_part = part_of_counter()
    shape = Choice(tables.choices("shapes"))
    height_mm = Number(10, 20000, "mm")
    width_mm = Number(10, 20000, "mm")
    size_known = Choice(HOW_KNOWN)
    material = Choice(tables.choices("materials"))
    lining = Choice(tables.choices("linings"))
    pipe_unit_length_m = Number(0.1, 100, "m")
    roughness_mm = Number(0.0001, 100, "mm", metadata=meta(advanced=True))
    remark = Text(400, lines=2)
    next_steps = Composite(NextSteps, "next_steps", metadata=meta(hidden=True))

    def check_together(self, data: dict[str, Any]) -> None:
        start, end = data.get("from_counter_m"), data.get("to_counter_m")
        if data.get("to_part") is not None:
            return  # read after a reset, it may be the smaller one
        if start is not None and end is not None and end <= start:
            raise ValidationError(
                t("refused.stretch_end"),
                "to_counter_m",
            )


class ReadingSchema(RecordSchema):
    """What the counter and the inclinometer showed at one place."""

    KIND = "reading"

    run_id = Ref("run", metadata=meta(required=True, hidden=True))
    counter_m = _counter(required=True)
    inclination = Composite(Inclination, "inclination", metadata=meta(required=True, pad="inclination"))
    counter_reset = Composite(CounterReset, "counter_reset")
    counter_part = part_of_counter()
    counter_typed = Text(40, metadata=meta(hidden=True))
    counter_unit = Choice(LENGTH_UNITS, metadata=meta(hidden=True))
    counter_added_m = Number(-5000, 5000, "m", metadata=meta(hidden=True))
    remark = Text(400, lines=2)


class ObservationSchema(RecordSchema):
    """A coded remark on what the camera shows at one place."""

    KIND = "observation"
    PLACED = frozenset(
        "counter_m counter_part code characterisation_1 characterisation_2 quantification_1 quantification_2 "
        "clock at_joint turns_to continuous remark".split()
    )

    run_id = Ref("run", metadata=meta(required=True, hidden=True))
    counter_m = _counter(required=True)
    counter_part = part_of_counter()
    code = Pattern("[A-Z]{1,4}[A-Z0-9]{0,4}", metadata=meta(type="code", required=True))
    characterisation_1 = Text(8, metadata=meta(type="characterisation"))
    characterisation_2 = Text(8, metadata=meta(type="characterisation"))
    quantification_1 = Number(0, 100000, "", metadata=meta(type="quantification"))
    quantification_2 = Number(0, 100000, "", metadata=meta(type="quantification"))
    as_before = Pattern("quantification_1(,quantification_2)?|quantification_2", metadata=meta(hidden=True))
    clock = Composite(Clock, "clock")
    at_joint = Flag(metadata=meta(type="flag"))
    turns_to = Choice(TURNS)
    continuous = Composite(Continuous, "continuous")
    same_as = Ref("observation", metadata=meta(hidden=True))
    remark = Text(400, lines=2)


class LevelTieSchema(RecordSchema):
    """An invert level known from outside the pipe, at one place of the run."""

    KIND = "level_tie"

    run_id = Ref("run", metadata=meta(required=True, hidden=True))
    counter_m = _counter(required=True)
    counter_part = part_of_counter()
    invert_level_m = Number(-500, 9000, "m", metadata=meta(required=True))
    sd_m = Number(0, 10, "m")
    method = Choice(TIE_METHODS)
    remark = Text(400, lines=2)
