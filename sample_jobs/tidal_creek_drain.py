"""Sample: a highway drain that leaves an embankment to an outfall on a tidal creek.  All invented."""

from typing import Any

import pictures
from common_answers import inclination, safety_sheet
from pictures import CONCRETE, PLASTIC, View

NAME = "tidal_creek_drain"
STARTED = "2026-10-14T06:52:10+01:00"

READINGS = [
    (0.50, "r 1:92"), (2.00, "r 1:90"), (4.00, "r 1:88"), (6.00, "r 1:95"), (8.00, "r 1.1 %"),
    (10.00, "r 1:90"), (12.00, "r 1:84"), (14.00, "r 0.7°"), (16.00, "r 1:86"), (18.00, "r 1:80"),
    (18.70, "r 1:45"), (20.00, "r 1:120"), (22.00, "r 1:125"), (24.00, "r 1:118"), (25.00, "r 1:70"),
    (26.00, "r 1:74"), (28.00, "r 1:72"), (30.00, "r 2.4°"), (31.00, "r 6.8°"), (32.00, "over r"),
    (33.50, "over r"), (35.00, "r 7.2°"), (36.00, "r 2.1°"), (38.00, "r 1:64"), (40.00, "r 1:66"),
    (42.00, "r 1:60"), (44.00, "r 1:62"), (46.00, "r 1:63"), (48.00, "r 1.6 %"), (50.00, "r 1:64"),
    (52.00, "r 1:65"),
]  # fmt: skip

OBSERVATIONS: list[tuple[str, float, dict[str, Any]]] = [
    ("start", 0.50, {"code": "BCD", "characterisation_1": "E"}),
    ("level 1", 0.60, {"code": "BDD", "characterisation_1": "A", "quantification_1": 5}),
    ("deposit start", 3.20, {"code": "BBC", "characterisation_1": "B", "quantification_1": 10,
                             "clock": {"hour_from": 5, "hour_to": 7},
                             "continuous": {"role": "start", "number": 1},
                             "remark": "Gravel and shell, washed in by the tide."}),
    ("deposit finish", 9.60, {"code": "BBC", "characterisation_1": "B", "quantification_1": 5,
                              "clock": {"hour_from": 5, "hour_to": 7},
                              "continuous": {"role": "finish", "number": 1}}),
    ("crack", 13.40, {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A",
                      "quantification_1": 2, "clock": {"hour_from": 10}}),
    ("gully in", 16.20, {"code": "BCA", "characterisation_1": "A", "characterisation_2": "A",
                         "quantification_1": 150, "clock": {"hour_from": 2}}),
    ("repair", 18.70, {"code": "BCB", "characterisation_1": "A", "quantification_1": 6300,
                       "clock": {"hour_from": 12, "hour_to": 12},
                       "remark": "Grey plastic pipe let in between the concrete, 50 mm smaller."}),
    ("step", 25.00, {"code": "BAJ", "characterisation_1": "B", "quantification_1": 25,
                     "clock": {"hour_from": 6}, "at_joint": True}),
    ("water in", 27.10, {"code": "BBF", "characterisation_1": "B",
                         "clock": {"hour_from": 8, "hour_to": 10}, "at_joint": True}),
    ("bend", 30.40, {"code": "BCC", "characterisation_1": "B", "characterisation_2": "A",
                     "quantification_1": 8, "remark": "The line turns up the embankment."}),
    ("surface", 39.20, {"code": "BAF", "characterisation_1": "C", "characterisation_2": "E",
                        "clock": {"hour_from": 4, "hour_to": 8}}),
    ("fine roots", 45.80, {"code": "BBA", "characterisation_1": "B", "quantification_1": 5,
                           "clock": {"hour_from": 11, "hour_to": 1}, "at_joint": True}),
    ("block", 52.40, {"code": "BBE", "characterisation_1": "A", "quantification_1": 45,
                      "clock": {"hour_from": 5, "hour_to": 7},
                      "remark": "Masonry lies across the invert; the crawler cannot climb it."}),
    ("abandoned", 52.40, {"code": "BDC", "characterisation_1": "A"}),
]  # fmt: skip

