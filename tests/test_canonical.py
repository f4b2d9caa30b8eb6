"""One spelling of a value, whoever wrote it."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.records import canonical

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


def plainly(value):
    """The rule, spelled out: whole floats below 1e15 are whole numbers, everywhere."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, dict):
        return {k: plainly(v) for k, v in value.items()}
    return [plainly(v) for v in value] if isinstance(value, list) else value


@given(JSON)
def test_the_short_way_gives_what_the_rule_says(value):
    expected = json.dumps(plainly(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert canonical.dumps(value) == expected


@pytest.mark.parametrize("alike", [True, False])
def test_numbers_that_a_fast_encoder_spells_its_own_way(alike, monkeypatch):
    monkeypatch.setattr(canonical, "_IS_ALIKE", alike)
    for number in (
        1e-5,
        -9.5e-05,
        1.234e-05,
        1e-4,
        1e-7,
        5e-324,
        1e16,
        1e22,
        -0.0,
        2**53,
        2**64,
        -(2**63) - 1,
        0.1,
    ):
        for value in (number, [0, number], {"a": number, "": [None, number]}, {"e-5": "0.0000", "x": number}):
            expected = json.dumps(plainly(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
            assert canonical.dumps(value) == expected
    for nothing in (float("nan"), [float("inf")], {"a": -float("inf"), "b": "null"}):
        with pytest.raises(ValueError, match="Out of range"):
            canonical.dumps(nothing)


@given(JSON)
def test_text_read_and_written_again_is_the_same_and_utf8_can_hold_it(value):
    text = canonical.escape_surrogates(canonical.dumps(value))
    assert canonical.dumps(json.loads(text)) == canonical.dumps(value)
    text.encode()


def test_whole_numbers_and_order():
    assert (
        canonical.dumps({"b": 12.0, "a": [-0.0, 1e15, 0.5, True]})
        == '{"a":[0,1000000000000000.0,0.5,true],"b":12}'
    )
    assert canonical.escape_surrogates(canonical.dumps("\ud800")) == '"\\ud800"'
    with pytest.raises(ValueError, match="Out of range"):
        canonical.dumps(float("nan"))
