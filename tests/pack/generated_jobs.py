"""Whole jobs, generated: what a surveyor could have recorded, with gaps, disputes and awkward ends."""

from hypothesis import strategies as st
from pack_jobs import Maker

from webapp import tables

CODES = tables.load("observation_codes")["rows"]
LIKELY = [
    row for row in CODES if row["code"] in ("BAB", "BAC", "BBA", "BBC", "BDD", "BDG", "BBE", "BAF", "BAP")
]
UNITS = st.sampled_from(["deg", "pct", "one_in"])
END_REASONS = ["node_reached", "node_reached", "obstruction", "end_of_cable", "view_lost", "water", None]
places = st.integers(0, 620).map(lambda n: n / 20) | st.integers(0, 3100).map(lambda n: n / 100)
PHOTO = b"a photo of the generated job %d"


def given_of(fields):
    return {name: value for name, value in fields.items() if value is not None}


def maybe(strategy):
    return st.none() | strategy


@st.composite
def inclinations(draw):
    """A reading as typed, now and then beyond the range."""
    if draw(st.integers(0, 9)) == 0:
        return {"over_range": True, "sense": draw(st.sampled_from(["rising", "falling"]))}
    unit = draw(UNITS)
    size = draw(st.integers(20, 900)) if unit == "one_in" else draw(st.integers(0, 300)) / 100
    sense = draw(st.sampled_from(["falling", "falling", "falling", "rising"]))
    return {"size": size, "unit": unit, "sense": sense if size else "level"}


@st.composite
def observations(draw):
    """Fields of one observation, as the code table allows or with gaps."""
    row = draw(st.sampled_from([*CODES, *LIKELY * 4]))
    fields = {
        "code": row["code"], "counter_m": draw(maybe(places) if draw(st.integers(0, 15)) == 0 else places),
        "quantification_1": draw(maybe(st.sampled_from([0, 3, 5, 10, 25, 30, 60, 95, 100, 2.35, 12.5, 120]))),
        "quantification_2": draw(maybe(st.sampled_from([0.5, 10]))), "at_joint": draw(maybe(st.booleans())),
    }  # fmt: skip
    for name in ("characterisation_1", "characterisation_2"):
        letters = [one["value"] for one in row[name]]
        fields[name] = draw(st.sampled_from([*letters, *letters, None])) if letters else None
    if draw(st.booleans()):
        hours = st.integers(1, 12)
        fields["clock"] = given_of({"hour_from": draw(hours), "hour_to": draw(maybe(hours))})
    return given_of(fields)


@st.composite
def stretches(draw):
    """Fields of one stretch."""
    start = draw(st.sampled_from([0.0, 0.0, 0.3, 4.35, 9.9, 15.0]))
    fields = {
        "from_counter_m": start,
        "to_counter_m": draw(maybe(st.integers(1, 400).map(lambda n: round(start + n / 20, 2)))),
        "shape": draw(st.sampled_from(["circular", "circular", "circular", "egg", "rectangular", None])),
        "height_mm": draw(st.sampled_from([100, 150, 225, 300, 900, None])),
        "width_mm": draw(st.sampled_from([None, None, 300, 900])),
        "size_known": draw(st.sampled_from(["measured", "drawing", None])),
        "material": draw(st.sampled_from(["vitrified_clay", "concrete", "pvc_u", "ductile_iron", None])),
        "pipe_unit_length_m": draw(st.sampled_from([None, 1.0, 2.5])),
        "roughness_mm": draw(st.sampled_from([None, None, 0.33])),
    }  # fmt: skip
    if fields["shape"] == "circular":
        fields["width_mm"] = None
    return given_of(fields)


DISPUTED = {
    "observation": {
        "quantification_1": [5, 40, 80], "characterisation_1": ["A", "B", "C"], "code": ["BBA", "BAP", "BAC"],
        "counter_m": [2.35, 7.7, 19.05],
    },
    "stretch": {
        "height_mm": [100, 450], "material": ["concrete", "pvc_u"], "shape": ["circular", "egg"],
        "to_counter_m": [14.9, 21.35],
    },
    "run": {"end_counter_m": [12.55, 24.9], "end_reason": ["node_reached", "water"],
            "direction": ["with_flow", "against_flow"]},
}  # fmt: skip


