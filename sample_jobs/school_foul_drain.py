"""Sample: a school's foul drain between two chambers, with a backfall and roots.  All invented."""

from typing import Any

import pictures
from common_answers import inclination, safety_sheet
from pictures import CLAY, View

NAME = "school_foul_drain"
STARTED = "2026-11-03T08:05:22+00:00"

READINGS_F1 = [
    (0.30, "f 1:58"), (1.50, "f 1:60"), (3.00, "f 1:62"), (4.50, "f 1:60"), (6.00, "f 1.7 %"),
    (7.50, "f 1:58"), (9.00, "f 1:64"), (10.50, "f 1:70"), (12.00, "f 1:75"), (13.50, "f 1:85"),
    (15.00, "f 1:140"), (16.00, "f 1:300"), (17.00, "r 0.4 %"), (18.00, "r 0.7 %"), (19.00, "r 0.9 %"),
    (20.00, "r 0.5 %"), (21.00, "l"), (22.50, "f 1:160"), (24.00, "f 1:110"), (26.00, "f 1:90"),
    (28.00, "f 1:82"), (30.00, "f 0.7°"), (32.00, "f 1:80"), (34.00, "f 1:78"), (36.00, "f 1:80"),
    (38.00, "f 1:79"), (38.60, "f 1:75"),
]  # fmt: skip
READINGS_F2 = [
    (0.20, "f 1:42"), (1.50, "f 1:44"), (3.00, "f 1:40"), (4.50, "f 2.4 %"), (6.00, "f 1:45"),
    (7.50, "f 1:43"), (9.00, "over f"), (10.00, "f 4.1°"),
]  # fmt: skip

OBSERVATIONS_F1: list[tuple[str, float, dict[str, Any]]] = [
    ("start", 0.30, {"code": "BCD", "characterisation_1": "A"}),
    ("level 1", 0.40, {"code": "BDD", "characterisation_1": "C", "quantification_1": 5}),
    ("grease", 4.10, {"code": "BBB", "characterisation_1": "B", "quantification_1": 5,
                      "clock": {"hour_from": 4, "hour_to": 8}}),
    ("kitchen in", 9.10, {"code": "BCA", "characterisation_1": "A", "characterisation_2": "A",
                          "quantification_1": 100, "clock": {"hour_from": 2}}),
    ("kitchen flow", 9.10, {"code": "BDE", "characterisation_1": "A", "quantification_1": 10,
                            "clock": {"hour_from": 2}}),
    ("roots", 12.40, {"code": "BBA", "characterisation_1": "C", "quantification_1": 20,
                      "clock": {"hour_from": 9, "hour_to": 2}, "at_joint": True,
                      "remark": "Roots of the limes along the drive, by the look of them."}),
    ("pond start", 15.60, {"code": "BDD", "characterisation_1": "C", "quantification_1": 10,
                           "continuous": {"role": "start", "number": 1}}),
    ("pond deepest", 18.60, {"code": "BDD", "characterisation_1": "C", "quantification_1": 35,
                             "continuous": {"role": "change", "number": 1}}),
    ("pond finish", 21.80, {"code": "BDD", "characterisation_1": "C", "quantification_1": 10,
                            "continuous": {"role": "finish", "number": 1}}),
    ("silt start", 22.00, {"code": "BBC", "characterisation_1": "A", "quantification_1": 10,
                           "clock": {"hour_from": 5, "hour_to": 7},
                           "continuous": {"role": "start", "number": 2}}),
    ("step", 26.10, {"code": "BAJ", "characterisation_1": "B", "quantification_1": 18,
                     "clock": {"hour_from": 6}, "at_joint": True}),
    ("silt finish", 29.50, {"code": "BBC", "characterisation_1": "A", "quantification_1": 5,
                            "clock": {"hour_from": 5, "hour_to": 7},
                            "continuous": {"role": "finish", "number": 2}}),
    ("crack round", 30.20, {"code": "BAB", "characterisation_1": "C", "characterisation_2": "B",
                            "quantification_1": 3, "clock": {"hour_from": 9, "hour_to": 3}}),
    ("worn", 33.00, {"code": "BAF", "characterisation_1": "A", "characterisation_2": "E",
                     "clock": {"hour_from": 5, "hour_to": 7}}),
    ("finish", 38.60, {"code": "BCE", "characterisation_1": "A"}),
]  # fmt: skip
OBSERVATIONS_F2: list[tuple[str, float, dict[str, Any]]] = [
    ("f2 start", 0.20, {"code": "BCD", "characterisation_1": "B"}),
    ("f2 bend", 6.80, {"code": "BCC", "characterisation_1": "A", "quantification_1": 15}),
    ("f2 finish", 10.40, {"code": "BCE", "characterisation_1": "A"}),
]  # fmt: skip

