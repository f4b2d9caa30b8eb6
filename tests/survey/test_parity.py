"""The same cases through Python and JavaScript: results agree to 1e-9, errors in code and place."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from twin import TwinError

from webapp import tables
from webapp.survey import codes, counter, findings, gradient
from webapp.survey.errors import SurveyError

few = settings(max_examples=150, deadline=None)
sizes = st.one_of(st.just(0), st.integers(1, 400), st.floats(0, 1000, allow_nan=False))
inclinations = st.one_of(
    st.fixed_dictionaries(
        {
            "size": sizes,
            "unit": st.sampled_from(["deg", "pct", "permille", "one_in"]),
            "sense": st.sampled_from(["rising", "falling", "level"]),
        }
    ),
    st.fixed_dictionaries({"over_range": st.just(True), "sense": st.sampled_from(["rising", "falling"])}),
)


def close(a, b):
    """Equal in shape, numbers to 1e-9 relative or absolute."""
    if isinstance(a, bool) or isinstance(b, bool) or a is None or b is None or isinstance(a, str):
        return a == b
    if isinstance(a, int | float):
        return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
    if isinstance(a, dict):
        return set(a) == set(b) and all(close(v, b[k]) for k, v in a.items())
    return len(a) == len(b) and all(close(x, y) for x, y in zip(a, b, strict=True))


def both(twin, module, name, function, *args, plain=lambda x: x):
    """Run both sides; they agree, or refuse with the same code, field and index."""
    try:
        ours = plain(function(*args))
    except SurveyError as error:
        with pytest.raises(TwinError) as caught:
            twin.call(module, name, *args)
        assert (caught.value.code, caught.value.field, caught.value.index) == (
            error.code,
            error.field,
            error.index,
        )
        return None
    theirs = twin.call(module, name, *args)
    assert close(ours, theirs), (ours, theirs)
    return ours


TYPED = [
    "1:80",
    "1 in 80",
    "1 IN 80,5",
    "1.25 %",
    "0.7°",
    "0,7",
    "-2 %",
    "+1/40",
    "1:0",
    "0",
    "12 mm/m",
    "−3",
]
TYPED += ["", "abc", "91", "1 in", "1.2.3", "5 per mille", ".5", "7.", "1:80:2", "🙂", "٣", " 1 : 80 "]


@pytest.mark.parametrize("text", TYPED)
@pytest.mark.parametrize("unit", ["deg", "pct", "one_in"])
def test_what_people_type_is_read_alike(twin, text, unit):
    both(twin, "survey/gradient", "parse_inclination", gradient.parse_inclination, text, unit)
    both(twin, "survey/counter", "parse_counter", counter.parse_counter, text)


@few
@given(text=st.text(alphabet="0123456789.,:/ in%°-+m", max_size=12), unit=st.sampled_from(["deg", "pct"]))
def test_any_typing_is_read_alike(twin, text, unit):
    both(twin, "survey/gradient", "parse_inclination", gradient.parse_inclination, text, unit)
    both(twin, "survey/counter", "parse_counter", counter.parse_counter, text)


@few
@given(inclination=inclinations)
def test_inclinations_agree(twin, inclination):
    deg = both(twin, "survey/gradient", "inclination_deg", gradient.inclination_deg, inclination)
    if deg is not None and abs(deg) < 89:
        both(twin, "survey/gradient", "gradient_of", gradient.gradient_of, deg)


@few
@given(st.floats(0, 500), st.floats(-5, 5), st.floats(-1, 2), st.floats(0, 100), st.floats(-1, 100))
def test_counter_agrees(twin, counter_m, zero_m, scale, to_m, taped_m):
    both(twin, "survey/counter", "chainage_m", counter.chainage_m, counter_m, zero_m, scale)
    both(twin, "survey/counter", "scale_from_tape", counter.scale_from_tape, counter_m, to_m, taped_m)


ROWS = tables.load("observation_codes")["rows"]


observations = st.fixed_dictionaries(
    {},
    optional={
        "counter_m": st.sampled_from([0, 1.5, 20.004, 20.0, 99.5]),
        "code": st.sampled_from([r["code"] for r in ROWS] + ["XYZ", ""]),
        "characterisation_1": st.sampled_from(["A", "B", "C", "Q", None]),
        "characterisation_2": st.sampled_from(["A", "Z", "", None]),
        "quantification_1": st.sampled_from([0, 15, 150, None]),
        "quantification_2": st.sampled_from([3, None]),
        "clock": st.sampled_from([None, {"hour_from": 3}, {"hour_from": 10, "hour_to": 2}]),
        "continuous": st.sampled_from(
            [
                None,
                {"role": "start", "number": 1},
                {"role": "finish", "number": 1},
                {"role": "change", "number": 2},
            ]
        ),
    },
)
reading_fields = st.fixed_dictionaries(
    {}, optional={"counter_m": st.sampled_from([0, 5, 5.001, 7.25, 60]), "inclination": inclinations}
)
run_fields = st.fixed_dictionaries(
    {}, optional={"counter_zero_m": st.sampled_from([0, 1]), "end_counter_m": st.sampled_from([30, None])}
)


@few
@given(
    run_fields,
    st.lists(reading_fields, max_size=5),
    st.lists(observations, max_size=5),
    st.sampled_from([None, 50]),
)
def test_findings_agree(twin, run, readings, observed, cable_m):
    records = [[{"id": f"{i}", "fields": f} for i, f in enumerate(fields)] for fields in (readings, observed)]
    args = (run, *records, ROWS, cable_m, 10.0)
    found = both(twin, "survey/findings", "run_findings", findings.run_findings, *args)
    table = tables.load("findings")["rows"]
    for one in found or ():
        text = both(twin, "survey/findings", "sentence", findings.sentence, table, one)
        assert "{" not in text
    for item in records[1]:
        both(twin, "survey/codes", "compact_code", codes.compact_code, item["fields"])
