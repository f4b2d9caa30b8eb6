"""Readings from a CSV file on the phone: shown first, made once, with no server in reach."""

import os
import re
from pathlib import Path

import pytest
from steps import becomes, button, link_or_button, new_job, new_run
from test_screens import faults_of

FILE = "Distance (m);Pitch (deg);Temp;Note\n0,50;-0,7;11;=1+1\n2,00;steep;11;\n3,25;> 15;11;\n"


def choose(page, content, name="log.csv"):
    data = content if isinstance(content, bytes) else content.encode()
    page.get_by_label(re.compile("Choose (a|another) file")).set_input_files(
        {"name": name, "mimeType": "text/csv", "buffer": data}
    )


def readings(phone, job):
    return phone.app(
        """async (app, job) => (await app.store.job(job)).records('reading').map((r) => r.fields)""", job
    )


def test_a_file_is_shown_made_once_and_undone_with_no_server(phone, live_server):
    page = phone.page
    job = new_job(page, "Dell Lane")
    new_run(page, "R1", "MH1")
    live_server.kill()
    button(page, "More").click()
    link_or_button(page, "From a file").click()
    choose(page, FILE)
    page.get_by_text("Needed first").wait_for()
    assert button(page, "Take 2 readings").count() == 0, "which way is plus is never guessed"
    page.get_by_role("radio", name="Rising ahead").check(force=True)
    page_text = page.inner_text("main")
    assert (
        "Line 3: The inclination “steep” cannot be read." in page_text
        and "Columns not taken: Temp" in page_text
    )
    assert "beyond" in page_text.lower() and "0.7° falling" in page_text
    assert faults_of(page) == []
    button(page, "Take 2 readings").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    made = readings(phone, job)
    assert [m["counter_m"] for m in made] == [0.5, 3.25] and made[0]["remark"] == "=1+1"
    page.goto(page.url + "/readings/file")
    choose(page, FILE)
    page.get_by_role("radio", name="Rising ahead").check(force=True)
    page.get_by_text("2 of the file here already").wait_for()
    assert button(page, "Nothing to take").is_disabled()
    page.get_by_role("radio", name="Falling ahead").check(force=True)
    page.get_by_text("2 readings here with other values").wait_for()
    page.get_by_label("Change these back to the file’s values").check(force=True)
    button(page, "Take 2 readings").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert [m["inclination"]["sense"] for m in readings(phone, job)] == ["rising", "falling"]
    button(page, "Undo").click()
    before = ["falling", "rising"]
    assert becomes(page, lambda: [m["inclination"]["sense"] for m in readings(phone, job)], before) == before


DOUBT = "Station;Weg;Neigung\n0,4;0,00;1\n2,1;1,50;-2\n3,3;3,00;2\n"


def column(page, label, name):
    value = page.get_by_label(label).locator("option", has_text=name).get_attribute("value")
    page.get_by_label(label).select_option(value)


def test_a_column_in_doubt_is_asked_for_and_the_answer_is_kept_for_the_next_file(newcomer, shots):
    page = newcomer.page
    job = new_job(page, "Dell Lane")
    new_run(page, "R1", "MH1")
    page.goto(page.url + "/readings/file")
    choose(page, DOUBT)
    page.get_by_text("Column of the distance: “Weg” or “Station”?").wait_for()
    shots(page, "asks_the_column")
    assert page.get_by_label("Column of the distance").input_value() == ""
    column(page, "Column of the distance", "Station: 0,4  2,1  3,3")
    page.get_by_text("Needed first: Unit of the inclination").wait_for()
    page.get_by_label("Unit of the inclination").select_option("pct")
    page.get_by_role("radio", name="Rising ahead").check(force=True)
    page.get_by_text("Line 2: 0.400 m").wait_for()
    column(page, "Column of the distance", "Weg: 0,00")
    page.get_by_text("Line 3: 1.500 m").wait_for()
    shots(page, "preview")
    assert faults_of(page) == []
    button(page, "Take 3 readings").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert [m["counter_m"] for m in readings(newcomer, job)] == [0, 1.5, 3]
    page.goto(page.url + "/readings/file")
    choose(page, DOUBT.replace("3,3;3,00;2", "3,3;3,70;2"), "next.csv")
    page.get_by_text("As you said for a file with these columns before: Column of the distance").wait_for()
    page.get_by_text("Line 4: 3.700 m").wait_for()
    shots(page, "remembered")
    assert faults_of(page) == []
    button(page, "Ask again").click()
    page.get_by_text("Needed first: Column of the distance").wait_for()
    assert newcomer.app("(app) => app.store.setting('readings_profiles')") == {}


