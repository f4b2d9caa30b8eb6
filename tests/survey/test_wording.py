"""How figures are said: by hand, and against exact decimal arithmetic."""

import decimal
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.survey import decimals, wording
from webapp.survey.errors import SurveyError

SAID = [
    (wording.metres, (12.3456, 0.0123), "12.346 m, sd 0.012 m"),
    (wording.metres, (12.3456, 0.25), "12.35 m, sd 0.25 m"),
    (wording.metres, (-0.3, 2.0), "−0.3 m, sd 2.0 m"),
    (wording.metres, (-0.0001, None), "0.00 m"),
    (wording.metres, (None, None), "not known"),
    (wording.one_in_text, (-math.degrees(math.atan(1 / 80)),), "1 in 80 falling"),
    (wording.one_in_text, (math.degrees(math.atan(1 / 80.5)),), "1 in 81 rising"),
    (wording.one_in_text, (math.degrees(math.atan(1 / 9.96)),), "1 in 10 rising"),
    (wording.one_in_text, (math.degrees(math.atan(1 / 3.25)),), "1 in 3.3 rising"),
    (wording.one_in_text, (0.005,), "level"),
    (wording.one_in_text, (-90.0,), "vertical, falling"),
    (wording.one_in_text, (None,), "not known"),
    (wording.percent_text, (-math.degrees(math.atan(0.0125)),), "−1.25 %"),
    (wording.percent_text, (0.0,), "0.00 %"),
    (wording.degrees_text, (0.7161,), "+0.72°"),
    (wording.degrees_text, (-0.001,), "0.00°"),
    (wording.known_word, ("bounded",), "bounded"),
    (wording.known_word, (None,), "not known"),
    (wording.at_least_text, (-3.0, -0.52), "falls at least 0.520 m"),
    (wording.at_least_text, (0.5, None), "rises at least 0.500 m"),
    (wording.at_least_text, (None, -0.5), "falls at least 0.500 m"),
    (wording.at_least_text, (None, 0.5), "not known"),
    (wording.at_least_text, (0.0, 0.0), "level (0.000 m)"),
    (wording.at_least_text, (-0.1, 0.2), "between 0.100 m falling and 0.200 m rising"),
    (wording.bearing_text, (37.2,), "037°"),
    (wording.bearing_text, (359.5,), "000°"),
    (wording.bearing_text, (-1.0,), "359°"),
    (wording.walk_text, (37.2, 214.4, 3.1), "37 m at 214°, look within 4 m"),
    (wording.walk_text, (3.25, 4.0, 0.2), "3.3 m at 004°, look within 1 m"),
    (wording.walk_text, (3.0, 4.0, None), "3.0 m at 004°"),
    (decimals.signed_text, (1.005, 2), "+1.01"),
    (decimals.decimal_text, (1e9, 6), "1000000000.000000"),
]


@pytest.mark.parametrize(("function", "args", "said"), SAID, ids=lambda v: getattr(v, "__name__", None))
def test_said_alike_on_both_sides(twin, function, args, said):
    assert function(*args) == said
    module = "survey/" + function.__module__.rsplit(".", 1)[1]
    assert twin.call(module, function.__name__, *args) == said


@settings(max_examples=1000, deadline=None)
@given(st.floats(-1e6, 1e6), st.integers(0, 3))
def test_rounding_is_half_away_from_zero(value, places):
    """Against decimal arithmetic on the number as it prints; halves that print as such go up."""
    exact = decimal.Decimal(repr(value))
    step = decimal.Decimal(1).scaleb(-places)
    wanted = exact.quantize(step, rounding=decimal.ROUND_HALF_UP)
    said = decimal.Decimal(decimals.decimal_text(value, places).replace("−", "-"))
    near_half = abs(abs(exact / step) % 1 - decimal.Decimal("0.5")) < decimal.Decimal("1e-8")
    assert said == wanted or (near_half and abs(said - wanted) <= step)


@given(st.integers(-99_999, 99_999), st.integers(0, 2))
def test_a_typed_half_goes_up(thousandths, places):
    value = thousandths / 1000
    wanted = decimal.Decimal(thousandths).scaleb(-3)
    wanted = wanted.quantize(decimal.Decimal(1).scaleb(-places), rounding=decimal.ROUND_HALF_UP)
    assert decimal.Decimal(decimals.decimal_text(value, places).replace("−", "-")) == wanted


@pytest.mark.parametrize(
    ("function", "args", "code"),
    [
        (decimals.decimal_text, (math.nan, 2), "number_not_finite"),
        (decimals.decimal_text, (1.0, 7), "places_out_of_range"),
        (wording.metres, (1.0, -0.1), "sd_negative"),
        (wording.at_least_text, (1.0, 0.5), "bounds_reversed"),
        (wording.one_in_text, (91.0,), "inclination_beyond_vertical"),
        (wording.bearing_text, (math.inf,), "number_not_finite"),
    ],
)
def test_refusals(function, args, code):
    with pytest.raises(SurveyError) as caught:
        function(*args)
    assert caught.value.code == code
