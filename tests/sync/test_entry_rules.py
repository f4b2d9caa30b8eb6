"""What a schema accepts at once is what marshmallow finds no fault with."""

import copy
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from servers import ONE_IN_80, entry

from webapp import paths
from webapp.records import job_file
from webapp.schemas import KINDS, base, check_entry, checked_schema, schema_for
from webapp.schemas.describe import describe_field
from webapp.sync import apply, stored

JOB = "019abcde-0000-7000-8000-000000000001"
SAMPLE_ENTRIES = [
    e for p in paths.SAMPLE_JOBS.glob("*/job.json") for e in job_file.read(p.read_bytes()).entries
]
KIND_NAMES = sorted(KINDS)
NAMES = sorted({name for kind in KINDS for name in schema_for(kind).fields})

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.sampled_from(
        [10**400, 1e15, 12.0, -0.0, 0, 1, 12, 90, 90.5, "2026-11-25", "a" * 64, JOB, "\ud800", "\x00"]
    )
    | st.sampled_from(
        ["deg", "one_in", "pct", "rising", "level", "falling", "start", "phone", "magnetic", "A", "yes"]
    )
    | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=5,
)
PARTS = [
    "size",
    "unit",
    "sense",
    "over_range",
    "typed",
    "lat_deg",
    "lon_deg",
    "accuracy_m",
    "source",
    "hour_from",
]
PARTS += ["hour_to", "role", "number", "bearing_deg", "north", "sd_deg"]
WHOLE = st.dictionaries(st.sampled_from(PARTS), JSON, max_size=4)


