"""The end of a run is entered once: as an observation or with End of run; the other way in shows it."""

import re

import pytest
import steps
from test_observation_touches import RUN


@pytest.fixture
def phone(newcomer):
    newcomer.ids = newcomer.app(RUN)
    return newcomer


def leave_words(phone):
    phone.goto(f"/jobs/{phone.ids['job']}/leave")
    phone.page.get_by_text("Cannot be fixed later", exact=False).first.wait_for()
    return phone.page.inner_text("main")


def test_run_abandoned_as_an_observation_is_the_end_of_the_run(phone):
    phone.goto(f"{phone.ids['at']}/observations/new?code=BDC&counter_m=12.4")
    page = phone.page
    page.get_by_role("radio", name=re.compile("Obstruction")).first.check(force=True)
    steps.button(page, "Save observation").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    phone.goto(f"{phone.ids['at']}/edit?part=end")
    page.get_by_text("The observation BDC at 12.40 m already gives the end: Obstruction.").first.wait_for()
    assert page.get_by_label("Counter where it ended", exact=False).first.input_value() == "12.4"
    words = leave_words(phone)
    assert "How and where did the run end" not in words and "how or where the run ended" not in words


def test_end_of_run_stands_in_the_log_and_asks_for_no_observation(phone):
    phone.goto(f"{phone.ids['at']}/edit?part=end")
    page = phone.page
    page.get_by_role("radio", name="Obstruction").check(force=True)
    page.get_by_label("Counter where it ended", exact=False).first.fill("12.4")
    steps.button(page, "Save run").click()
    page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
    row = page.locator(".log-row.run")
    row.wait_for()
    assert "12.40" in row.inner_text() and "Obstruction" in row.inner_text()
    assert "goes on to 12.40 m, as far as the run goes" in page.inner_text(".log").replace("\u00a0", " ")
    assert "(BDC)" not in leave_words(phone)
    phone.goto(phone.ids["at"])
    page.locator(".log-row.run").click()
    page.wait_for_url(re.compile(r"part=end"))
