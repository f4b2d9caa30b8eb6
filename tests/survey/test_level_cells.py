"""Levels held against surveys of other models, reduced in size; ``selfcheck --coverage`` does it in full.

What the levels do not meet yet stands in NOT_YET by name, with what it is today: a better model must take a
cell off that list, and a worse one is red. Nothing in that list is a claim that the figure is good enough.
"""

import json
import math

import numpy as np
import pytest
from click.testing import CliRunner

from webapp.cli import main
from webapp.selfcheck.level_cells import course, judge, product, run, simple, survey
from webapp.selfcheck.level_cells.cell import Cell, Meter, Pipe
from webapp.selfcheck.level_cells.cells import CELLS, SLIPS
from webapp.selfcheck.level_cells.judge import Judged, judge_cell
from webapp.selfcheck.level_cells.result import result_of
from webapp.survey.levels import band

SURVEYS = 40
# Limits that a cell misses today, and the share of its places that is inside the band at least. The limits:
# 0.93 to 0.97 inside or something said in 90 % of surveys; 1.02 times the simple estimator's error; 0.5 %
# false bounds; 2 % another level named; false alarms as the cell says. All with two standard errors more.
NOT_YET = {
    "noise twice as stated": ({"inside"}, 0.77),
    "noise four times as stated": ({"inside"}, 0.44),
    "the zero drifts by 0.3 degrees": ({"inside", "rms"}, 0.35),
    "the zero drifts, checked after the drive": ({"inside", "rms"}, 0.36),
    "first pipe cut, joints elsewhere": ({"alarms"}, 0.88),
    "heavy tails (Student 3)": ({"alarms"}, 0.88),
    "a steep pipe of 1 m, read every 5 m": ({"inside", "bounds"}, 0.61),
    "3 levels, one out by 10 sd": ({"wrong"}, 0.0),
    "5 levels, one out by 5 sd": ({"wrong"}, 0.0),
}


@pytest.mark.parametrize("cell", (*CELLS, *SLIPS), ids=lambda one: one.name)
def test_a_cell_is_met_or_no_worse_than_it_is_known_to_be(cell):
    found = result_of(cell, judge_cell(cell, SURVEYS))
    missed, least = NOT_YET.get(cell.name, (set(), 0.0))
    assert set(found.missed) <= missed, found
    assert found.inside >= least, found
    assert found.missed or not missed, "it is met now: take it off NOT_YET"


def test_what_is_not_met_yet_names_cells_that_there_are():
    assert NOT_YET.keys() <= {one.name for one in (*CELLS, *SLIPS)}
    assert len({one.name for one in (*CELLS, *SLIPS)}) == len(CELLS) + len(SLIPS)


CLEAN = CELLS[0]


@pytest.mark.parametrize("sigmas", [1.0, 3.3])
def test_a_band_too_narrow_or_too_wide_is_found_out(monkeypatch, sigmas):
    monkeypatch.setattr(band, "SIGMAS_95", sigmas)
    assert "inside" in result_of(CLEAN, judge_cell(CLEAN, 20)).missed


def test_levels_further_off_than_the_simple_ones_are_found_out(monkeypatch):
    def off(found, counter_m):
        one = stated(found, counter_m)
        return product.Stated(one.level_m + 0.01, one.low_m, one.high_m)

    stated = product.stated
    monkeypatch.setattr(judge, "stated", off)
    assert result_of(CLEAN, judge_cell(CLEAN, SURVEYS)).missed == ("rms",)


def test_a_product_that_always_says_something_is_excused_for_its_bands_and_red_where_nothing_is_wrong(
    monkeypatch,
):
    monkeypatch.setattr(judge, "said", lambda found: {"anything"})
    noisy = next(one for one in CELLS if one.name == "noise four times as stated")
    assert result_of(noisy, judge_cell(noisy, 20)).missed == ()
    assert result_of(CLEAN, judge_cell(CLEAN, 20)).missed == ("alarms",)


def rows(**values):
    """Thirty surveys, all alike."""
    plain = dict(
        inside=0.95, square_m2=1e-4, width_m=0.04, simple_inside=0.95, simple_m2=1e-4, false_bound=None,
        unstated=0.0, said=frozenset(), slip="", fits=False,
    )  # fmt: skip
    return [Judged(**(plain | values))] * 30


