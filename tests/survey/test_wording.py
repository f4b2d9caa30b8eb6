"""How figures are said: by hand, and against exact decimal arithmetic."""

import decimal
import inspect
import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.errors import SurveyError
from webapp.survey.levels.ponding import Backfall, Sag
from webapp.survey.numbers import decimals
from webapp.survey.wording import figures, messages, quantities, recorded

WORDS = tables.messages()
WITH_COMMAS = {**WORDS, "_language": "de", "_locale": "de-DE"}
REASONS = [key.removeprefix("survey.reason.") for key in WORDS if key.startswith("survey.reason.")]

SAID = [
    (quantities.metres, (12.3456, 0.0123), "12.346 m (sd 0.012 m)"),
    (quantities.metres, (12.3456, 0.25), "12.35 m (sd 0.25 m)"),
    (quantities.metres, (-0.3, 2.0), "−0.3 m (sd 2.0 m)"),
    (quantities.metres, (-0.0001, None), "0.00 m"),
    (quantities.metres, (None, None), "not known"),
    (quantities.one_in_text, (-math.degrees(math.atan(1 / 80)),), "1 in 80 falling"),
    (quantities.one_in_text, (math.degrees(math.atan(1 / 80.5)),), "1 in 81 rising"),
    (quantities.one_in_text, (math.degrees(math.atan(1 / 9.96)),), "1 in 10 rising"),
    (quantities.one_in_text, (math.degrees(math.atan(1 / 3.25)),), "1 in 3.3 rising"),
    (quantities.one_in_text, (0.005,), "level"),
    (quantities.one_in_text, (-90.0,), "vertical, falling"),
    (quantities.one_in_text, (None,), "not known"),
    (quantities.percent_text, (-math.degrees(math.atan(0.0125)),), "−1.25 %"),
    (quantities.percent_text, (0.0,), "0.00 %"),
    (quantities.degrees_text, (0.7161,), "+0.72°"),
    (quantities.degrees_text, (-0.001,), "0.00°"),
    (quantities.known_word, ("bounded",), "bounded"),
    (quantities.known_word, (None,), "not known"),
    (quantities.at_least_text, (-3.0, -0.52), "falls at least 0.520 m"),
    (quantities.at_least_text, (0.5, None), "rises at least 0.500 m"),
    (quantities.at_least_text, (None, -0.5), "falls at least 0.500 m"),
    (quantities.at_least_text, (None, 0.5), "not known"),
    (quantities.at_least_text, (0.0, 0.0), "level (0.000 m)"),
    (quantities.at_least_text, (-0.1, 0.2), "between 0.100 m falling and 0.200 m rising"),
    (quantities.bearing_text, (37.2,), "037°"),
    (quantities.bearing_text, (359.5,), "000°"),
    (quantities.bearing_text, (-1.0,), "359°"),
    (quantities.walk_text, (37.2, 214.4, 3.1), "37 m at 214°, look within 4 m"),
    (quantities.walk_text, (3.25, 4.0, 0.2), "3.3 m at 004°, look within 1 m"),
    (quantities.walk_text, (3.0, 4.0, None), "3.0 m at 004°"),
    (quantities.length_text, (12.3456, 3), "12.346 m"),
    (quantities.length_text, (None, 3), "not known"),
    (quantities.place_text, (12.345,), "12.35"),
    (quantities.spread_text, (0.0123,), "0.012 m"),
    (quantities.spread_text, (None,), ""),
    (quantities.change_text, (-0.4407, 0.0152), "falls 0.441 m (sd 0.015 m)"),
    (quantities.change_text, (0.25, None), "rises 0.25 m"),
    (messages.listed, (["a", "b", "c"],), "a, b, c"),
    (messages.clauses, (["a", "b"],), "a; b"),
    (messages.listed, ([],), ""),
    (quantities.litres_text, (0.09996,), "100"),
    (quantities.litres_text, (0.0219,), "21.9"),
    (quantities.litres_text, (0.00512,), "5.12"),
    (figures.reason_text, ("bore", 0.409), "With the largest bore of the run it would carry 409 l/s."),
    (figures.crown_text, (21.4,), "The water reaches the crown first at 21.40 m."),
    (
        figures.surcharge_text,
        (0.061, 0.05, 0.08, "MH1", 12.34),
        "With more than 61.0 l/s (95 % band 50.0 to 80.0 l/s) the pipe would run under pressure and the "
        "water rise above the cover of MH1 (12.340 m).",
    ),
    (quantities.times_text, (-4.25,), "4.3"),
    (quantities.times_text, (-1e12,), "more than 999"),
    (
        figures.settle_text,
        (0.01, 0.2, 0.0123, True),
        "A level at each end, with an sd of 0.010 m (assumed), would bring the sd of the fall from 0.20 m to "
        "0.012 m.",
    ),
    (quantities.volume_text, (0.9996,), "1000 litres"),
    (quantities.volume_text, (None,), "not known: size not recorded"),
    (
        figures.water_verdict,
        ("deeper",),
        "More than the levels explain: something holds it back, or the levels are out.",
    ),
    (figures.water_verdict, ("constructor",), ""),
    (decimals.signed_text, (1.005, 2), "+1.01"),
    (decimals.decimal_text, (1e9, 6), "1000000000.000000"),
]


