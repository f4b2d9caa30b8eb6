"""An instrument check ends in a sentence: how far off, whether that is usual, and what is done about it."""

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.wording.checks import (
    USUAL_COUNTER_PCT,
    USUAL_ZERO_DEG,
    usual_text,
    verdict_text,
    within_usual,
)

WORDS = tables.messages()


def tape(shown_m, taped_m=20.0):
    fields = {"check_type": "counter_tape", "counter_from_m": 0.0, "counter_to_m": shown_m}
    return {"id": "t", "fields": {**fields, "taped_length_m": taped_m}}


def turned(zero_deg):
    def read(deg):
        return {"size": abs(deg), "unit": "deg", "sense": "rising" if deg > 0 else "falling"}

    fields = {"check_type": "inclinometer_reversed"}
    both = {"reading_forward": read(1.0 + zero_deg), "reading_reversed": read(-1.0 + zero_deg)}
    return {"id": "z", "fields": {**fields, **both}}


def reported(*checks):
    return verdict_text(WORDS, instruments_of(checks, "r"))


def test_the_two_checks_together_end_in_one_verdict():
    assert reported(tape(20.1), turned(0.1)) == (
        "Counter reads 0.5 % long; inclinometer zero 0.1 degrees; both within the usual. Distances "
        "are shortened by 0.5 %, and 0.1 degrees are taken off every inclination."
    )


@pytest.mark.parametrize(
    "checks,words",
    [
        ([], ""),
        ([tape(20.0)], "Counter agrees with the tape, within the usual. Nothing is corrected."),
        (
            [tape(19.0)],
            "Counter reads 5.0 % short, beyond the usual. Distances are lengthened by 5.3 %. "
            "Check it again before you rely on it.",
        ),
        (
            [turned(-0.5)],
            "Inclinometer zero 0.5 degrees, beyond the usual. 0.5 degrees are added to every "
            "inclination. Check it again before you rely on it.",
        ),
    ],
)
def test_each_verdict(checks, words):
    assert reported(*checks) == words


def test_one_of_two_beyond_the_usual_is_named():
    assert "the counter is beyond the usual" in reported(tape(21.0), turned(0.1))
    assert "the inclinometer is beyond the usual" in reported(tape(20.0), turned(0.3))
    assert "both beyond the usual" in reported(tape(21.0), turned(0.3))


def test_what_is_usual_is_a_stated_limit():
    assert within_usual(instruments_of([tape(20.1), turned(0.2)], "r")) == (True, True)
    assert within_usual(instruments_of([tape(20.11), turned(0.21)], "r")) == (False, False)
    assert f"{USUAL_COUNTER_PCT} %" in usual_text(WORDS) and f"{USUAL_ZERO_DEG} degrees" in usual_text(WORDS)
    assert "common practice, no source" in usual_text(WORDS)


def test_what_is_corrected_is_never_said_to_be_nothing():
    assert "shortened by 0.03 %" in reported(tape(20.006))
    assert "0.004 degrees" in reported(turned(0.004))


@parity(
    "wording/checks",
    st.lists(st.sampled_from([19.0, 19.9, 20.0, 20.004, 20.1, 20.2]), max_size=2),
    st.lists(st.floats(-0.9, 0.9), max_size=1),
    st.sampled_from([20.0, 19.95, 20.3]),
    keep=[WORDS],
)
def test_both_sides_say_the_same(twin, shown, zeroes, taped_m):
    tools = instruments_of([*(tape(m, taped_m) for m in shown), *(turned(z) for z in zeroes)], "r")
    plain = tools.__dict__
    words = agree(
        twin, "survey/wording/checks", "verdict_text", lambda *_: verdict_text(WORDS, tools), WORDS, plain
    )
    assert (words == "") == (not shown and not zeroes)
    agree(twin, "survey/wording/checks", "within_usual", lambda _: within_usual(tools), plain)
