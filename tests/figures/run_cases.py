"""Runs and lengths with records of every kind, as stored: resets, disputes, ties, gaps, awkward ends."""

from generated_jobs import (
    DISPUTED,
    END_REASONS,
    given_of,
    inclinations,
    maybe,
    observations,
    places,
    stretches,
)
from hypothesis import strategies as st
from pack_jobs import Maker

NORTHS = ["true", "true", "magnetic", "grid"]
PLACE = {"lat_deg": 51.2345678, "lon_deg": -0.1234567}
STANDING = {
    **DISPUTED,
    "run": {
        **DISPUTED["run"],
        "end_counter_m": [12.55, 24.9, None],
        "water_carried": ["foul", "surface_water"],
    },
}


class Ids:
    """Ids that ascend in the order of making, as those of records do."""

    def __init__(self):
        self.made = 0

    def record(self, fields):
        self.made += 1
        return {"id": f"{self.made:05}", "fields": given_of(fields)}


def disputed(draw, kind, record):
    """Now and then another value of one field stands beside the one that is shown."""
    if draw(st.integers(0, 4)) == 0:
        name = draw(st.sampled_from(sorted(STANDING[kind])))
        value = draw(st.sampled_from(STANDING[kind][name]))
        shown = record["fields"].get(name)
        record["conflicts"] = {name: [["w1:9", shown], ["w2:4", value]]}
    return record


@st.composite
def positions(draw):
    """A position of a node, good or bad, or none."""
    off = draw(st.sampled_from([0.0, 0.0001, 0.0003, -0.0002]))
    return given_of(
        {
            "lat_deg": PLACE["lat_deg"] + off, "lon_deg": PLACE["lon_deg"] + off / 2,
            "accuracy_m": draw(st.sampled_from([None, 0.4, 3.1, 12.0])),
            "source": draw(st.sampled_from([None, "phone", "receiver"])),
            "accuracy_pct": draw(st.sampled_from([None, 50, 95])),
        }
    )  # fmt: skip


bearings = st.tuples(
    st.sampled_from([17.9, 0.0, 271.4]), st.sampled_from(NORTHS), st.sampled_from([None, 1.5])
).map(lambda drawn: given_of(dict(zip(("bearing_deg", "north", "sd_deg"), drawn, strict=True))))


def nodes(draw, ids):
    return [
        ids.record(
            {
                "node_ref": f"MH{k}", "position": draw(maybe(positions())),
                "cover_level_m": draw(st.sampled_from([None, 100.12, 99.4])),
                "dipped_depth_m": draw(st.sampled_from([None, 1.43, 2.2])),
                "cover_level_sd_m": draw(st.sampled_from([None, 0.02])),
                "node_type": draw(st.sampled_from(["manhole", "outfall", None])),
            }
        )
        for k in range(3)
    ]  # fmt: skip


def deg(size, sense="falling"):
    return {"size": size, "unit": "deg", "sense": sense if size else "level"}


def checks(draw, ids):
    """Checks of the instruments, whole and half."""
    made = []
    if draw(st.booleans()):
        made.append({"check_type": "counter_tape", "counter_from_m": 0.0, "counter_to_m": 10.03,
                     "taped_length_m": draw(st.sampled_from([10.0, 10.1, None]))})  # fmt: skip
    if draw(st.integers(0, 2)) == 0:
        back = draw(st.sampled_from([deg(0.6, "rising"), deg(0.9, "rising"), None]))
        made.append(
            {"check_type": "inclinometer_reversed", "reading_forward": deg(0.8), "reading_reversed": back}
        )
    if draw(st.integers(0, 2)) == 0:
        limit = draw(st.sampled_from([5.0, 12.0, 30.0]))
        made.append(
            {"check_type": "inclinometer_limit", "limit_deg": limit, "sd_deg": draw(maybe(st.just(0.05)))}
        )
    return [ids.record(one) for one in made]


def readings(draw, ids):
    """Readings of a run, with a reset of the counter or two where one is told of."""
    made, taken = [], 0
    for counter_m in sorted(draw(st.lists(places, max_size=8))):
        fields = {"counter_m": round(counter_m - taken, 3), "inclination": draw(inclinations())}
        if draw(st.integers(0, 14)) == 0:
            fields |= {
                "counter_m": 0.5,
                "counter_reset": {"had_shown_m": fields["counter_m"] + 0.2, "set_to_m": 0.0},
            }
            taken = counter_m - 0.5
        if draw(st.integers(0, 9)) == 0:
            fields["inclination"] = None
        made.append(ids.record(fields))
    return made