def test_another_column_for_a_file_that_was_taken_doubles_nothing(newcomer):
    page = newcomer.page
    job = new_job(page, "Dell Lane")
    new_run(page, "R1", "MH1")
    page.goto(page.url + "/readings/file")
    file = "Station;Weg;Neigung %\n0,4;x;1\n2,1;1,50;-2\n3,3;3,00;2\n4,3;4,00;2\n"
    choose(page, file)
    column(page, "Column of the distance", "Station")
    page.get_by_role("radio", name="Rising ahead").check(force=True)
    button(page, "Take 4 readings").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    page.goto(page.url + "/readings/file")
    choose(page, file)
    column(page, "Column of the distance", "Weg")
    page.get_by_text("This file was taken with other answers before.").wait_for()
    assert "3 readings here with other values, 1 reading here that the file does not give" in page.inner_text(
        "main"
    )
    assert button(page, "Nothing to take").is_disabled()
    page.get_by_label("Change these back to the file’s values").check(force=True)
    button(page, "Take 4 readings").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    assert [m["counter_m"] for m in readings(newcomer, job)] == [1.5, 3, 4]
    button(page, "Undo").click()
    before = [0.4, 2.1, 3.3, 4.3]
    assert becomes(page, lambda: [m["counter_m"] for m in readings(newcomer, job)], before) == before


def test_what_parts_the_cells_can_be_said(newcomer):
    page = newcomer.page
    new_job(page, "Dell Lane")
    new_run(page, "R1", "MH1")
    page.goto(page.url + "/readings/file")
    rows = "".join(f"{n}.5|{n % 2 + 1}\n" for n in range(9))
    choose(page, "Weg [m]|Neigung [%]\nx, y, z\na, b, c\nd, e, f\n" + rows)
    page.get_by_label("Between the cells stands a").select_option(",")
    page.get_by_text("Needed first: Column of the distance").wait_for()
    page.get_by_label("Between the cells stands a").select_option("|")
    page.get_by_text("Needed first: A value without a minus is").wait_for()
    page.get_by_role("radio", name="Rising ahead").check(force=True)
    page.get_by_text("Line 5: 0.500 m").wait_for()


@pytest.fixture
def shots(tmp_path):
    """A picture at both sizes, for whoever wants to look; nothing may reach beyond the screen's edge."""

    def take(page, name):
        for width, height in ((390, 844), (360, 640)):
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            page.screenshot(
                path=Path(os.environ.get("FALLBOOK_SHOTS", tmp_path)) / f"readings_{name}_{width}.png",
                full_page=True,
            )
        page.set_viewport_size({"width": 390, "height": 844})

    return take


def test_wrong_files_are_refused_in_a_sentence_and_change_nothing(newcomer):
    page = newcomer.page
    job = new_job(page, "Dell Lane")
    new_run(page, "R1", "MH1")
    page.goto(page.url + "/readings/file")
    for content, words in (
        (b"PK\x03\x04docx", "a zip or an office document"),
        (b"\xff\xd8\xff\xe0", "It is a picture."),
        (b"1;2\n" * 20_001, "20,000 rows"),
        (b"1" * 6_000_000, "at most 5 MB"),
    ):
        choose(page, content, "x.csv")
        page.get_by_text(words).wait_for()
    assert readings(newcomer, job) == []