def with_words(function, args, words=WORDS):
    """What a function takes: most take the catalogue first."""
    return (words, *args) if "words" in inspect.signature(function).parameters else args


@pytest.mark.parametrize(("function", "args", "wording"), SAID, ids=lambda v: getattr(v, "__name__", None))
def test_said_alike_on_both_sides(twin, function, args, wording):
    args = with_words(function, args)
    assert function(*args) == wording
    module = "survey/" + function.__module__.removeprefix("webapp.survey.").replace(".", "/")
    assert twin.call(module, function.__name__, *args) == wording


@pytest.mark.parametrize(("function", "args", "said"), SAID, ids=lambda v: getattr(v, "__name__", None))
def test_said_with_the_decimal_mark_of_the_language(twin, function, args, said):
    args = with_words(function, args, WITH_COMMAS)
    said = re.sub(r"(?<=[0-9])[.](?=[0-9])", ",", said) if args[:1] == (WITH_COMMAS,) else said
    assert function(*args) == said
    module = "survey/" + function.__module__.removeprefix("webapp.survey.").replace(".", "/")
    assert twin.call(module, function.__name__, *args) == said


numbers = st.floats(-2e9, 2e9) | st.floats(-50, 50) | st.sampled_from([math.nan, math.inf, 0.0])
spreads = st.none() | st.floats(0, 20)
SUSPECT = "survey.levels.suspect_"
SUSPECTS = [key.removeprefix(SUSPECT) for key in WORDS if key.startswith(SUSPECT)]


@parity(
    "wording/figures", "wording/quantities",
    *[numbers] * 4, spreads, st.booleans(), st.booleans(), st.sampled_from(SUSPECTS),
    st.sampled_from([*REASONS, "toString", "no_such_code"]), keep=[WORDS],
)  # fmt: skip
def test_sentences_agree(twin, a, b, c, d, sd, sure, least, kind, code):
    for function, args in (
        (quantities.place_text, (a,)),
        (quantities.spread_text, (sd,)),
        (quantities.change_text, (a, sd)),
        (quantities.change_parts, (a, sd)),
        (quantities.litres_text, (a,)),
        (figures.reason_text, (kind, a)),
        (figures.crown_text, (a,)),
        (figures.surcharge_text, (b, a, d, "MH 1", c)),
        (figures.suspect_text, (kind, a, b, c, d)),
        (figures.gap_text, (a, sd)),
        (figures.settle_text, (0.01, sd, abs(a), sure)),
        (figures.seen_text, (a, b, sd, c)),
        (quantities.volume_text, (a,)),
        (quantities.length_text, (a, 3)),
        (figures.code_reason, (code,)),
    ):
        agree(
            twin,
            "survey/" + function.__module__.removeprefix("webapp.survey.").replace(".", "/"),
            function.__name__,
            function,
            *with_words(function, args),
        )
    ends = {"from_m": a, "to_m": b, "sd_m": sd, "sure": sure, "at_least": least}
    backfall = ends | {"rise_m": c}
    sag = ends | {
        "low_m": d, "spill_m": b, "depth_m": c, "length_m": 1.0, "volume_m3": None, "surface_m": 0.0,
        "open_end": False, "fills": False,
    }  # fmt: skip
    for name, form, one in (("backfall_text", Backfall, backfall), ("sag_text", Sag, sag)):

        def ours(words, plain, name=name, form=form):
            return getattr(figures, name)(words, form(**plain))

        agree(twin, "survey/wording/figures", name, ours, WORDS, one)