PICTURES: dict[str, tuple[str, View]] = {
    "start": ("Looking along the drain from chamber FW1",
              View("F1   0.30 m   from chamber FW1", CLAY)),
    "kitchen in": ("Kitchen connection at 2 o'clock, running clear",
                   View("F1   9.10 m   connection, 2 o'clock", CLAY,
                        details=(pictures.connection(2.2, 1.7, 0.34, True),))),
    "roots": ("Mass of roots hanging from a joint",
              View("F1   12.40 m   roots at a joint", CLAY, details=(pictures.roots(9.4, 14.2, 1.35, 60),))),
    "pond deepest": ("Standing water at its deepest, about a third of the bore",
                     View("F1   18.60 m   standing water", CLAY, water=0.42)),
    "silt start": ("Fine material in the invert, downstream of the standing water",
                   View("F1   22.00 m   fine material in the invert", CLAY,
                        details=(pictures.stones(5.2, 6.8, 1.1, 6, 320),))),
    "step": ("Step at a joint, the pipe beyond sits lower",
             View("F1   26.10 m   step at a joint", CLAY, step_at=1.6)),
    "crack round": ("Open crack round the crown, 9 to 3 o'clock",
                    View("F1   30.20 m   crack around the pipe", CLAY,
                         details=(pictures.crack_around(1.55, -3, 3),))),
}  # fmt: skip


def record(book: Any) -> None:
    """Record the whole job, from two phones; they disagree once and remove something once."""
    first = book.device("school-first-01", "phone A", STARTED)
    _site(first)
    f1, f2 = _runs(first)
    _checks(first)
    _pipe(first, f1, f2)
    _log(first, f1, READINGS_F1, OBSERVATIONS_F1, 200)
    first.add(
        "observation",
        "slip",
        run_id=f1,
        counter_m=31.0,
        code="BAO",
        clock={"hour_from": 6},
        remark="Tapped by mistake.",
    )
    first.add("run", "F1", end_reason="node_reached", end_counter_m=38.6)
    second = book.device("school-second-01", "phone B", "2026-11-03T11:02:05+00:00")
    second.meet()
    _log(second, f2, READINGS_F2, OBSERVATIONS_F2, 300)
    second.add("run", "F2", end_reason="node_reached", end_counter_m=10.4)
    second.add("observation", "slip", removed=True)
    # Both phones look at the roots again with no signal, and see them differently.
    second.add("observation", "roots", quantification_1=30)
    first.wait(190)
    first.add("observation", "roots", quantification_1=25)
    first.add(
        "remark",
        "access",
        text="Reception has the key of the yard gate. Parking in the yard only outside break times.",
    )
    second.add(
        "remark",
        "cleaning",
        run_id=f1,
        counter_m=18.6,
        text="Caretaker: this length is jetted twice a year because the boys' toilets back up.",
    )


def _site(device: Any) -> None:
    device.add(
        "job",
        "job",
        title="Foul drain of Tarnholt School, chambers FW1 to FW2",
        client_reference="TS/26/031",
        purpose="operating",
        site="School yard, behind the kitchen wing. Ask at reception; the yard gate is locked at noon.",
        level_datum="Assumed: cover of FW2 = 100.000 m",
        surveyor="R. Example and T. Example",
        surveyed_on="2026-11-03",
        weather="rain",
        recent_rain="Light rain through the night",
        flow_control="partly",
        declination_deg=-10.1,
        declination_known="model",
        declination_sd_deg=0.371,
        declination_model="WMM-2025, for 2026-11-03",
        local_rules="School's own permit for work in the yard (invented).",
    )
    device.add(
        "node",
        "FW1",
        node_ref="FW1",
        node_type="manhole",
        cover_level_m=100.42,
        cover_level_sd_m=0.005,
        dipped_depth_m=1.31,
        dipped_depth_sd_m=0.01,
        position={
            "lat_deg": 50.10021,
            "lon_deg": -30.20055,
            "accuracy_m": 5,
            "accuracy_pct": 68,
            "source": "phone",
        },
    )
    device.add(
        "node",
        "FW2",
        node_ref="FW2",
        node_type="manhole",
        cover_level_m=100.0,
        cover_level_sd_m=0.005,
        dipped_depth_m=1.33,
        dipped_depth_sd_m=0.01,
        position={
            "lat_deg": 50.1001,
            "lon_deg": -30.20005,
            "accuracy_m": 4,
            "accuracy_pct": 68,
            "source": "phone",
        },
    )
    device.add(
        "node",
        "IC3",
        node_ref="IC3",
        node_type="inspection_chamber",
        cover_level_m=100.36,
        cover_level_sd_m=0.005,
        dipped_depth_m=0.76,
        dipped_depth_sd_m=0.01,
        position={
            "lat_deg": 50.10026,
            "lon_deg": -30.20068,
            "accuracy_m": 5,
            "accuracy_pct": 68,
            "source": "phone",
        },
        position_note="Between the kitchen door and the bin store.",
    )


