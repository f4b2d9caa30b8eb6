"""Values of the self check: counter, two-way zero check, standing water."""

import math

from ..survey.instruments import counter_scale, inclinometer
from ..survey.instruments.counter_resets import as_if_never_reset
from ..survey.levels import levels, ponding
from ..survey.levels.input import LevelReading, LevelSetup
from ..survey.records import ReadingRecord
from ..survey.section.bore import Bore
from .watched import Values


def counter_scale_values(inputs: Values) -> Values:
    """Evaluate the counter scale from tape checks."""
    keys = ("counter_from_m", "counter_to_m", "taped_m", "sd_m")
    rows = zip(*(inputs[key] for key in keys), strict=True)
    found = counter_scale.scale_of_checks([counter_scale.TapeCheck(*row) for row in rows])
    return {"scale": found.scale, "sd_scale": found.sd}


def counter_far_check(inputs: Values) -> Values:
    """Evaluate the chainage of the far node against its distance."""
    found = counter_scale.check_far_length(inputs["chainage_m"], inputs["length_m"])
    return {
        "difference_m": found.difference_m,
        "allowed_m": found.allowed_m,
        "flagged": float(found.flagged),
        "factor": found.factor,
    }


def counter_reset(inputs: Values) -> Values:
    """Evaluate counter readings as if the counter had run on; a reset stands before its reading."""
    readings: list[ReadingRecord] = [
        {"id": f"{k:03}", "fields": {"counter_m": shown}} for k, shown in enumerate(inputs["counter_m"])
    ]
    for place, had, to in inputs["resets"]:
        readings[int(place)]["fields"]["counter_reset"] = {"had_shown_m": had, "set_to_m": to}
    found = as_if_never_reset({}, {"reading": readings})[1]["reading"]
    return {"running_m": [r["fields"]["counter_m"] for r in found]}


def inclinometer_zero(inputs: Values) -> Values:
    """Evaluate the zero error from a reading and the reading turned round."""
    zero_deg, sd_deg = inclinometer.zero_from_reversal(
        inputs["reading_deg"], inputs["turned_deg"], inputs["sd_reading_deg"]
    )
    return {"zero_deg": zero_deg, "sd_zero_deg": sd_deg}


def standing_water(inputs: Values) -> Values:
    """Evaluate the sags of single straight pipes, given by their lengths and slopes along the pipe."""
    here, readings = 0.0, []
    for length_m, sine in inputs["pipes"]:
        readings.append(LevelReading(here, math.degrees(math.asin(sine))))
        here += length_m
    setup = LevelSetup("span", 0.0, 10.0, 0.0, 0.1, 0.0, 0.0, 0.0, 45.0, here)
    profile = levels.level_profile(readings, [], setup)
    bore = Bore("circular", inputs["diameter_m"])
    sags = ponding.standing_water(profile, inputs["flow"], bore).sags
    return {
        "depth_m": [s.depth_m for s in sags],
        "from_m": [s.from_m for s in sags],
        "to_m": [s.to_m for s in sags],
        "volume_m3": [s.volume_m3 for s in sags],
    }


TOPICS = {
    "counter_scale": counter_scale_values,
    "counter_far_check": counter_far_check,
    "counter_reset": counter_reset,
    "inclinometer_zero": inclinometer_zero,
    "standing_water": standing_water,
}
