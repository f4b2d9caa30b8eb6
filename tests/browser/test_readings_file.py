"""Readings from a CSV file on the phone: shown first, made once, with no server in reach."""

import re

from steps import button, link_or_button, new_job, new_run
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
    page.get_by_text("Say this first").wait_for()
    assert button(page, "Take 2 readings").count() == 0, "which way is plus is never guessed"
    page.get_by_role("radio", name="Rising ahead").check(force=True)
    said = page.inner_text("main")
    assert "Line 3: The inclination “steep” cannot be read." in said and "Columns not taken: Temp" in said
    assert "beyond" in said.lower() and "0.7 degrees falling" in said
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
    page.wait_for_function("() => !document.querySelector('.snack-act')")
    assert readings(phone, job) == []


def test_wrong_files_are_refused_in_a_sentence_and_change_nothing(phone):
    page = phone.page
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
    assert readings(phone, job) == []