def _dispute(draw, maker, kind, record_id):
    """Let a second phone say otherwise, now and then."""
    if draw(st.integers(0, 4)) == 0:
        name = draw(st.sampled_from(sorted(DISPUTED[kind])))
        value = draw(st.sampled_from(DISPUTED[kind][name]))
        maker.add(kind, record_id=record_id, writer="writer-two", **{name: value})


def _continuous(draw, maker, run_id, number):
    """Something that goes on: a start, a change or none, a finish or none."""
    fields = draw(observations())
    start = draw(places)
    length = draw(st.integers(0, 200)) / 20
    roles = [("start", start), ("change", start + length / 2), ("finish", start + length)]
    for role, at_m in roles:
        if role == "start" or draw(st.integers(0, 2)) != 0:
            mark = {"role": role, "number": number}
            more = {"quantification_1": 35} if role == "change" else {}
            maker.add(
                "observation", run_id=run_id,
                **{**fields, **more, "counter_m": round(at_m, 3), "continuous": mark},
            )  # fmt: skip


def _run(draw, maker, number, nodes):
    fields = {
        "run_ref": f"R{number}", "start_node_id": nodes[0],
        "finish_node_id": draw(st.sampled_from([nodes[1], None])),
        "direction": draw(st.sampled_from(["with_flow", "against_flow", "unknown", None])),
        "counter_zero_m": draw(st.sampled_from([None, 0.0, 0.05, 0.15, 0.3])),
        "expected_length_m": draw(st.sampled_from([None, 25.0, 40.35])),
        "end_reason": draw(st.sampled_from(END_REASONS)),
        "end_counter_m": draw(st.sampled_from([None, 31.0, 24.95, 30.05, 8.15])),
        "start_bearing": draw(maybe(st.just({"bearing_deg": 17.9, "north": "true", "sd_deg": 1.5}))),
        "water_carried": draw(st.sampled_from([None, "foul", "surface_water"])),
    }  # fmt: skip
    run_id = maker.add("run", **given_of(fields))
    for counter_m in sorted(draw(st.lists(places, max_size=8))):
        maker.add("reading", run_id=run_id, counter_m=counter_m, inclination=draw(inclinations()))
    for pipe in draw(st.lists(stretches(), max_size=3)):
        _dispute(draw, maker, "stretch", maker.add("stretch", run_id=run_id, **pipe))
    for counter_m in draw(st.lists(places, max_size=2)):
        tie = given_of({"invert_level_m": 98.731 - counter_m / 90, "sd_m": draw(maybe(st.just(0.004)))})
        maker.add("level_tie", run_id=run_id, counter_m=counter_m, **tie)
    seen = [maker.add("observation", run_id=run_id, **o) for o in draw(st.lists(observations(), max_size=6))]
    for number in range(draw(st.integers(0, 2))):
        _continuous(draw, maker, run_id, number + 1)
    for one in seen:
        _dispute(draw, maker, "observation", one)
    for k in range(draw(st.integers(0, 2))):
        owner = draw(st.sampled_from([None, *seen]))
        own = given_of({"belongs_to": owner, "counter_m": draw(maybe(places)), "caption": "A picture"})
        taken = draw(st.sampled_from([None, "2026-11-25T10:31:07+01:00"]))
        maker.photo(PHOTO % k, run_id=run_id, **given_of({**own, "taken_at": taken}))
    _dispute(draw, maker, "run", run_id)


@st.composite
def jobs(draw, most_runs=2):
    """A Maker that holds a whole job."""
    maker = Maker()
    maker.add("job", title="A generated job", level_datum=draw(st.sampled_from(["local datum", ""])))
    places_on_ground = maybe(st.just({"lat_deg": 51.2345678, "lon_deg": -0.1234567, "accuracy_m": 3.1}))
    nodes = [
        maker.add(
            "node", node_ref=f"MH{k}",
            **given_of(
                {
                    "position": draw(places_on_ground), "cover_level_m": draw(maybe(st.just(100.12))),
                    "dipped_depth_m": draw(st.sampled_from([None, 1.43])), "node_type": "manhole",
                }
            ),
        )
        for k in range(2)
    ]  # fmt: skip
    if draw(st.booleans()):
        maker.add(
            "check", check_type="counter_tape", counter_from_m=0.0, counter_to_m=10.03, taped_length_m=10.0
        )
    for number in range(1, draw(st.integers(0, most_runs)) + 1):
        _run(draw, maker, number, nodes)
    return maker