ODD = [
    {"code": "BDD", "characterisation_1": "A", "quantification_1": 30},
    {"code": "BDD", "characterisation_1": "C", "quantification_1": 100},
    {"code": "BCC", "characterisation_1": "A", "quantification_1": 30},
    {"code": "BCC", "characterisation_1": "B"},
    {"code": "BAJ", "characterisation_1": "C", "quantification_1": 4.0, "clock": {"hour_from": 3}},
    {"code": "BAJ", "characterisation_1": "A", "quantification_1": 40},
    {"code": "BCE", "characterisation_1": "A"},
    {"code": "BDC", "characterisation_1": "A"},
    {"code": "BDC", "characterisation_1": "B"},
    {"code": "BCD", "characterisation_1": "A"},
    {"code": "BBB", "characterisation_1": "A", "quantification_1": 15},
    {"code": "BDG", "characterisation_1": "A"},
]


def seen_along(draw, ids):
    """Observations: any code, what ends a run, bends, water, and what goes on with a length."""
    made = []
    for fields in draw(st.lists(observations(), max_size=5)):
        made.append(disputed(draw, "observation", ids.record(fields)))
    for fields in draw(st.lists(st.sampled_from(ODD), max_size=4)):
        made.append(ids.record({**fields, "counter_m": draw(places)}))
    for number in range(1, draw(st.integers(0, 2)) + 1):
        fields, start, size = draw(observations()), draw(places), draw(st.integers(0, 200)) / 20
        for role, at_m in (("start", start), ("change", start + size / 2), ("finish", start + size)):
            if role == "start" or draw(st.integers(0, 2)) != 0:
                more = {"quantification_1": 35} if role == "change" else {}
                mark = {"role": role, "number": number}
                made.append(ids.record({**fields, **more, "counter_m": round(at_m, 3), "continuous": mark}))
    return made


def a_run(draw, ids, ends, k, before):
    """One run as ``{recorded, records}``, those of the job left out; it continues ``before``."""
    other = before is not None and draw(st.booleans())
    start, finish = (ends[1], ends[0]) if other else (ends[0], ends[1])
    fields = {
        "run_ref": f"R{k}",
        "start_node_id": start if other or before is None or draw(st.booleans()) else ends[2],
        "finish_node_id": draw(st.sampled_from([finish, None])),
        "continues_run_id": None if before is None else before["id"],
        "direction": draw(st.sampled_from(["with_flow", "against_flow", "unknown", None])),
        "counter_zero_m": draw(st.sampled_from([None, 0.0, 0.05, 0.3])),
        "expected_length_m": draw(st.sampled_from([None, 25.0, 40.35])),
        "end_reason": draw(st.sampled_from(END_REASONS)),
        "end_counter_m": draw(st.sampled_from([None, 31.0, 24.95, 30.05, 8.15])),
        "start_bearing": draw(maybe(bearings)),
        "water_carried": draw(st.sampled_from([None, "foul", "surface_water"])),
        "groundwater": draw(st.sampled_from([None, "below"])),
        "next_steps": draw(st.sampled_from([None, {"clean": "short_term"}])),
    }  # fmt: skip
    recorded = disputed(draw, "run", ids.record(fields))
    ties = [
        {"counter_m": m, "invert_level_m": 98.731 - m / 90 + draw(st.sampled_from([0.0, 0.0, 0.9])),
         "sd_m": draw(st.sampled_from([None, 0.004])), "counter_part": draw(st.sampled_from([None, None, 1]))}
        for m in draw(st.lists(places, max_size=3))
    ]  # fmt: skip
    pipes = [disputed(draw, "stretch", ids.record(one)) for one in draw(st.lists(stretches(), max_size=3))]
    records = {
        "readings": readings(draw, ids), "level_ties": [ids.record(one) for one in ties], "stretches": pipes,
        "observations": seen_along(draw, ids),
        "remarks": [ids.record({"counter_m": m, "text": "Odd"}) for m in draw(st.lists(places, max_size=1))],
        "photos": [ids.record({"counter_m": m}) for m in draw(st.lists(places, max_size=1))],
        "erased": erased(draw, ids),
    }  # fmt: skip
    return {"recorded": recorded, "records": records}


def erased(draw, ids):
    """Places of observations that were erased: points, lengths, those without a start, an end, or either."""
    if draw(st.integers(0, 3)):
        return []
    ends = draw(st.lists(st.tuples(st.one_of(st.none(), places), st.one_of(st.none(), places)), max_size=2))
    points = [(m, m) for m in draw(st.lists(places, max_size=2))]
    made = [{"from_counter_m": a, "to_counter_m": b} for a, b in [*ends, *points]]
    return [{"id": ids.record({})["id"], "fields": one} for one in made]


WHOLE = {"from_counter_m": 0.0, "to_counter_m": 31.0, "shape": "circular", "material": "concrete",
         "size_known": "measured"}  # fmt: skip


