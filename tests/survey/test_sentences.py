"""Sentences from templates: the two sides fill them alike, in languages with other plurals and marks."""

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp.survey.errors import SurveyError
from webapp.survey.wording.messages import message, number_text

ENGLISH = {
    "_language": "en",
    "_locale": "en-GB",
    "water.backfall": "Backfall from {from_m} to {to_m} m.",
    "photo.count": {"one": "{n} photo", "other": "{n} photos"},
    "only.one": {"one": "{n} thing"},
    "as.said": "{what:lower} for {n}",
}
LANGUAGES = ("en", "en-GB", "de", "fr", "pl", "cy", "ru", "ja", "ga", "sl", "lt", "hi", "pt-BR", "sv")
CATEGORIES = ("zero", "one", "two", "few", "many", "other")
PIECES = st.sampled_from(
    [*"{a} {n} {b:lower} {n:lower} {missing} {A} {{a}} { } $& $1 \\1 Water ÄÖ ’ %s".split(), " ", "{ a }"]
)
TEMPLATE = st.lists(PIECES, max_size=6).map("".join)
FORMS = TEMPLATE | st.dictionaries(st.sampled_from(CATEGORIES), TEMPLATE, max_size=6)
TEXTS = [*"12.35 −0.25 MH1 {a} {b} $& $1 \\g<0> Left İ ΣΑΣ ß".split(), "", " "]
NUMBERS = [999, 1000, 1234, 12345, 1234567, 10**6, 2 * 10**6, 2**53 - 1, 2**53, 1.5, -0.0, 3.0, True, None]
VALUE = st.sampled_from(TEXTS) | st.integers(-3, 130) | st.sampled_from(NUMBERS)
VALUES = st.fixed_dictionaries({"a": VALUE, "b": VALUE}, optional={"n": VALUE, "A": VALUE})


@pytest.mark.parametrize(
    ("key", "values", "text"),
    [
        ("water.backfall", {"from_m": "1.00", "to_m": "2.50"}, "Backfall from 1.00 to 2.50 m."),
        ("photo.count", {"n": 1}, "1 photo"),
        ("photo.count", {"n": 0}, "0 photos"),
        ("photo.count", {"n": 1234}, "1,234 photos"),
        ("only.one", {"n": 1}, "1 thing"),
        ("as.said", {"what": "Slight", "n": "MH2"}, "slight for MH2"),
        ("as.said", {"what": "{n}", "n": 2}, "{n} for 2"),
    ],
)
def test_what_is_said(key, values, text):
    assert message(ENGLISH, key, values) == text


@pytest.mark.parametrize(
    ("key", "values", "code", "field"),
    [
        ("water.nothing", {}, "message_unknown", "water.nothing"),
        ("_language", {}, "message_unknown", "_language"),
        ("only.one", {"n": 2}, "message_unknown", "only.one"),
        ("water.backfall", {"from_m": "1.00"}, "message_value_missing", "to_m"),
        ("photo.count", {}, "message_value_missing", "n"),
        ("photo.count", {"n": "3"}, "message_value_type", "n"),
        ("photo.count", {"n": True}, "message_value_type", "n"),
        ("water.backfall", {"from_m": 1.25, "to_m": "2"}, "message_value_type", "from_m"),
    ],
)
def test_what_is_refused(key, values, code, field):
    with pytest.raises(SurveyError) as caught:
        message(ENGLISH, key, values)
    assert (caught.value.code, caught.value.field) == (code, field)


def test_another_language_has_its_own_plurals_and_marks():
    polish = {
        "_language": "pl",
        "photo.count": {
            "one": "{n} zdjęcie",
            "few": "{n} zdjęcia",
            "many": "{n} zdjęć",
            "other": "{n} zdjęcia",
        },
    }
    text = [message(polish, "photo.count", {"n": n}) for n in (1, 3, 5, 22, 12_000)]
    assert text == ["1 zdjęcie", "3 zdjęcia", "5 zdjęć", "22 zdjęcia", "12\xa0000 zdjęć"]
    assert number_text(polish, "−0.25") == "−0,25"
    assert number_text(ENGLISH, "-0.25") == number_text(ENGLISH, "−0.25") == "−0.25"


@parity(
    "wording/messages",
    language=st.sampled_from(LANGUAGES),
    locale=st.sampled_from(["en-GB", "de-CH", "fr", "hi", ""]),
    form=FORMS,
    key=st.sampled_from(["water.one", "water.one", "water.one", "water.two", "_language"]),
    values=VALUES,
    number=st.sampled_from(["", "0.5", "−1234.25", "-7.5", "12", "+0.003"]),
)
def test_both_sides_say_the_same(twin, language, locale, form, key, values, number):
    words = {"_language": language, "water.one": form} | ({"_locale": locale} if locale else {})
    agree(twin, "survey/wording/messages", "message", message, words, key, values)
    agree(twin, "survey/wording/messages", "number_text", number_text, words, number)
