"""Numbers and quantities in words through Python and JavaScript: at least 2,000 generated cases each."""

from hypothesis import strategies as st
from odd_numbers import numbers, odd
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.numbers import decimals, finite
from webapp.survey.wording import quantities as wording

WORDS = tables.messages()


@parity("numbers/finite", numbers, st.integers(0, 99))
def test_finite(twin, value, index):
    agree(twin, "survey/numbers/finite", "finite", finite.finite, value, "length_m", index)
    agree(twin, "survey/numbers/finite", "spread", finite.spread, value, "sd_m")


texts = st.one_of(
    st.floats(-1e6, 1e6), st.floats(-1, 1), st.integers(-999, 999), st.none(), odd,
    st.integers(-99_999, 99_999).map(lambda n: n / 1000), st.integers(-99_999, 99_999).map(lambda n: n / 8),
)  # fmt: skip


@parity("numbers/decimals", texts, texts, texts, st.integers(-1, 7))
def test_decimals(twin, a, b, c, places):
    for value in (a, b, c):
        agree(twin, "survey/numbers/decimals", "decimal_text", decimals.decimal_text, value, places)
        agree(twin, "survey/numbers/decimals", "signed_text", decimals.signed_text, value, places)


@parity(
    "wording/quantities",
    texts,
    texts,
    texts,
    st.sampled_from(["measured", "computed", "bounded", "assumed", "", None, "?"]),
    keep=[WORDS],
)
def test_wording(twin, a, b, c, known):
    name = "survey/wording/quantities"
    for function in (wording.one_in_text, wording.percent_text, wording.degrees_text, wording.bearing_text):
        agree(twin, name, function.__name__, function, WORDS, a)
        agree(twin, name, function.__name__, function, WORDS, b)
    agree(twin, name, "known_word", wording.known_word, WORDS, known)
    for unit in ("degrees", "count", "%", known or ""):
        agree(twin, name, "unit_text", wording.unit_text, WORDS, unit)
    agree(twin, name, "metres", wording.metres, WORDS, a, b)
    agree(twin, name, "at_least_text", wording.at_least_text, WORDS, a, b)
    agree(twin, name, "walk_text", wording.walk_text, WORDS, a, b, c)
