"""How the figures are said: a bound is never a number alone, a capacity never without its band."""

import dataclasses
from types import SimpleNamespace

import pytest
from pack_jobs import sample

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack import figure_words as words
from webapp.pack.figure_tables import sections
from webapp.report_model.levels import Blunder, FarTie, Rise, WaterSeen
from webapp.survey.levels.ponding import Backfall, Sag
from webapp.survey.wording import quantities
from webapp.survey.wording.figures import code_reason

WORDS = tables.messages()

NOTHING = {name: None for name in ("low_m3_s", "mean_m3_s", "high_m3_s")}
FLAT = {name: None for name in ("whole_gradient", "gradient_low", "gradient", "gradient_high")}


@pytest.fixture(scope="module")
def row():
    """A line of the table of capacities."""
    return assemble(sample("school_foul_drain")[0]).runs[0].figures.capacities[0]


@pytest.mark.parametrize(
    ("flows", "output"),
    [
        ({"low_m3_s": 0.0211, "mean_m3_s": 0.0219, "high_m3_s": 0.0227},
         "21.9 l/s, 95 % band 21.1 to 22.7 l/s"),
        ({"mean_m3_s": 0.0109, "high_m3_s": 0.02}, "10.9 l/s, at most 20.0 l/s"),
        ({"low_m3_s": 0.7724, "high_m3_s": 1.4}, "between 772 and 1400 l/s"),
        ({"low_m3_s": 0.00512}, "at least 5.12 l/s"),
        ({"high_m3_s": 0.3}, "at most 300 l/s"),
        ({}, "no number"),
    ],
)  # fmt: skip
def test_a_capacity(row, flows, output):
    assert words.capacity_text(WORDS, dataclasses.replace(row, **(NOTHING | flows))) == output


@pytest.mark.parametrize(
    ("gradients", "output"),
    [
        ({"gradient_low": 0.0108, "gradient": 0.0115, "gradient_high": 0.0123},
         "+1.15 % (95 % band +1.08 to +1.23 %)"),
        ({"gradient_low": 0.042, "gradient_high": 1.0}, "at least +4.20 %"),
        ({"gradient_low": -1.0, "gradient_high": -0.01}, "−100.00 to −1.00 %"),
        ({}, "not known"),
    ],
)  # fmt: skip
def test_a_gradient_along_the_flow(row, gradients, output):
    assert words.gradient_text(WORDS, dataclasses.replace(row, **(FLAT | gradients))) == output


@pytest.mark.parametrize(
    ("rise", "output"),
    [
        (Rise(-0.4407, 0.0152, -0.4407, -0.4407, "computed"), "falls 0.441 m (sd 0.015 m)"),
        (Rise(0.25, 0.003, 0.25, 0.25, "computed"), "rises 0.250 m (sd 0.003 m)"),
        (Rise(None, None, 1.419, 3.48, "bounded"), "rises at least 1.419 m"),
        (Rise(None, None, -0.2, 0.9, "bounded"), "between 0.200 m falling and 0.900 m rising"),
        (None, "not known"),
    ],
)
def test_a_change_of_the_invert(rise, output):
    assert words.rise_text(WORDS, rise) == output


SAG = Sag(13.65, 20.4, 16.2, 20.4, 0.0195, 0.0053, 6.75, 0.004, 98.88, True, False, False, False)


def test_standing_water_is_sure_possible_or_at_least():
    sure = "Sag from 13.65 to 20.40 m: water would stand 0.020 m (sd 0.005 m) deep at 16.20 m (computed)."
    assert words.sag_line(WORDS, SAG) == sure
    assert words.sag_line(WORDS, dataclasses.replace(SAG, sure=False)).startswith("Possible sag")
    least = words.sag_line(WORDS, dataclasses.replace(SAG, sure=False, at_least=True, sd_m=None))
    assert "at least 0.02 m deep" in least and least.endswith("(bounded).")
    back = Backfall(16.2, 20.4, 0.0195, None, False, True)
    assert words.backfall_line(WORDS, back) == (
        "Backfall from 16.20 to 20.40 m: rises at least 0.02 m with the flow (bounded)."
    )
    assert "Possible backfall" in words.backfall_line(
        WORDS, dataclasses.replace(back, at_least=False, sd_m=0.02)
    )
    output = [quantities.volume_text(WORDS, v) for v in (0.004, 2.5, 1.6e8, None)]
    assert output == ["4 litres", "2.5 m³", "160000000.0 m³", "not known: size not recorded"]


def test_water_seen_that_the_levels_do_not_explain():
    seen = WaterSeen("x", 18.23, 0.01, 0.045, 0.0075, 0.035, 0.0089, "deeper")
    assert words.water_text(WORDS, seen) == (
        "Water seen at 18.23 m: 0.045 m (sd 0.009 m) above the running water; the levels explain 0.010 m. "
        "More than the levels explain: something holds it back, or the levels are out."
    )


def test_what_looks_like_a_slip_is_named_with_its_size():
    one = Blunder("tie", 10.0, 10.0, 2.97, 131.04)
    assert words.blunder_text(WORDS, one) == (
        "Most suspicious: the level tie at 10.00 m. It is 2.97 m out if it alone is, 131.0 times its "
        "standard deviation."
    )
    assert "the level at the start" in words.blunder_text(WORDS, dataclasses.replace(one, kind="start"))
    wild = words.blunder_text(WORDS, dataclasses.replace(one, kind="readings", to_m=12.0, standardised=1e12))
    assert "a reading between 10.00 and 12.00 m" in wild and "more than 999 times" in wild


def test_what_the_far_end_s_level_would_settle():
    creek = assemble(sample("tidal_creek_drain")[0]).runs[0].figures
    assert words.settle_line(WORDS, creek) == (
        "A level at the far end, with an sd of 0.010 m (assumed), would fix it where there are only bounds "
        "now: sd 0.010 m. Of 20 stations with bounds only, 1 would be left."
    )
    tied = assemble(sample("school_foul_drain")[0]).runs[0].figures
    assert words.settle_line(WORDS, tied) == ""


def test_without_any_tie_a_level_at_each_end_is_meant():
    """One level alone moves the whole run up or down and settles nothing of its fall."""
    alone = FarTie(30.0, 0.01, 0.12, 0.0141, 0, 0, True)
    output = words.settle_line(WORDS, SimpleNamespace(far_tie=alone))
    assert output.startswith(
        "A level at each end, with an sd of 0.010 m (assumed), would bring the sd of the fall from 0.12 m to"
    )


def test_the_choke_and_its_reasons_stand_in_the_table_of_capacities():
    run = assemble(sample("tidal_creek_drain")[0]).runs[0]
    (table,) = [s for s in sections(WORDS, run) if s.key == "capacity"]
    assert table.lines[1].startswith(
        "The bottleneck of this run: stretch 2, 18.24 to 24.55 m, carries least: "
        "182 l/s, 95 % band 140 to 291 l/s"
    )
    assert "Without what narrows it most it would carry 203 l/s." in table.lines
    assert "Within the bands it may equally be stretch 1." in table.lines
    assert table.lines[-1] == "Stretch 3 has no number and may carry less."
    assert table.rows[2][4] == "no number" and "competent engineer" in table.note


@pytest.mark.parametrize("code", ["gradient_adverse", "bore_blocked", "no_such_code"])
def test_every_code_has_a_sentence(code):
    output = code_reason(WORDS, code)
    assert output.endswith(".") and (f"survey.reason.{code}" in WORDS or code in output)
