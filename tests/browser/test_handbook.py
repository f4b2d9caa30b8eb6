"""The handbook: it comes once the app is ready, is there with no server, and reassures nobody."""

import re

import pytest

from webapp import tables

READ_BACK = "() => caches.match('/handbook.json').then(Boolean)"


def test_it_is_on_the_phone_once_the_app_is_and_opens_with_the_server_dead(phone, live_server):
    phone.wait_until(READ_BACK)
    live_server.kill()
    phone.close()
    phone.open(None)
    phone.goto("/settings")
    phone.page.get_by_role("link", name=re.compile("^Handbook")).click()
    phone.page.get_by_role("heading", name="Before a cover is lifted").wait_for()
    shown = phone.page.inner_text("main")
    for key, words in tables.handbook()["handbook"].items():
        assert words in shown, key
    width = phone.page.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert width <= 0


def test_the_first_visit_does_not_wait_for_it():
    assert "handbook" not in tables.phone_messages()


@pytest.mark.parametrize("key", sorted(tables.handbook()["handbook"]))
def test_no_sentence_calls_a_place_safe(key):
    words = tables.handbook()["handbook"][key]
    assert not re.search(
        r"\bsafe(ly|ty)?\b", words.replace("never says that a place is safe to enter", "")
    ) or ("safety sheet" in words and "safe " not in words)
