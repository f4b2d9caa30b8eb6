"""What an entry may hold, and the sentence that each fault gets."""

import json

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.schemas import KINDS, check_entry, describe_all, envelope_faults, schema_for
from webapp.schemas.json_schema import object_schema
from webapp.schemas.wire import definitions

JOB = "018f0000-0000-7000-8000-000000000001"
OTHER = "018f0000-0000-7000-8000-000000000002"


def entry(kind="reading", fields=None, **more):
    """A sound entry but for what is given."""
    return {
        "job_id": JOB,
        "writer": "writer-0001",
        "number": 1,
        "device_id": "phone",
        "record_id": JOB if kind == "job" else OTHER,
        "kind": kind,
        "fields": {"counter_m": 12.3} if fields is None else fields,
        "seen": {},
        "recorded_at": "2026-11-25T10:31:07.120+00:00",
        **more,
    }


def inclination(**parts):
    return {"inclination": {"sense": "falling", **parts}}


def test_a_sound_entry_has_no_fault():
    assert envelope_faults(entry()) == []
    assert check_entry(entry()) == {}


BAD = [
    ("reading", {"counter_m": -0.5}, "counter_m", "must lie between 0 and 5000 m"),
    ("reading", {"counter_m": "12"}, "counter_m", "must be a number in m"),
    ("reading", {"counter_m": True}, "counter_m", "must be a number in m"),
    ("reading", {"counter_m": 10**400}, "counter_m", "must be a number in m"),
    ("reading", {"counter_m": float("nan")}, "counter_m", "must be a number in m"),
    ("reading", inclination(size=95, unit="deg"), "inclination", "cannot be more than 90 degrees"),
    ("reading", inclination(size=0, unit="one_in"), "inclination", "1 in 0 is no gradient"),
    ("reading", inclination(size=5), "inclination", "needs a size and its unit"),
    ("reading", inclination(over_range=True, size=5, unit="deg"), "inclination", "has no size"),
    ("reading", {"inclination": {"over_range": True, "sense": "level"}}, "inclination", "rising or falling"),
    ("reading", inclination(size=5, unit="furlong"), "inclination.unit", "Must be one of"),
    ("observation", {"clock": {"hour_from": 13}}, "clock.hour_from", "must lie between 1 and 12"),
    ("observation", {"clock": {"hour_from": 3.5}}, "clock.hour_from", "whole number"),
    ("observation", {"clock": {"hour_to": 3}}, "clock.hour_from", "From is missing"),
    ("observation", {"clock": {"hour_from": None}}, "clock.hour_from", "From is missing"),
    ("reading", {"inclination": {"size": 3, "unit": "deg"}}, "inclination.sense", "Sense is missing"),
    ("observation", {"code": "roots"}, "code", "capital letters"),
    ("observation", {"colour": "red"}, "colour", "does not know this field"),
    ("remark", {"text": "bell \x07"}, "text", "cannot be printed"),
    ("remark", {"text": "x" * 4001}, "text", "at most 4000 characters"),
    ("remark", {"text": "\ud83d"}, "text", "cannot be printed"),
    ("stretch", {"from_counter_m": 9, "to_counter_m": 3}, "to_counter_m", "lies beyond its start"),
    ("stretch", {"height_mm": 0}, "height_mm", "must lie between 10 and 20000 mm"),
    ("check", {"counter_from_m": 5, "counter_to_m": 5}, "counter_to_m", "more at the end"),
    ("node", {"position": {"lat_deg": 91, "lon_deg": 0}}, "position.lat_deg", "between −90 and 90"),
    ("photo", {"sha256": "abc"}, "sha256", "64 hexadecimal digits"),
    ("run", {"start_node_id": "north"}, "start_node_id", "does not name a record"),
    ("job", {"surveyed_on": "25.11.2026"}, "surveyed_on", "such as 2026-11-25"),
    ("job", {"purpose": "fun"}, "purpose", "must be one of"),
    ("reading", {}, "fields", "at least one field"),
    ("reading", [], "fields", "at least one field"),
]


@pytest.mark.parametrize(("kind", "fields", "where", "says"), BAD)
def test_a_bad_value_gets_its_sentence(kind, fields, where, says):
    faults = check_entry(entry(kind, fields))
    assert where in faults, faults
    assert says in " ".join(faults[where])


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("remark", {"text": "🙂 שלום مرحبا\nline two\ttab"}),
        ("reading", {"counter_m": None}),
        ("reading", inclination(size=80, unit="one_in", typed="1:80")),
        ("reading", {"inclination": {"over_range": True, "sense": "rising"}}),
        ("observation", {"clock": {"hour_from": 10, "hour_to": 2}}),
        ("reading", {"removed": True}),
    ],
)
def test_what_is_allowed(kind, fields):
    assert check_entry(entry(kind, fields)) == {}


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"kind": "rumour"}, "kind"),
        ({"record_id": "x"}, "record_id"),
        ({"record_id": JOB}, "record_id"),
        ({"device_id": ""}, "device_id"),
        ({"recorded_at": "yesterday"}, "recorded_at"),
        ({"seen": {"remark": ["writer-0001:1"]}}, "seen"),
        ({"seen": {"counter_m": ["writer"]}}, "seen"),
        ({"seen": []}, "seen"),
        ({"surprise": 1}, "entry"),
    ],
)
def test_a_bad_frame_is_set_aside_with_its_reason(change, where):
    assert where in check_entry(entry(**change))


@pytest.mark.parametrize(
    "change",
    [{"writer": "short"}, {"number": 0}, {"number": "1"}, {"number": True}, {"job_id": "x"}, {"job_id": 4}],
)
def test_no_identity_no_place(change):
    assert envelope_faults(entry(**change))


def test_a_clock_of_1970_and_beyond_is_no_fault():
    assert check_entry(entry(recorded_at="1970-01-01T00:00:00.000+00:00")) == {}
    assert check_entry(entry(recorded_at="+012026-01-01T00:00:00Z")) == {}


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)
NAMES = sorted({name for s in KINDS.values() for name in s().fields})


@settings(max_examples=400, deadline=None)
@given(
    st.sampled_from(sorted(KINDS)),
    st.dictionaries(st.sampled_from(NAMES) | st.text(max_size=6), json_values, max_size=3),
    json_values,
)
def test_no_value_whatever_crashes_the_check(kind, fields, anything):
    check_entry(entry(kind, fields))
    check_entry(entry(kind, anything))
    check_entry(entry(kind, seen=anything))
    envelope_faults(anything)


def test_every_field_has_a_label_and_every_quantity_its_unit():
    for kind in describe_all()["kinds"].values():
        for field in kind["fields"]:
            assert field["label"], field
            if field["type"] == "number":
                suffix = field["name"].rsplit("_", 1)[-1]
                assert suffix in ("m", "mm", "deg", "bytes", "px", "pct"), field["name"]
                assert field["unit"], field["name"]


def test_descriptions_are_plain_json():
    json.dumps(describe_all(), allow_nan=False)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_json_schema_is_sound(kind):
    jsonschema.Draft202012Validator.check_schema(object_schema(schema_for(kind)))


@pytest.mark.parametrize(("kind", "fields", "where", "says"), BAD[:3] + BAD[11:13] + BAD[14:16])
def test_the_json_schema_refuses_what_the_check_refuses(kind, fields, where, says):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(fields, object_schema(schema_for(kind)) | {"$defs": definitions()})