PICTURES: list[tuple[str, float, str, View]] = [
    ("deposit start", 3.20, "Gravel and shell in the invert, looking inland",
     View("D1   3.20 m   gravel and shell in the invert", details=(pictures.stones(5, 7, 1.0, 5, 240),))),
    ("crack", 13.40, "Lengthwise crack at 10 o'clock",
     View("D1   13.40 m   lengthwise crack, 10 o'clock", details=(pictures.crack(10, 1.05, 3.6, 6),))),
    ("gully in", 16.20, "Gully connection at 2 o'clock, running a little",
     View("D1   16.20 m   connection, 2 o'clock", details=(pictures.connection(2.2, 1.7, 0.3, True),))),
    ("repair", 18.70, "Where the plastic repair begins",
     View("D1   18.70 m   repaired length begins", CONCRETE, beyond=(1.6, PLASTIC))),
    ("step", 25.00, "Step at the end of the repair, the concrete sits lower",
     View("D1   25.00 m   step at a joint", PLASTIC, beyond=(1.62, CONCRETE), step_at=1.6)),
    ("block", 52.40, "Masonry across the invert: the run ended here",
     View("D1   52.40 m   masonry across the invert",
          details=(pictures.stones(4.8, 7.2, 1.2, 4, 200), pictures.block(6, 1.9, 0.62)))),
]  # fmt: skip


def record(book: Any) -> None:
    """Record the whole job, from two openings of the app on one phone."""
    morning = book.device("creek-morning-01", "phone A", STARTED)
    _site(morning)
    run_id = _run(morning)
    _checks(morning, run_id)
    _pipe(morning, run_id)
    for counter_m, typed in READINGS[:17]:
        morning.add(
            "reading", f"{counter_m}", run_id=run_id, counter_m=counter_m, inclination=inclination(typed)
        )
    _observe(morning, run_id, 0.0, 27.5)
    later = book.device("creek-later-02", "phone A", "2026-10-14T09:31:40+01:00")
    later.meet()
    for counter_m, typed in READINGS[17:]:
        later.add(
            "reading", f"{counter_m}", run_id=run_id, counter_m=counter_m, inclination=inclination(typed)
        )
    _observe(later, run_id, 27.5, 99.0)
    later.add("run", "D1", end_reason="obstruction", end_counter_m=52.4)
    later.add("reading", "24.0", inclination=inclination("r 1:122"), remark="Read again on the way back.")
    later.add(
        "remark",
        "way back",
        run_id=run_id,
        counter_m=33.0,
        text="The wheels slipped on the steep length. Counter checked on the way back: 0.04 m out.",
    )
    later.add(
        "remark",
        "tide",
        text="Low water was at 08:10. The pipe stood dry from 07:00 to 10:15; "
        "left the bank when the creek reached the apron.",
    )


def _site(device: Any) -> None:
    device.add(
        "job",
        "job",
        title="Embankment drain, outfall to Tessamer Creek",
        client_reference="HW-0417",
        purpose="structural",
        site="From the maintenance track, 300 m east of the creek bridge. Headwall below the third marker "
        "post; steep bank, wet at all times.",
        grid_reference="not taken; see positions of the nodes",
        level_datum="Site datum: bolt in the headwall, 2.500 m",
        surveyor="R. Example",
        surveyed_on="2026-10-14",
        weather="dry",
        recent_rain="8 mm two days before",
        flow_control="none",
        declination_deg=-10.0,
        declination_known="model",
        declination_sd_deg=0.371,
        declination_model="WMM-2025, for 2026-10-14",
        local_rules="Owner's permit to work no. 88 (invented); tide times posted at the gate.",
    )
    device.add(
        "node",
        "OF1",
        node_ref="OF1",
        node_type="outfall",
        position={
            "lat_deg": 50.00012,
            "lon_deg": -30.00034,
            "accuracy_m": 4,
            "accuracy_pct": 68,
            "source": "phone",
        },
        position_note="Headwall below the third marker post.",
    )
    device.add(
        "node",
        "MH-A",
        node_ref="Chamber A",
        node_type="buried",
        position_note="Shown on an old drawing in the verge; no cover found. Its place is not known.",
    )


