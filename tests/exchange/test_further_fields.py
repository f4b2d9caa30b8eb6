"""A field that is only a line in the schema of observations: the exchange file takes it there and back."""

import json
import zipfile
from io import BytesIO

import exchange_files as files
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pack_jobs import Maker, built

from webapp import exchange
from webapp.exchange.further import split_further, with_further
from webapp.records.fold import fold
from webapp.schemas import KINDS, pipe
from webapp.schemas.base import Choice, Flag, Number, Text, meta

PLACE = {"lat_deg": 51.2, "lon_deg": -0.1, "accuracy_m": 3.0}
BEARING = {"bearing_deg": 20.0, "north": "true", "sd_deg": 1.0}
LAYOUTS = [exchange.Layout(), exchange.Layout("UTF-8", "de", ";", ",", ""), exchange.Layout(separator="|")]


class Wider(pipe.ObservationSchema):
    """Observations with four fields more."""

    trial_gap_mm = Number(0, 500, "mm", metadata=meta(label="Trial gap [clear], widest"))
    trial_seen_by = Choice({"camera": "Camera", "mirror": "Mirror"}, metadata=meta(label="Seen by"))
    trial_wet = Flag(metadata=meta(label="Wet"))
    trial_owner = Text(60, metadata=meta(label="Owner"))


@pytest.fixture(autouse=True)
def wider():
    patch = pytest.MonkeyPatch()
    patch.setattr(pipe, "ObservationSchema", Wider)
    patch.setitem(KINDS, "observation", Wider)
    yield
    patch.undo()


def job(**fields):
    maker = Maker()
    start = maker.add("node", node_ref="MH1", position=PLACE)
    run = maker.add("run", run_ref="R1", start_node_id=start, direction="with_flow", start_bearing=BEARING,
                    counter_zero_m=0.0, end_counter_m=20.0, end_reason="obstruction")  # fmt: skip
    maker.readings(run, (1.0, -0.5), (15.0, -0.5))
    maker.add("observation", run_id=run, counter_m=4.0, code="BAF", characterisation_1="A", **fields)
    return maker


def read_back(maker, layout):
    mapped = exchange.inspections_of(fold(maker.entries))
    data = exchange.compose(mapped.inspections, layout).data
    assert files.again(data, layout) == data
    (seen,) = [
        r.fields
        for r in fold(exchange.read(data).entries)
        if r.kind == "observation" and r.fields["code"] == "BAF"
    ]
    return seen


OWNERS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" "), max_size=60)
REMARKS = [
    "Old [sic] repair, east side.",
    "ends with [a bracket]",
    "[x (trial_wet) = maybe]",
    "[Wet (trial_wet) = true]",
]
REMARKS += ["[Wet (trial_wet) = true] [Gap (trial_gap_mm) = 3]", "Old. [Wet (trial_wet) = true] []", "[]"]
FIELDS = {
    "trial_gap_mm": st.floats(0, 500) | st.integers(0, 500),
    "trial_seen_by": st.sampled_from(["camera", "mirror"]),
    "trial_wet": st.booleans(),
    "trial_owner": OWNERS.filter(bool),
    "remark": st.sampled_from(REMARKS),
}


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.fixed_dictionaries({}, optional=FIELDS), st.sampled_from(LAYOUTS))
def test_they_come_back_from_every_layout(fields, layout):
    seen = read_back(job(**fields), layout)
    assert {name: seen.get(name) for name in FIELDS} == {name: fields.get(name) for name in FIELDS}


def test_a_remark_that_only_looks_like_one_stays_a_remark():
    for text in (
        "[Gap (trial_gap_mm) = 600]",
        "[Gap (trial_gap_mm) = wide]",
        "[Depth (depth_mm) = 5]",
        "[Wet (trial_wet) = true] dry",
        "[Wet (trial_wet) = true] [Wet (trial_wet) = false]",
    ):
        assert split_further(text) == (text, {})
    assert split_further("[Gap (trial_gap_mm) = 5]") == ("", {"trial_gap_mm": 5})
    assert with_further("Old.", {"trial_gap_mm": 5}) == "Old. [Trial gap (clear), widest (trial_gap_mm) = 5]"


def test_values_in_dispute_stand_in_the_remark():
    maker = job(trial_gap_mm=12)
    seen = maker.entries[-1]["record_id"]
    maker.add("observation", record_id=seen, writer="writer-two", trial_gap_mm=15)
    mapped = exchange.inspections_of(fold(maker.entries))
    (row,) = [one for one in mapped.inspections[0].rows if one["A"] == "BAF"]
    assert (
        "Trial gap [clear], widest: 15 or 12." in row["F"]
        or "Trial gap [clear], widest: 12 or 15." in row["F"]
    )


def test_the_pack_has_it_in_its_files_and_lists_no_loss():
    pack = zipfile.ZipFile(
        BytesIO(built(job(trial_gap_mm=12, trial_seen_by="mirror", trial_wet=False).job_file())[0])
    )
    plan = json.loads(pack.read("plan.geojson"))
    (seen,) = [one["properties"] for one in plan["features"] if one["properties"]["kind"] == "observation"]
    assert (seen["trial_gap_mm"], seen["trial_seen_by"], seen["trial_wet"]) == (12, "Mirror", False)
    assert "(trial_gap_mm) = 12] [Seen by (trial_seen_by) = mirror] [Wet (trial_wet) = false]" in pack.read(
        "inspection.txt"
    ).decode("latin-1")
    losses = json.loads(pack.read("manifest.json"))["not_carried"]["inspection.txt"]
    assert not [one for one in losses if "Gap" in one or "Seen by" in one]