def by_marshmallow(made):
    """Return the verdict on an entry of which nothing is accepted at once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(checked_schema.CheckedSchema, "accepts", lambda _schema, _value, *, partial: False)
        return check_entry(made)


def accepted(made):
    """Say whether the fields of an entry of a known kind are accepted at once."""
    return schema_for(made["kind"]).accepts(made["fields"], partial=True)


def choices(kind):
    return sorted(
        {c["value"] for f in schema_for(kind).fields.values() for c in describe_field(f).get("choices", ())}
    )


@st.composite
def values(draw, kind):
    listed = choices(kind)
    likely = st.sampled_from(listed) if listed else st.nothing()
    return draw(st.sampled_from([ONE_IN_80, 12.3, 0, 1, None, True, "text"]) | likely | WHOLE | JSON)


@st.composite
def any_entries(draw):
    kind = draw(st.sampled_from(sorted(KINDS)))
    names = st.sampled_from(sorted(schema_for(kind).fields)) | st.sampled_from(NAMES)
    fields = draw(st.dictionaries(names, values(kind), max_size=4))
    made = entry(JOB, "writer-aaaa", 1, kind, fields)
    for key, value in draw(st.dictionaries(st.sampled_from([*made, "seen", "x"]), JSON, max_size=1)).items():
        if key not in ("job_id", "writer", "number"):
            made[key] = value
    if draw(st.booleans()):
        made["seen"] = draw(st.dictionaries(names | st.just("*"), st.lists(st.just("writer-aaaa:1")) | JSON))
    return made


@settings(max_examples=300, deadline=None)
@given(any_entries())
def test_both_checks_agree(made):
    before = copy.deepcopy(made)
    assert check_entry(made) == by_marshmallow(made)
    assert repr(made) == repr(before), "checking changes nothing"


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_value_of_the_samples_is_seen_alike(kind):
    mine = [e for e in SAMPLE_ENTRIES if e["kind"] == kind]
    assert mine, "the samples have entries of every kind"
    for made in mine:
        assert by_marshmallow(made) == {} and accepted(made)
        for name in made["fields"]:
            for value in (None, "", 7, -1, [], {}, True, "x" * 5000, 1e308):
                changed = {**made, "fields": {**made["fields"], name: value}}
                assert check_entry(changed) == by_marshmallow(changed), (name, value)


ODD = [
    None,
    0,
    True,
    "",
    "x",
    "x" * 81,
    [],
    {},
    ["writer-aaaa:1"],
    {"counter_m": 5},
    10**400,
    "2026-11-25T10:31:07Z",
]
SEEN = [{"counter_m": ["writer-aaaa:1"]}, {"*": ["writer-aaaa:1"]}, {"remark": ["writer-aaaa:1"]}]
SEEN += [{"counter_m": ["short:1"]}, {"counter_m": [1]}, {"counter_m": "writer-aaaa:1"}, {"*": None}]


@pytest.mark.parametrize("part", ["device_id", "record_id", "kind", "fields", "seen", "recorded_at", "extra"])
def test_a_frame_with_one_part_wrong_is_seen_alike(part):
    good = entry(JOB, "writer-aaaa", 1)
    found = []
    for value in [*ODD, *SEEN, JOB, "job", "reading"]:
        changed = {**good, part: value}
        assert check_entry(changed) == by_marshmallow(changed), value
        found.append(bool(check_entry(changed)))
    assert any(found)
    without = {k: v for k, v in good.items() if k != part}
    assert check_entry(without) == by_marshmallow(without)


def test_a_whole_value_with_one_part_wrong_is_seen_alike():
    for part in ONE_IN_80:
        for value in (None, 0, -1, 1e9, "level", "falling", "deg", True, [], "x" * 50):
            made = entry(JOB, "writer-aaaa", 1, fields={"inclination": {**ONE_IN_80, part: value}})
            assert check_entry(made) == by_marshmallow(made), (part, value)


WHOLE_NUMBER = base.Number(1, 12, "o’clock", whole=True, metadata={"label": "From"})
TEXT, UUID = base.Text(5, metadata={"label": "Remark"}), base.Ref("run", metadata={"label": "Run"})
CHOICE, FLAG = base.Choice({"a": "A"}, metadata={"label": "Kind"}), base.Flag(metadata={"label": "Seen"})
DAY, NUMBER = (
    base.Pattern(r"\d{4}"),
    base.Number(0, 90, "degrees", metadata={"label": "Inclination"}),
)
DAY.sentence = "Not a year."
LEAVES = [
    (WHOLE_NUMBER, [1, 12, 1.0], ["no number", True, "1", None, [], {}, float("nan"), float("inf"), 10**400]),
    (WHOLE_NUMBER, [], ["not whole", 1.5]),
    (NUMBER, [0, 90, 45.5, -0.0], ["out of range", -0.1, 91, 1e308]),
    (TEXT, ["", "a b", "ä\u00a0\n\t"], ["no text", 1, None, ["x"], {}]),
    (TEXT, ["12345"], ["too long", "123456"]),
    (TEXT, [], ["not to be printed", "\x00", "a\x7f", "\ud800"]),
    (CHOICE, ["a"], ["not in the list", "b", "", 1, None, [], {}]),
    (FLAG, [True, False], ["neither", 0, 1, "yes", None, []]),
    (UUID, [JOB], ["no id", JOB.upper(), JOB[1:], 1, None, [], f"{JOB}\n"]),
    (DAY, ["2026"], ["another form", "26", "20261", 2026, None, [], "2026\n"]),
]
WORDED = {
    "no number": "From must be a number in o’clock.",
    "not whole": "From must be a whole number in o’clock.",
    "out of range": "Inclination must lie between 0 and 90 degrees.",
    "no text": "Remark must be text.",
    "too long": "Remark can be at most 5 characters long.",
    "not to be printed": "Remark holds characters that cannot be printed. Type it again.",
    "not in the list": "Kind must be one of: A.",
    "neither": "Seen is either yes or no.",
    "no id": "Run does not name a record.",
    "another form": "Not a year.",
}


@pytest.mark.parametrize(
    "field, good, bad", LEAVES, ids=lambda value: value[0] if isinstance(value, list) and value else ""
)
def test_what_each_kind_of_field_accepts_and_how_it_words_the_rest(field, good, bad):
    why, *values = bad
    for value in good:
        assert field.accepts(value) and field.deserialize(value) == value
    for value in values:
        assert not field.accepts(value)
        assert field.fault(value) == WORDED[why]


@settings(max_examples=400, deadline=None)
@given(
    st.sampled_from(KIND_NAMES),
    st.dictionaries(st.sampled_from(NAMES), JSON | WHOLE, max_size=4),
    st.integers(0, 400),
)
def test_what_is_short_and_good_is_within_the_budget(kind, fields, seen):
    """So it is taken without the look for what is too large."""
    try:
        json.dumps(fields, allow_nan=False)
    except ValueError:
        return  # no request can bring it
    made = entry(JOB, "script-0", 1, kind=kind, fields=fields)
    made["seen"] = {name: [f"script-0:{n}" for n in range(1, seen)] for name in fields}
    for one in (made, *SAMPLE_ENTRIES[:: max(1, seen)]):
        assert stored.as_stored(one) == apply.looked_at(one)[:2]
        assert apply.looked_at(one)[2] in (None, check_entry(one))
