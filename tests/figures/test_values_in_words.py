"""A value that was recorded reads the same on the phone and in the pack, with its unit."""

import math
from datetime import date
from types import SimpleNamespace

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from js_tools import in_node

from webapp import tables
from webapp.assembly.checks import ELSEWHERE, check_of
from webapp.assembly.field_values import value_in_record
from webapp.schemas import KINDS, describe_all, described
from webapp.survey.wording.messages import message

WORDS = tables.messages()
OTHERS = ("ref", "code", "next_steps", "time")  # said by other records and tables; the clock of the phone
NORTHS = ("true", "magnetic", "grid")


def numbers(low, high, whole=False):
    if whole:
        return st.integers(math.ceil(low), math.floor(high))
    short = st.floats(low, high).map(lambda value: round(value, 3))
    return st.one_of(st.floats(low, high), st.sampled_from([low, high]), short)


COMPOSITES = {
    "inclination": st.one_of(
        st.fixed_dictionaries({"over_range": st.just(True), "sense": st.sampled_from(["rising", "falling"])}),
        st.fixed_dictionaries(
            {
                "size": numbers(0, 80),
                "unit": st.sampled_from(["deg", "pct", "permille", "one_in"]),
                "sense": st.sampled_from(["rising", "falling", "level"]),
            }
        ).filter(lambda one: one["unit"] != "one_in" or one["size"] > 0),  # 1 in 0 is refused
    ),
    "clock": st.fixed_dictionaries(
        {"hour_from": st.integers(1, 12)}, optional={"hour_to": st.one_of(st.none(), st.integers(1, 12))}
    ),
    "continuous": st.fixed_dictionaries(
        {"role": st.sampled_from(["start", "change", "finish"]), "number": st.integers(1, 999)}
    ),
    "counter_reset": st.fixed_dictionaries({"had_shown_m": numbers(0, 5000), "set_to_m": numbers(0, 5000)}),
    "position": st.fixed_dictionaries(
        {"lat_deg": numbers(-90, 90), "lon_deg": numbers(-180, 180)},
        optional={
            "accuracy_m": st.one_of(st.none(), numbers(0, 9999)),
            "source": st.sampled_from(["phone", "map"]),
        },
    ),
    "bearing": st.fixed_dictionaries(
        {"bearing_deg": numbers(0, 360), "north": st.sampled_from(NORTHS)},
        optional={"sd_deg": st.one_of(st.none(), numbers(0, 180))},
    ),
}  # fmt: skip


def values(field):
    """Values that a field may hold."""
    if field["type"] in COMPOSITES:
        return COMPOSITES[field["type"]]
    if "choices" in field:
        return st.sampled_from([one["value"] for one in field["choices"]] + ["none of these"])
    if "minimum" in field:
        return numbers(field["minimum"], field["maximum"], field["whole"])
    if field["type"] == "flag":
        return st.booleans()
    if field["type"] == "date":
        return st.dates(date(1950, 1, 1), date(2060, 1, 1)).map(str)
    return st.text("abc µ°\"'{}", min_size=1, max_size=12)


def records(kind):
    fields = {n: values(f) for n, f in described(kind).items() if f["type"] not in OTHERS}
    return st.fixed_dictionaries(
        {"kind": st.just(kind), "fields": st.fixed_dictionaries({}, optional=fields)}
    )


def on_the_phone(some):
    return in_node("value_words.mjs", {"app": {"fields": describe_all(), "tables": {}}, "records": some})


def in_the_pack(kind, fields):
    return {name: value_in_record(WORDS, kind, name, value, {}) for name, value in fields.items()}


def drawn(kind, many=150):
    """Return records of a kind, to be compared in one exchange with Node."""
    some = []

    @settings(max_examples=many, phases=[Phase.generate])
    @given(records(kind))
    def draw(record):
        some.append(record)

    draw()
    return some


@pytest.mark.parametrize("kind", KINDS)
def test_every_value_of_a_record(kind):
    some = drawn(kind)
    theirs = [one["values"] for one in on_the_phone(some)]
    assert theirs == [in_the_pack(kind, one["fields"]) for one in some]


def test_what_a_check_says():
    """The pack has the instrument and the remark in places of their own; the phone has one list."""
    some = drawn("check")
    apart = {described("check")[name]["label"] for name in ELSEWHERE}
    for one, said in zip(some, on_the_phone(some), strict=True):
        shown = check_of(WORDS, SimpleNamespace(id="c", **one), {}, [])
        lines = [message(WORDS, "value.labelled", {"label": a, "value": b}) for a, b in shown.facts]
        theirs = said["facts"][:-1] if one["fields"].get("first_made_for") else said["facts"]
        assert [line for line in theirs if line.split(": ")[0] not in apart] == lines


@pytest.mark.parametrize(
    ("kind", "name", "value", "said"),
    [
        ("check", "camera_height_mm", 120.5, "120.5 mm"),
        ("check", "taped_length_sd_m", 1e-7, "0.0000001 m"),
        ("stretch", "height_mm", 300, "300 mm"),
        ("node", "position", {"lat_deg": -1.5, "lon_deg": 2}, "−1.5°, 2°, accuracy not known"),
        ("observation", "clock", {"hour_from": 11, "hour_to": 1}, "11 to 1 o’clock"),
        ("observation", "clock", {"hour_to": 1}, '{"hour_to":1}'),  # half a value: as it stands
        ("observation", "at_joint", False, "no"),
        ("job", "surveyed_on", "2026-11-05", "5 Nov 2026"),
        ("stretch", "height_mm", None, "nothing recorded"),
    ],
)
def test_no_number_without_its_unit(kind, name, value, said):
    assert value_in_record(WORDS, kind, name, value, {}) == said
    assert on_the_phone([{"kind": kind, "fields": {name: value}}])[0]["values"] == {name: said}


def test_removed_or_kept_is_said_in_words():
    record = {"kind": "node", "fields": {"removed": False}}
    assert on_the_phone([record])[0]["values"] == {"removed": "Kept"}
