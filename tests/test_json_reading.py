"""Reading JSON by a fast parser gives what the strict one gives; the count beforehand is exact."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.records.json_size import JsonSize, json_size
from webapp.records.json_text import loads, loads_fast

SIGNS = st.text(st.sampled_from('ab[]{},:"\\\u00e4\ud83d\ude00 '), max_size=6)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | SIGNS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(SIGNS, inner, max_size=4),
    max_leaves=20,
)
ODD = [
    "1e999", "-1e999", "NaN", "Infinity", "-0", "-0.0", "01", "1.", ".5", "-", "[1,]", '{"a":1,"a":2}',
    "\ufeff1", '"\\ud800"', '"\t"', '"\\u0000"', "1" + "0" * 400, "0.1e-999", " 1 \n", "\x0c1", "", "[",
    '"', "tru", "[" * 2000, "18446744073709551615", "18446744073709551616", "-9223372036854775809",
    "9007199254740993", "1E5", "1e15",
]  # fmt: skip


def read_by(parser, text):
    """Return what a parser makes of a text: its value, or that it refuses."""
    try:
        return parser(text.encode(errors="surrogatepass"))
    except ValueError:
        return "refused"


def large_as_floats(value):
    """Return a value whose whole numbers of more than 64 bits are floats."""
    if isinstance(value, dict):
        return {name: large_as_floats(one) for name, one in value.items()}
    if isinstance(value, list):
        return [large_as_floats(one) for one in value]
    is_large = type(value) is int and not -(2**63) <= value < 2**64
    return float(value) if is_large and abs(value) < 10**300 else value


def both(text):
    """Say whether a text is the same to the strict parser and to the fast one."""
    strict, fast = (large_as_floats(read_by(parser, text)) for parser in (loads, loads_fast))
    return repr(strict) == repr(fast)


@pytest.mark.parametrize("text", ODD)
def test_an_odd_text_is_the_same_to_both(text):
    assert both(text)


@settings(max_examples=500, deadline=None)
@given(VALUES, st.booleans(), st.integers(0, 200))
def test_any_text_is_the_same_to_both(value, escaped, cut):
    text = json.dumps(value, ensure_ascii=escaped)
    assert both(text)
    assert both(text[:cut])


def values_of(value):
    """Count as the budget is worded: every member, an empty object or array as if it had one."""
    if not isinstance(value, dict | list):
        return 0
    members = list(value.values()) if isinstance(value, dict) else value
    return max(1, len(members)) + sum(map(values_of, members))


def depth_of(value):
    if not isinstance(value, dict | list):
        return 0
    return 1 + max(map(depth_of, value.values() if isinstance(value, dict) else value), default=0)


@settings(max_examples=500, deadline=None)
@given(VALUES, st.booleans(), st.integers(1, 40))
def test_values_and_depth_are_counted_exactly_in_any_pieces(value, escaped, piece):
    text = json.dumps(value, ensure_ascii=escaped).encode(errors="surrogatepass")
    size = JsonSize()
    for at in range(0, len(text), piece):
        size.feed(text[at : at + piece])
    assert (size.values, size.depth) == (1 + values_of(value), depth_of(value))
    whole = json_size(text)
    assert (whole.values, whole.depth) == (size.values, size.depth)