@pytest.mark.parametrize(
    ("cell", "values", "missed"),
    [
        (Cell("a"), {}, ()),
        (Cell("a"), {"inside": 0.92}, ("inside",)),
        (Cell("a"), {"inside": 0.98}, ("inside",)),
        (Cell("a"), {"inside": 0.5, "said": frozenset({"x"})}, ()),
        (Cell("a"), {"square_m2": 1.05e-4}, ("rms",)),
        (Cell("a"), {"false_bound": False}, ()),
        (Cell("a"), {"false_bound": True}, ("bounds",)),
        (Cell("a"), {"unstated": 0.1}, ("unstated",)),
        (Cell("a", alarms=0.01), {"said": frozenset({"x"})}, ("alarms",)),
        (Cell("a", wrong_by=5.0), {"slip": "wrong", "inside": 0.1}, ("wrong",)),
        (Cell("a", wrong_by=5.0), {"slip": "silent", "inside": 0.1}, ()),
    ],
)
def test_each_limit_is_missed_by_what_breaks_it_alone(cell, values, missed):
    assert result_of(cell, rows(**values)).missed == missed


@pytest.mark.parametrize(
    ("said", "slip"),
    [
        ([], "silent"),
        ([("tie", 1)], "alone"),
        ([("tie", 1), ("readings", 3)], "among"),
        ([("tie", 0)], "wrong"),
    ],
)
def test_what_is_said_of_a_wrong_level_is_told_apart(said, slip):
    class Found:
        class profile:
            blunders = [type("Suspect", (), {"kind": kind, "index": index}) for kind, index in said]
            ties = [type("Check", (), {"tie": k, "standardised": 1.0 + 2 * k}) for k in range(2)]

    assert judge.slip_of(Found, 1) == (slip, False)
    assert judge.slip_of(Found, 0)[1] is True


def test_a_course_is_the_integral_of_its_slope():
    draw = survey.random.Random(1)
    for cell in (Cell("a"), Cell("b", "close", pipe=Pipe("smooth"))):
        own = survey.survey_of(draw, cell)
        fine = np.linspace(0, own.end_m * own.scale, 100_001)
        sines = np.sin(np.radians([course.angle_there(own.course, s) for s in fine[:-1] + np.diff(fine) / 2]))
        levels = np.concatenate([[0.0], np.cumsum(sines * np.diff(fine))])
        for at in (1000, 34_567, 100_000):
            assert own.true_m(fine[at] / own.scale) == pytest.approx(levels[at], abs=1e-4)


def test_a_crawler_across_a_joint_stands_at_the_mean_of_both_pipes():
    own = course.course_of([2.0, 2.0], [-1.0, 2.0])
    assert course.chord_deg(own, 2.0, 0.5) == pytest.approx(0.5, abs=1e-3)
    assert course.chord_deg(own, 1.9, 0.5) == pytest.approx(-1 + 3 * 0.15 / 0.5, abs=1e-3)


def test_slopes_and_errors_are_of_the_spread_and_law_asked():
    draw = survey.random.Random(2)
    places = [2.0 * k for k in range(4000)]
    for law, fourth in (("normal", 3.0), ("student3", 6.0)):
        deg = np.array(course.pipes(draw, places, [(-1.0, 0.5)] * 4000, law).deg) + 1
        assert np.std(deg) == pytest.approx(0.5, rel=0.15)
        kurtosis = np.mean(deg**4) / np.mean(deg**2) ** 2
        assert kurtosis == pytest.approx(3.0, abs=0.4) if law == "normal" else kurtosis > fourth
    wander = np.array(course.smooth(draw, 4000.0, -1.0, 0.5, 5.0).deg)
    after = round(5.0 / course.FINE_M)
    assert np.std(wander) == pytest.approx(0.5, rel=0.1)
    assert np.corrcoef(wander[:-after], wander[after:])[0, 1] == pytest.approx(math.exp(-1), abs=0.1)