def _run(device: Any) -> str:
    run_id: str = device.add(
        "run",
        "D1",
        run_ref="D1",
        start_node_id=device.book.record_id("node", "OF1", device.at),
        finish_node_id=device.book.record_id("node", "MH-A", device.at),
        direction="against_flow",
        chainage_datum="headwall_face",
        counter_zero_m=0.5,
        expected_length_m=68,
        start_bearing={"bearing_deg": 204, "north": "magnetic", "sd_deg": 2},
        remark="Surveyed from the outfall; no other way in was found.",
    )
    return run_id


def _checks(device: Any, run_id: str) -> None:
    safety_sheet(
        device,
        {
            "rising_flow": "Low water 08:10; out of the creek by 10:30.",
            "water_edge": "Two people, throw line on the bank.",
            "cover": "No cover opened: surveyed from the outfall.",
        },
        water_edge="yes",
    )
    device.add(
        "check",
        "tape",
        check_type="counter_tape",
        taped_length_m=20.0,
        taped_length_sd_m=0.01,
        counter_from_m=0.5,
        counter_to_m=20.46,
        instrument="Crawler counter no. 2",
        remark="Along the track, cable taut.",
    )
    device.add(
        "check",
        "reversed",
        check_type="inclinometer_reversed",
        reading_forward=inclination("r 0.35°"),
        reading_reversed=inclination("f 0.25°"),
        instrument="Crawler inclinometer",
        remark="On the headwall coping.",
    )
    device.add(
        "check",
        "limit",
        check_type="inclinometer_limit",
        limit_deg=10,
        sd_deg=0.1,
        instrument="Crawler inclinometer",
        remark="From its plate.",
    )
    device.add("check", "height", check_type="camera_height", camera_height_mm=205)
    device.add("check", "cable", check_type="cable_length", cable_length_m=120)
    device.add(
        "check",
        "gas",
        check_type="gas_meter",
        answer="yes",
        instrument="Four-gas meter no. 7",
        remark="Bump test done at the van, 06:40.",
    )
    device.add(
        "level_tie",
        "headwall",
        run_id=run_id,
        counter_m=0.5,
        invert_level_m=1.284,
        sd_m=0.005,
        method="levelled",
        remark="From the bolt in the headwall.",
    )
    device.add(
        "level_tie",
        "gully",
        run_id=run_id,
        counter_m=16.2,
        invert_level_m=1.470,
        sd_m=0.02,
        method="dipped",
        remark="Through the gully at the track, cover levelled.",
    )


def _pipe(device: Any, run_id: str) -> None:
    concrete = {
        "shape": "circular",
        "height_mm": 450,
        "size_known": "measured",
        "material": "concrete",
        "lining": "none",
    }
    device.add(
        "stretch",
        "seaward",
        run_id=run_id,
        from_counter_m=0.5,
        to_counter_m=18.7,
        pipe_unit_length_m=2.0,
        **concrete,
    )
    device.add(
        "stretch",
        "repair",
        run_id=run_id,
        from_counter_m=18.7,
        to_counter_m=25.0,
        shape="circular",
        height_mm=400,
        size_known="measured",
        material="pvc_u",
        lining="none",
        remark="A repair, age not known.",
    )
    device.add(
        "stretch",
        "inland",
        run_id=run_id,
        from_counter_m=25.0,
        to_counter_m=52.4,
        pipe_unit_length_m=1.0,
        **{**concrete, "size_known": "assumed"},
    )


def _observe(device: Any, run_id: str, beyond_m: float, up_to_m: float) -> None:
    shots = {name: (caption, view) for name, _, caption, view in PICTURES}
    if beyond_m == 0.0:
        device.photo(
            "outfall",
            pictures.outfall("Outfall OF1 at low water, headwall", 11),
            run_id=run_id,
            counter_m=0.5,
            caption="The outfall at low water, seen from the bank",
            belongs_to=device.book.record_id("node", "OF1", device.at),
        )
    for place, (name, counter_m, fields) in enumerate(OBSERVATIONS):
        if not beyond_m <= counter_m < up_to_m:
            continue
        record_id = device.add("observation", name, run_id=run_id, counter_m=counter_m, **fields)
        if name in shots:
            caption, view = shots[name]
            device.photo(
                name,
                pictures.draw(view, 100 + place),
                run_id=run_id,
                counter_m=counter_m,
                caption=caption,
                belongs_to=record_id,
            )
