"""The numbers of runs made for one question each: little recorded, assumptions, ties, the counter."""

import re
from dataclasses import asdict

import pytest
from figure_pages import RUNS, SCREENS, falling, metres, rows_on_page, text_of
from test_screens import show

from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model


@pytest.mark.parametrize(
    "job",
    [
        {},
        {"of": {"reading": falling(0)}},
        {"of": {"reading": falling(5, 5)}},
        {"of": {"reading": [{"counter_m": 3}]}},
        {"of": {"reading": falling(0, 10), "stretch": [{"from_counter_m": 0, "to_counter_m": 0}]}},
        {"run": {"end_counter_m": 0}, "of": {"level_tie": [{"counter_m": -1, "invert_level_m": 3}]}},
    ],
)
def test_a_run_with_next_to_nothing_says_so_and_breaks_nothing(fresh, job):
    at, _ = fresh.make(job)
    for screen in SCREENS:
        page_text = text_of(fresh, at + screen)
        assert "Something went wrong" not in page_text
        assert not re.search(r"NaN|undefined|null|\{\w+\}|Infinity", page_text)


def test_what_is_assumed_is_said_with_the_check_that_would_replace_it(fresh):
    at, _ = fresh.make({"of": {"reading": falling(0, 10)}})
    page_text = text_of(fresh, at)
    assert "Not checked today. Assumed: counter ± 0.5 %, zero of the inclinometer ± 0.20°" in page_text
    fresh.page.get_by_role("link", name="zero of the inclinometer", exact=False).click()
    fresh.page.wait_for_url(re.compile(r"type=inclinometer_reversed$"))


def spread_of(sd_m):
    return metres(sd_m, sd_m).split("(sd ")[1].removesuffix(")")


def test_a_level_at_the_far_end_is_said_to_settle_it(fresh):
    at, _ = fresh.make({"of": {"reading": falling(0, 10, 20, 30)}})
    model = run_model(
        {}, [{"id": f"{i:02}", "fields": f} for i, f in enumerate(falling(0, 10, 20, 30))], [], [], [], instruments_of([], "r")
    )  # fmt: skip
    sd = level_profile(model.readings, model.ties, model.setup).stations[-1].sd_m
    now = spread_of(sd)
    own = 0.01 * 2**0.5  # without a tie one level settles nothing: a level at each end is meant
    after = sd * own / (sd * sd + own * own) ** 0.5
    words = f"would bring the sd of the fall from {now} to {spread_of(after)}."
    assert f"A level at each end, with an sd of 0.010 m (assumed), {words}" in text_of(fresh, at)


def test_a_tie_that_contradicts_by_a_metre_is_named(fresh):
    ties = [
        {"counter_m": m, "invert_level_m": z, "sd_m": 0.01}
        for m, z in ((0, 10), (15, 10.8125), (20, 9.75), (30, 9.625))
    ]
    at, _ = fresh.make({"of": {"reading": falling(*range(0, 31, 3)), "level_tie": ties}})
    page_text = text_of(fresh, at)
    assert "Level tie at 15.00 m does not fit" in page_text
    assert "Most suspicious: the level tie at 15.00 m. It is" in page_text


def test_the_counter_at_the_far_node_is_flagged_and_never_corrected_in_silence(fresh):
    run = {"end_counter_m": 40, "end_reason": "node_reached", "expected_length_m": 38}
    at, _ = fresh.make({"run": run, "of": {"reading": falling(0, 10, 40)}})
    page_text = text_of(fresh, f"{at}/falls")
    assert (
        "Chainage 40.00 m, expected 38.00 m: 2.00 m apart (+5.3 %), more than the 0.30 m allowed."
        in page_text
    )
    assert "multiplied by 0.9500. This is not applied" in page_text
    assert rows_on_page(fresh.page)[-1][0] == "10.00 to 40.00"