def test_errors_alike_are_alike_and_a_display_in_steps_is_in_steps():
    draw = survey.random.Random(3)
    flat = (course.course_of([5000.0], [0.0]), 1.0, 4000.0)
    counters = [float(k) for k in range(4000)]
    shown = np.array(
        [one.deg for one in survey.readings_of(draw, Meter(alike=0.7), flat, counters, (0.2, 0, 45))]
    )
    assert np.mean(shown) == pytest.approx(0.2, abs=0.02) and np.std(shown) == pytest.approx(0.1, rel=0.1)
    assert np.corrcoef(shown[:-1], shown[1:])[0, 1] == pytest.approx(0.7, abs=0.05)
    coarse = [one.deg for one in survey.readings_of(draw, Meter(step_deg=0.5), flat, counters, (0.3, 0, 45))]
    assert {one % 0.5 for one in coarse} == {0.0} and len(set(coarse)) > 1


def dense(own):
    """The simple estimator once more, by matrices of numpy: every pipe an unknown of its own."""
    pipes = simple.pipes_of(own, sum(own.checked[:2]) / 2)
    tau2, scale = simple.spread_of(pipes), own.checked[2] / survey.TAPED_M
    read = [k for k, y in enumerate(pipes.deg) if y is not None]
    count = len(pipes.deg)
    prior = np.diag([tau2] * count + [1e3, survey.SD_DEG**2 / 2])  # pipes, mean, zero
    seen = np.zeros((len(read), count + 2))
    for row, k in enumerate(read):
        seen[row, [k, count, count + 1]] = 1.0
    noise = np.diag([pipes.variance[k] for k in read])
    gain = prior @ seen.T @ np.linalg.inv(seen @ prior @ seen.T + noise)
    place = gain @ np.array([pipes.deg[k] for k in read])
    spread = prior - gain @ seen @ prior
    return place[:count] + place[count], spread, scale


def test_the_simple_estimator_shrinks_pipes_as_matrices_do():
    draw = survey.random.Random(4)
    own = survey.survey_of(draw, Cell("a", reads="unread", ties=0))
    pipes = simple.pipes_of(own, sum(own.checked[:2]) / 2)
    angles, spread, scale = dense(own)
    count = len(angles)
    lengths = scale * (np.array(pipes.ends_m) - np.array(pipes.begins_m))
    level, sd = simple.simple_levels(own, [own.end_m])[0]
    assert level == pytest.approx(float(np.sum(lengths * np.sin(np.radians(angles)))), abs=2e-3)
    across = np.concatenate([lengths, [np.sum(lengths), 0.0]]) * math.pi / 180
    both = math.sqrt(across @ spread @ across + (level * survey.TAPE_SD_M / survey.TAPED_M) ** 2)
    assert count > 10 and sd == pytest.approx(both, rel=0.02)


def test_the_simple_estimator_is_right_of_what_it_assumes():
    held = [one.simple_inside for one in judge_cell(Cell("x", reads="several"), 60)]
    assert np.mean(held) == pytest.approx(0.95, abs=0.025)


def test_the_command_prints_both_tables_and_says_with_its_exit_code_that_limits_are_missed(monkeypatch):
    monkeypatch.setattr(run, "KINDS", {"levels": CELLS[11:12], "slips": SLIPS[1:2]})
    call = ["selfcheck", "--coverage", "--surveys", "100", "--only", "levels", "--only", "slips"]
    done = CliRunner().invoke(main, call)
    assert done.exit_code == 1
    lines = done.output.splitlines()
    assert lines[1].startswith("noise four times as stated") and "BAD: inside" in lines[1]
    assert lines[4].startswith("2 levels, one out by 5 sd") and lines[4].endswith("ok")


def test_the_command_gives_every_figure_as_json_and_is_content_where_limits_are_met(monkeypatch):
    monkeypatch.setattr(run, "KINDS", {"levels": CELLS[:1], "slips": ()})
    done = CliRunner().invoke(
        main, ["selfcheck", "--coverage", "--surveys", "100", "--only", "levels", "--jobs", "2", "--json"]
    )
    assert done.exit_code == 0, done.output
    [row] = json.loads(done.output)
    assert row["ok"] and row["kind"] == "levels" and row["surveys"] == 100
    assert 0.9 < row["inside"] < 1 and row["missed"] == []
