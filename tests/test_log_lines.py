"""A log line is one line of JSON that no terminal obeys, whatever a request held."""

import json
import logging
import unicodedata

import pytest

from webapp.web.log import JsonLines

ODD = ["\n", "\r", "\x1b[2J", "\x7f", "\x9b31m", "\u2028", "\u2029", "\x85", "\u202e", "\ud800", "\U000e0041"]


@pytest.mark.parametrize("text", ODD)
def test_what_does_not_print_is_an_escape(text):
    record = logging.LogRecord("fallbook", logging.INFO, "", 0, f"request {text}", (), None)
    record.parts = {"path": f"/a{text}b", "name": "Grüße 水"}
    line = JsonLines().format(record)
    assert "\n" not in line and len(line.splitlines()) == 1
    assert not [c for c in line if unicodedata.category(c)[0] == "C"]
    assert json.loads(line)["path"] == f"/a{text}b" and "Grüße 水" in line