def a_plain_run(draw, ids, ends):
    """A run with little wrong: read all along, one pipe of known size, levels that fit, few observations."""
    fall = draw(st.sampled_from([60, 80, 120]))
    fields = {
        "run_ref": "R1", "start_node_id": ends[0], "finish_node_id": ends[1], "direction": "with_flow",
        "counter_zero_m": 0.0, "end_counter_m": 31.0,
        "end_reason": draw(st.sampled_from(["node_reached", None])),
        "expected_length_m": draw(st.sampled_from([None, 31.0])), "start_bearing": draw(maybe(bearings)),
        "water_carried": "foul",
    }  # fmt: skip
    recorded = ids.record(fields)
    falls = {"size": fall, "unit": "one_in", "sense": "falling"}
    over = draw(st.integers(0, 7))
    read = [
        {
            "counter_m": 4.0 * k,
            "inclination": {"over_range": True, "sense": "falling"} if k == over else falls,
        }
        for k in range(8)
    ]
    tied = draw(st.sampled_from([[], [0.0], [0.0, 31.0], [12.0, 31.0]]))
    ties = [{"counter_m": m, "invert_level_m": 98.731 - m / fall, "sd_m": 0.01} for m in tied]
    height = draw(st.sampled_from([150, 225, 300]))
    pipes = [{**WHOLE, "height_mm": height}]
    if draw(st.booleans()):
        pipes = [{**pipes[0], "to_counter_m": 12.0}, {**pipes[0], "from_counter_m": 12.0, "height_mm": 300}]
    roots = {"code": "BBA", "characterisation_1": "B", "quantification_1": 25}
    seen = draw(st.lists(st.sampled_from([*ODD[:6], roots]), max_size=2))
    records = {
        "readings": [ids.record(one) for one in read], "level_ties": [ids.record(one) for one in ties],
        "stretches": [disputed(draw, "stretch", ids.record(one)) for one in pipes],
        "observations": [ids.record({**one, "counter_m": draw(places)}) for one in seen],
    }  # fmt: skip
    return {"recorded": recorded, "records": records | {"remarks": [], "photos": []}}


def of_a_job(draw, make):
    """A job: its fields, and what is made of the ids and the nodes, with the records of the job beside it."""
    ids = Ids()
    job = given_of(
        {
            "declination_deg": draw(st.sampled_from([None, 2.0, -1.5])),
            "declination_known": draw(st.sampled_from([None, "model", "map", "typed"])),
            "declination_sd_deg": draw(st.sampled_from([None, 0.4])),
            "grid_convergence_deg": draw(st.sampled_from([None, None, 1.25])),
            "grid_central_meridian_deg": draw(st.sampled_from([None, -2.0, 3.0])),
        }
    )
    points, instruments = nodes(draw, ids), checks(draw, ids)
    runs = make(ids, [one["id"] for one in points])
    for one in runs:
        one["records"] |= {"nodes": points, "checks": instruments}
    return {"job": job, "runs": runs}


@st.composite
def single_runs(draw):
    """A job with one run; one of three has little wrong with it."""
    if draw(st.integers(0, 2)) == 0:
        return of_a_job(draw, lambda ids, ends: [a_plain_run(draw, ids, ends)])
    return of_a_job(draw, lambda ids, ends: [a_run(draw, ids, ends, 0, None)])


@st.composite
def lengths(draw):
    """A job with the runs of one length, two or three."""

    def made(ids, ends):
        runs = [a_run(draw, ids, ends, 0, None)]
        for k in range(1, draw(st.integers(2, 3))):
            runs.append(a_run(draw, ids, ends, k, runs[-1]["recorded"]))
        own, other = (one["records"]["observations"] for one in runs[:2])
        if own and other and draw(st.booleans()):
            other[0]["fields"]["same_as"] = own[0]["id"]
        return runs

    return of_a_job(draw, made)


REFERENCES = ("start_node_id", "finish_node_id", "continues_run_id", "same_as")
KINDS = {"level_ties": "level_tie", "stretches": "stretch", "readings": "reading"}
KINDS |= {"observations": "observation", "remarks": "remark", "photos": "photo"}


def with_entries(case):
    """Return a Maker with the entries of two phones from which the records of a case come."""
    maker = Maker()
    maker.add("job", title="A generated job", **case["job"])

    def add(kind, record, **more):
        fields = {k: maker.uuid(int(v)) if k in REFERENCES else v for k, v in record["fields"].items()}
        if kind == "photo":
            fields |= {"sha256": f"{int(record['id']):064x}", "size_bytes": 9, "media_type": "image/jpeg"}
        identity = maker.uuid(int(record["id"]))
        maker.add(kind, record_id=identity, **fields, **more)
        for name, values in record.get("conflicts", {}).items():
            maker.add(kind, record_id=identity, writer="writer-two", **{name: values[1][1]})

    own = case["runs"][0]["records"]
    for kind, records in (("node", own["nodes"]), ("check", own["checks"])):
        for one in records:
            add(kind, one)
    for run in case["runs"]:
        add("run", run["recorded"])
        for name, kind in KINDS.items():
            for one in run["records"][name]:
                add(kind, one, run_id=maker.uuid(int(run["recorded"]["id"])))
    return maker


def jobs_of_two_phones():
    """Makers of whole jobs: one run, or the runs of one length."""
    return (single_runs() | lengths()).map(with_entries)