def _runs(device: Any) -> tuple[str, str]:
    nodes = {n: device.book.record_id("node", n, device.at) for n in ("FW1", "FW2", "IC3")}
    f1 = device.add(
        "run",
        "F1",
        run_ref="F1",
        start_node_id=nodes["FW1"],
        finish_node_id=nodes["FW2"],
        direction="with_flow",
        chainage_datum="wall_face",
        counter_zero_m=0.3,
        expected_length_m=38.5,
        start_bearing={"bearing_deg": 118, "north": "magnetic"},
    )
    f2 = device.add(
        "run",
        "F2",
        run_ref="F2",
        start_node_id=nodes["IC3"],
        finish_node_id=nodes["FW1"],
        direction="with_flow",
        chainage_datum="wall_face",
        counter_zero_m=0.2,
        start_bearing={"bearing_deg": 135, "north": "magnetic", "sd_deg": 4},
        remark="Short branch from the kitchen.",
    )
    return f1, f2


def _checks(device: Any) -> None:
    safety_sheet(
        device,
        {
            "traffic": "Barriers round both chambers; a member of staff keeps the yard clear.",
            "rising_flow": "Kitchen told not to empty sinks; toilets of the wing closed.",
        },
    )
    device.add(
        "check",
        "tape",
        check_type="counter_tape",
        taped_length_m=15.0,
        taped_length_sd_m=0.005,
        counter_from_m=0,
        counter_to_m=15.06,
        instrument="Small crawler counter",
    )
    device.add(
        "check",
        "reversed",
        check_type="inclinometer_reversed",
        reading_forward=inclination("r 0.2 %"),
        reading_reversed=inclination("r 0.1 %"),
        instrument="Small crawler inclinometer",
        remark="On the lid of the van's bench.",
    )
    device.add(
        "check",
        "limit",
        check_type="inclinometer_limit",
        limit_deg=8,
        sd_deg=0.15,
        instrument="Small crawler inclinometer",
    )
    device.add("check", "height", check_type="camera_height", camera_height_mm=70)
    device.add("check", "cable", check_type="cable_length", cable_length_m=60)
    device.add("check", "gas", check_type="gas_meter", answer="yes", instrument="Four-gas meter no. 3")


def _pipe(device: Any, f1: str, f2: str) -> None:
    clay = {"shape": "circular", "size_known": "measured", "material": "vitrified_clay", "lining": "none"}
    device.add(
        "stretch",
        "f1",
        run_id=f1,
        from_counter_m=0.3,
        to_counter_m=38.6,
        height_mm=150,
        pipe_unit_length_m=0.6,
        **clay,
    )
    device.add(
        "stretch",
        "f2",
        run_id=f2,
        from_counter_m=0.2,
        to_counter_m=10.4,
        height_mm=100,
        pipe_unit_length_m=0.6,
        **clay,
    )
    device.add(
        "level_tie",
        "fw2",
        run_id=f1,
        counter_m=38.6,
        invert_level_m=98.67,
        sd_m=0.011,
        method="dipped",
        remark="Cover and dip of FW2.",
    )


def _log(
    device: Any, run_id: str, readings: list[tuple[float, str]], observations: list[Any], seed: int
) -> None:
    for counter_m, typed in readings:
        device.add(
            "reading",
            f"{run_id} {counter_m}",
            run_id=run_id,
            counter_m=counter_m,
            inclination=inclination(typed),
        )
    for place, (name, counter_m, fields) in enumerate(observations):
        record_id = device.add("observation", name, run_id=run_id, counter_m=counter_m, **fields)
        if name in PICTURES:
            caption, view = PICTURES[name]
            device.photo(
                name,
                pictures.draw(view, seed + place),
                run_id=run_id,
                counter_m=counter_m,
                caption=caption,
                belongs_to=record_id,
            )
