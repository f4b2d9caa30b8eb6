"""Where a part of a composite may be null: the schema, JSON Schema and the types of both sides agree."""

import re
import types
import typing

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.schemas import KINDS, base, schema_for
from webapp.schemas.json_schema import object_schema
from webapp.schemas.types import javascript_types
from webapp.survey import records

# one whole value of each, with every part that goes with the others
WHOLE = {
    "Bearing": {"bearing_deg": 90.0, "north": "true", "sd_deg": 2.0},
    "Clock": {"hour_from": 3, "hour_to": 9},
    "Continuous": {"role": "start", "number": 1},
    "CounterReset": {"had_shown_m": 12.5, "set_to_m": 0.0},
    "Inclination": {"size": 2.0, "unit": "deg", "sense": "rising", "over_range": False, "typed": "2"},
    "NextSteps": {"clean": "short_term", "repair_point": "at_once", "no_action": False, "why": "Roots"},
    "Position": {
        "lat_deg": 52.0,
        "lon_deg": -1.5,
        "accuracy_m": 5.0,
        "accuracy_pct": 63.0,
        "source": "phone",
    },
}
# null there is refused for another reason than the part itself: without a size it was beyond the range
TOGETHER = {("Inclination", "size")}
JAVASCRIPT = javascript_types()


def composites():
    """The values of several parts of all kinds, by name, each with a field that holds it."""
    found = {}
    for kind in KINDS:
        for name, field in schema_for(kind).fields.items():
            if isinstance(field, base.Composite):
                found[type(field.schema).__name__] = (field, kind, name)
    return found


def parts():
    return [(value, part) for value, (field, _, _) in composites().items() for part in field.schema.fields]


def takes_null(value, part):
    """Whether null passes the schema of a record in this part of a value that is whole otherwise."""
    field, kind, name = composites()[value]
    whole = WHOLE[value] | {part: None}
    faults = schema_for(kind).validate({name: whole}, partial=True)
    assert bool(field.accepts(whole)) == (not faults), "the fast rule and marshmallow agree"
    return not faults


def python_takes_null(value, part):
    form = typing.get_type_hints(getattr(records, value), include_extras=True)[part]
    while typing.get_origin(form) in (typing.Required, typing.NotRequired):
        form = typing.get_args(form)[0]
    return types.NoneType in typing.get_args(form)


def javascript_takes_null(value, part):
    body = re.search(rf"@typedef \{{object\}} {value}\n(.*?)\*/", JAVASCRIPT, re.S).group(1)
    return "| null" in re.search(rf"@property \{{([^}}]*)\}} \[?{part}\]?(?= |\n)", body).group(1)


def json_schema_takes_null(value, part):
    rule = object_schema(composites()[value][0].schema)["properties"][part]
    return jsonschema.Draft202012Validator(rule).is_valid(None)


def test_every_value_of_several_parts_is_tried():
    assert sorted(WHOLE) == sorted(composites())
    for value, (field, kind, name) in composites().items():
        assert schema_for(kind).validate({name: WHOLE[value]}, partial=True) == {}, value
        assert field.accepts(WHOLE[value])


@pytest.mark.parametrize(("value", "part"), parts())
def test_null_in_a_part_is_the_same_to_schema_and_types(value, part):
    said = {
        "python": python_takes_null(value, part),
        "javascript": javascript_takes_null(value, part),
        "json schema": json_schema_takes_null(value, part),
    }
    if (value, part) not in TOGETHER:
        said["schema"] = takes_null(value, part)
    assert len(set(said.values())) == 1, said


@pytest.mark.parametrize(("value", "part"), parts())
def test_a_required_part_is_never_null(value, part):
    field, kind, name = composites()[value]
    if field.schema.fields[part].required:
        assert not takes_null(value, part) and not python_takes_null(value, part)
        faults = schema_for(kind).validate({name: WHOLE[value] | {part: None}}, partial=True)
        left_out = {key: one for key, one in WHOLE[value].items() if key != part}
        assert faults == schema_for(kind).validate({name: left_out}, partial=True), "one sentence for both"


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(WHOLE)), st.data())
def test_whatever_the_schema_takes_the_types_allow(value, data):
    """Any choice of parts, each as it is or null: what passes has every required part and no other null."""
    field, _, _ = composites()[value]
    chosen = data.draw(st.lists(st.sampled_from(sorted(WHOLE[value])), unique=True))
    given_parts = {part: None if data.draw(st.booleans()) else WHOLE[value][part] for part in chosen}
    if field.accepts(given_parts):
        assert getattr(records, value).__required_keys__ <= given_parts.keys()
        assert all(python_takes_null(value, part) for part, one in given_parts.items() if one is None)


def test_what_phones_have_written_is_taken_still():
    """Every form of every version left a value out or wrote it whole, without its optional parts or with."""
    written = [
        ("observation", {"clock": {"hour_from": 12}}),
        ("observation", {"continuous": {"role": "finish", "number": 3}}),
        ("reading", {"inclination": {"sense": "falling", "over_range": True}}),
        ("reading", {"inclination": {"sense": "falling", "over_range": True, "size": None}}),
        ("reading", {"counter_reset": {"had_shown_m": 0, "set_to_m": 0}}),
        ("run", {"start_bearing": {"bearing_deg": 0, "north": "magnetic"}}),
        ("node", {"position": {"lat_deg": 0, "lon_deg": 0, "accuracy_m": 4.9, "source": "phone"}}),
        ("node", {"position": {"lat_deg": 0, "lon_deg": 0, "accuracy_m": None}}),
        ("node", {"position": None}),
    ]
    for kind, fields in written:
        assert schema_for(kind).validate(fields, partial=True) == {}, fields
