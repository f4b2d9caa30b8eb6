"""The same cases through Python and JavaScript: results agree to 1e-9, errors in code and place."""

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import agree, found_by_name

from webapp import tables
from webapp.survey.coding import codes
from webapp.survey.instruments import counter, gradient
from webapp.survey.review import plausibility

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
    agree(twin, "survey/instruments/gradient", "parse_inclination", gradient.parse_inclination, text, unit)
    agree(twin, "survey/instruments/counter", "parse_counter", counter.parse_counter, text)


@parity(
    "instruments/gradient",
    "instruments/counter",
    text=st.text(alphabet="0123456789.,:/ in%°-+m", max_size=12),
    unit=st.sampled_from(["deg", "pct"]),
)
def test_any_typing_is_read_alike(twin, text, unit):
    agree(twin, "survey/instruments/gradient", "parse_inclination", gradient.parse_inclination, text, unit)
    agree(twin, "survey/instruments/counter", "parse_counter", counter.parse_counter, text)


@parity("instruments/gradient", inclination=inclinations, cases=400)
def test_inclinations_agree(twin, inclination):
    deg = agree(twin, "survey/instruments/gradient", "inclination_deg", gradient.inclination_deg, inclination)
    if deg is not None and abs(deg) < 89:
        agree(twin, "survey/instruments/gradient", "gradient_of", gradient.gradient_of, deg)


@parity("instruments/counter", st.floats(0, 500), st.floats(-5, 5), st.floats(-1, 2))
def test_counter_agrees(twin, counter_m, zero_m, scale):
    agree(twin, "survey/instruments/counter", "chainage_m", counter.chainage_m, counter_m, zero_m, scale)


ROWS = tables.load("observation_codes")["rows"]
FINDINGS = tables.load("findings")["rows"]
WORDS = tables.messages()


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
COUNTERS_M = st.sampled_from([0, 5, 30.0004, 60, None])
tie_fields = st.fixed_dictionaries(
    {},
    optional={
        "counter_m": COUNTERS_M,
        "invert_level_m": st.sampled_from([-3, 0, 12.345, 8000]),
        "sd_m": st.sampled_from([0, 0.005, 0.3, 10, None]),
        "method": st.sampled_from(["levelled", "dipped", "other", None]),
    },
)
stretch_fields = st.fixed_dictionaries(
    {}, optional={"from_counter_m": COUNTERS_M, "to_counter_m": COUNTERS_M}
)
run_fields = st.fixed_dictionaries(
    {}, optional={"counter_zero_m": st.sampled_from([0, 1]), "end_counter_m": st.sampled_from([30, None])}
)


@parity(
    "review/plausibility",
    run_fields,
    st.lists(reading_fields, max_size=5),
    st.lists(observations, max_size=5),
    st.lists(tie_fields | stretch_fields, max_size=3),
    st.sampled_from([None, 50]),
    keep=[ROWS, FINDINGS, WORDS],
)
def test_findings_agree(twin, run, readings, observed, placed, cable_m):
    given = (readings, observed, placed)
    records = [[{"id": f"{i}", "fields": f} for i, f in enumerate(fields)] for fields in given]
    facts = {
        "run": run, "readings": records[0], "observations": records[1], "others": records[2],
        "cable_length_m": cable_m, "limit_deg": 10.0,
    }  # fmt: skip
    found = found_by_name(twin, facts, ROWS)
    for one in found or ():
        text = agree(
            twin, "survey/review/plausibility", "sentence", plausibility.sentence, WORDS, FINDINGS, one
        )
        assert "{" not in text
    for item in records[1]:
        agree(twin, "survey/coding/codes", "compact_code", codes.compact_code, item["fields"])
