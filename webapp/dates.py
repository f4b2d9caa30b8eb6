"""Dates and times as people read them: ISO in every file of data, by the language on every page.

::

    day_text       2026-11-25 as "25 Nov 2026"
    moment_text    2026-11-25T10:31:00+01:00 as "25 Nov 2026, 10:31", its offset said elsewhere
"""

import functools
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

DAY = "yMMMd"  # CLDR's name for day, short month and year: the phone asks Intl for the same
ISO_DAY = 10  # characters


def day_text(words: Mapping[str, Any], iso: str) -> str:
    """Return a date, or the date of a moment, as the catalogue's country writes it; what is none as it is."""
    try:
        return _day(_locale(words), date.fromisoformat(iso[:ISO_DAY]))
    except ValueError:
        return iso


def moment_text(words: Mapping[str, Any], stamp: str, length: str = "short") -> str:
    """Return date and time on the clock of the stamp itself: to the minute, or ``medium`` to the second."""
    try:
        moment = datetime.fromisoformat(stamp)
    except ValueError:
        return stamp
    from babel.dates import format_time, get_datetime_format

    locale = _locale(words)
    time = format_time(moment.time(), length, locale=_parsed(locale))
    form = str(get_datetime_format("medium", locale=_parsed(locale))).replace("'", "")
    return form.replace("{0}", time).replace("{1}", _day(locale, moment.date()))


def offset_text(stamp: str) -> str:
    """Return by how much the clock of a moment differs from UTC, as +01:00; empty where it does not."""
    offset = stamp[-6:] if stamp[-6:-5] in ("+", "-") and stamp[-3:-2] == ":" else ""
    return "" if offset == "+00:00" else offset.replace("-", "−")


def _locale(words: Mapping[str, Any]) -> str:
    return str(words.get("_locale") or words.get("_language"))


@functools.cache
def _parsed(locale: str) -> Any:
    from babel.core import Locale  # loaded where the first date is wanted

    return Locale.parse(locale, sep="-")


def _day(locale: str, day: date) -> str:
    from babel.dates import format_skeleton

    return str(format_skeleton(DAY, day, locale=_parsed(locale)))