@settings(max_examples=1000, deadline=None)
@given(st.floats(-1e6, 1e6), st.integers(0, 3))
def test_rounding_is_half_away_from_zero(value, places):
    """Against decimal arithmetic on the number as it prints; halves that print as such go up."""
    exact = decimal.Decimal(repr(value))
    step = decimal.Decimal(1).scaleb(-places)
    wanted = exact.quantize(step, rounding=decimal.ROUND_HALF_UP)
    wording = decimal.Decimal(decimals.decimal_text(value, places).replace("−", "-"))
    near_half = abs(abs(exact / step) % 1 - decimal.Decimal("0.5")) < decimal.Decimal("1e-8")
    assert wording == wanted or (near_half and abs(wording - wanted) <= step)


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
        (quantities.metres, (1.0, -0.1), "sd_negative"),
        (quantities.at_least_text, (1.0, 0.5), "bounds_reversed"),
        (quantities.one_in_text, (91.0,), "inclination_beyond_vertical"),
        (quantities.bearing_text, (math.inf,), "number_not_finite"),
    ],
)
def test_refusals(function, args, code):
    with pytest.raises(SurveyError) as caught:
        function(*with_words(function, args))
    assert caught.value.code == code


RECORDED = [
    (recorded.short_text, (1234567.25,), "1234567.25"),
    (recorded.short_text, (0.1 + 0.2,), "0.3"),
    (recorded.short_text, (-2.5,), "−2.5"),
    (recorded.short_text, (2**-10,), "0.000976563"),  # halfway: away from zero on both sides
    (recorded.short_text, (-(2**-10),), "−0.000976563"),
    (recorded.short_text, (-1e-12,), "0"),
    (recorded.short_text, (5e-324,), "0"),
    (recorded.short_text, (200_000_000,), "200000000"),
    (recorded.sized, (1.5, "mm"), "1.5 mm"),
    (recorded.sized, (1.5, ""), "1.5"),
    (recorded.inclination_text, ({"size": 80, "unit": "one_in", "sense": "falling"},), "1 in 80 falling"),
    (recorded.inclination_text, ({"size": 0, "unit": "pct", "sense": "level"},), "0 % (level)"),
    (recorded.inclination_text, ({"over_range": True, "sense": "rising"},), "beyond the range, rising"),
    (recorded.clock_text, ({"hour_from": 3},), "3 o’clock"),
    (recorded.clock_text, ({"hour_from": 11, "hour_to": 1},), "11 to 1 o’clock"),
    (recorded.clock_text, ({"hour_from": 12, "hour_to": 12},), "all round"),
    (recorded.continuous_text, ({"role": "finish", "number": 2},), "finish of number 2"),
    (recorded.reset_text, ({"had_shown_m": 12.5, "set_to_m": 0},), "it had shown 12.5 m and was set to 0 m"),
    (recorded.position_text, ({"lat_deg": -1.5, "lon_deg": 2},), "−1.5°, 2°, accuracy not known"),
    (
        recorded.position_text,
        ({"lat_deg": 1.5, "lon_deg": 2, "accuracy_m": 4.0, "source": "map"},),
        "1.5°, 2°, within 4.0 m, 95 times in 100",
    ),
    (recorded.heading_text, ({"bearing_deg": 7, "north": "grid", "sd_deg": 2},), "7° from grid north, sd 2°"),
    (
        recorded.heading_text,
        ({"bearing_deg": 7, "north": "true"},),
        "7° from true north, its sd not recorded",
    ),
]


@pytest.mark.parametrize(("function", "args", "words"), RECORDED)
def test_what_was_recorded_is_said(twin, function, args, words):
    assert function(WORDS, *args) == words
    assert twin.call("survey/wording/recorded", function.__name__, WORDS, *args) == words


@parity(
    "wording/recorded",
    st.one_of(st.floats(-1e6, 1e6), st.floats(-1, 1), st.integers(-99_999, 99_999).map(lambda n: n / 1024)),
    st.one_of(st.floats(0, 360), st.none()),
    st.sampled_from(["deg", "pct", "permille", "one_in", "", None]),
    st.sampled_from(["rising", "falling", "level", "true", "magnetic", "grid", None]),
    keep=[WORDS],
)
def test_what_was_recorded_is_said_alike(twin, size, other, unit, word):
    def same(value, kind="", **field):
        agree(
            twin,
            "survey/wording/recorded",
            "value_text",
            recorded.value_text,
            WORDS,
            {"type": kind, **field},
            value,
        )

    same(size, unit=unit or "")
    same(other)
    same(word, choices=[{"value": "true", "label": "True north"}])
    same(word == "rising")
    same({"size": other, "unit": unit, "sense": word, "over_range": word == "falling"}, "inclination")
    same({"hour_from": other, "hour_to": size}, "clock")
    same({"role": word, "number": size}, "continuous")
    same({"had_shown_m": size, "set_to_m": other}, "counter_reset")
    same({"lat_deg": size, "lon_deg": 2, "accuracy_m": other, "source": word}, "position")
    same({"bearing_deg": size, "north": word, "sd_deg": other}, "bearing")
