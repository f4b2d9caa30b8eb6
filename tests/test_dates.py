"""Dates on pages: by the language, alike on server and phone; what is no date stays as it is."""

import json
import subprocess

import pytest
from twin import node

from webapp import dates

LANGUAGES = (
    "en-GB",
    "de-DE",
    "fr-FR",
    "sv-SE",
    "pl-PL",
    "cs-CZ",
    "nl-NL",
    "es-ES",
    "it-IT",
    "da-DK",
    "nb-NO",
)
DAYS = [f"2026-{month:02}-{day:02}" for month in range(1, 13) for day in (5, 28)]
INTL = """const [days, languages] = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const form = { day: 'numeric', month: 'short', year: 'numeric', timeZone: 'UTC' };
const all = languages.map((l) => days.map((d) => new Date(d + 'T12:00:00Z').toLocaleDateString(l, form)));
console.log(JSON.stringify(all));"""


def test_a_day_reads_the_same_on_both_sides():
    done = subprocess.run(
        [node(), "-e", INTL], input=json.dumps([DAYS, LANGUAGES]), capture_output=True, text=True,
        encoding="utf-8", check=True,
    )  # fmt: skip
    ours = [[dates.day_text({"_locale": one}, day) for day in DAYS] for one in LANGUAGES]
    assert ours == json.loads(done.stdout)


@pytest.mark.parametrize(
    ("locale", "stamp", "length", "expected"),
    [
        ("en-GB", "2026-11-25T10:31:07+01:00", "short", "25 Nov 2026, 10:31"),
        ("en-GB", "2026-11-25T10:31:07.250Z", "medium", "25 Nov 2026, 10:31:07"),
        ("de-DE", "2026-11-25T09:05:00", "short", "25. Nov. 2026, 09:05"),
        ("sv-SE", "2026-11-25T09:05:00", "short", "25 nov. 2026 09:05"),
        ("en-GB", "some time in May", "short", "some time in May"),
        ("en-GB", "", "short", ""),
    ],
)
def test_a_moment(locale, stamp, length, expected):
    assert dates.moment_text({"_locale": locale}, stamp, length) == expected


@pytest.mark.parametrize(
    ("stamp", "offset"),
    [
        ("2026-11-25T10:31:07-03:30", "−03:30"),
        ("2026-11-25T10:31:07+00:00", ""),
        ("2026-11-25T10:31:07Z", ""),
    ],
)
def test_the_zone_of_a_moment(stamp, offset):
    assert dates.offset_text(stamp) == offset


def test_a_language_without_a_country_and_what_is_no_date():
    assert dates.day_text({"_language": "de"}, "2026-11-25") == "25. Nov. 2026"
    assert dates.day_text({"_language": "de"}, "25.11.") == "25.11."