def test_an_edit_recomputes_once_and_only_what_it_touches(fresh):
    _, ids = fresh.make({"of": {"reading": falling(0, 10, 20)}})
    same = fresh.app(
        """async (app, [job, run]) => {
          const { figuresOf } = fallbook.module('screens/parts/figures_of.js');
          const view = await app.store.job(job);
          const get = () => figuresOf(app, view, view.record('run', run));
          const before = get().profile;
          const again = get().profile === before;
          const reading = view.records('reading')[1];
          await app.store.save(job, 'reading', reading.id, {inclination: {size: 40, unit: 'one_in', sense: 'falling'}});
          const after = get().profile;
          return {again, changed: after !== before, fell: after.rise_m < before.rise_m, kept: get().profile === after};
        }""",
        [ids["job"], ids["run"]],
    )
    assert same == {"again": True, "changed": True, "fell": True, "kept": True}


def test_plain_figures_of_python_can_be_compared():
    """The comparison itself is not empty: the samples have lengths, a bounded one, a sag and a trace."""
    assert sum(len(run.lengths) for run in RUNS) > 50
    assert any(row.fall_m is None for run in RUNS for row in run.lengths)
    assert any(run.water["sags"] for run in RUNS)
    assert any(run.end for run in RUNS)
    assert asdict(RUNS[0].lengths[0])["known"] == "computed"


def test_a_reset_of_the_counter_is_told_with_one_tap_and_every_figure_counts_on(fresh):
    after = {"from_counter_m": 0, "height_mm": 150, "material": "AX"}
    at, _ = fresh.make({"of": {"reading": falling(0, 6, 12.5), "stretch": [after]}})
    page = fresh.page
    show(fresh, f"{at}/readings/new", {})
    page.get_by_label("Counter reading").fill("0.5")
    page.get_by_text("less than the 12.5 m of the reading before it").wait_for()
    page.get_by_role("button", name="The counter was reset").click()
    assert page.get_by_label("It had shown").input_value() == "12.5"
    assert page.get_by_label("It was set to").input_value() == "0"
    assert page.get_by_text("less than the 12.5 m").count() == 0
    page.get_by_label("It had shown").fill("")
    page.get_by_label("Inclination", exact=True).fill("1:80")
    page.get_by_role("button", name="Falling").click()
    page.get_by_role("button", name="Save reading").click()
    page.get_by_text("It had shown is needed.").first.wait_for()
    page.get_by_label("It had shown").fill("12.7")
    page.get_by_role("button", name="Save reading").click()
    page.get_by_text("Counter reset: it had shown 12.70 m and was set to 0.00 m").wait_for()
    places = page.locator(".log-row.reading .log-place").all_inner_texts()
    assert [re.sub(r"[^\d.]", "", place) for place in places] == ["0.00", "6.00", "12.50", "0.50"]
    show(fresh, f"{at}/falls", {})
    assert [row[0] for row in rows_on_page(page)][-1] == "12.50 to 13.20"
    show(fresh, f"{at}/ties/new", {})
    part = page.get_by_label("Counter part")
    assert part.locator("option").all_inner_texts() == [
        "By the order of recording", "1: before it was reset at 12.70 m", "2: after it was reset"]  # fmt: skip
    page.get_by_label("Counter reading").fill("0.5")
    page.get_by_label("Invert level").fill("9")
    page.get_by_role("button", name="Save level tie").click()
    page.get_by_text("0.5 m is taken as read in part 2 of it, by the order of recording").wait_for()
    page.locator(".log-row.level_tie").click()
    page.get_by_label("Counter part").select_option("1")
    page.get_by_role("button", name="Save level tie").click()
    page.get_by_text("Level tie 9.000 m").wait_for()
    page.get_by_text("by the order of recording").wait_for(state="detached")
    show(fresh, at, {})
    page.locator(".log-row.reading").last.click()
    assert page.get_by_label("It had shown").input_value() == "12.7"
    assert page.get_by_label("Counter part").input_value() == ""
    page.get_by_role("button", name="It was not reset").click()
    page.get_by_role("button", name="Save reading").click()
    page.get_by_text("Was it reset, was the crawler driven back").wait_for()
