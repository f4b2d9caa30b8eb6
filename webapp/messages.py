"""Sentences that the server, its pages and its commands show, from the catalogue of one language.

::

    t(key, **values)          the sentence of a key, its named values filled in
    general                   a number with the decimals that it has, as it enters a sentence
    stamp_text                a moment, and the zone of its clock
    listed, clauses, all_of   several words in one line; so do any_of and notes

The catalogue is `tables/messages/<language>.json`; it is read when the first sentence is wanted.
"""

import functools
import json
from collections.abc import Iterable, Mapping
from typing import Any

from . import paths
from .dates import moment_text, offset_text
from .survey import wording
from .survey.wording import quantities
from .survey.wording.messages import message, number_text

MESSAGES = paths.TABLES / "messages"
LANGUAGE = "en"  # of the app, the office, the commands and the packs


@functools.cache
def messages(language: str = LANGUAGE) -> Mapping[str, Any]:
    """Return the catalogue of a language: templates by key; treat it as read-only."""
    found: dict[str, Any] = json.loads((MESSAGES / f"{language}.json").read_text(encoding="utf-8"))
    return found


def t(key: str, /, **values: object) -> str:
    """Return the sentence of a key, its named values filled in: a count as ``n``, all others as text."""
    given = {
        name: value if name == "n" and isinstance(value, int) else _shown(value)
        for name, value in values.items()
    }
    return message(messages(), key, given)


def _shown(value: object) -> str:
    return number_text(messages(), str(value)) if isinstance(value, float) else str(value)


def general(value: float) -> str:
    """Return a number with the decimals that it has, six figures at most, and the language's decimal mark."""
    return number_text(messages(), f"{value:g}")


def stamp_text(words: wording.messages.Words, stamp: str) -> str:
    """Return date and time to the minute, with the offset if it is not that of UTC."""
    offset = offset_text(stamp)
    values = {"moment": moment_text(words, stamp), "offset": offset}
    return message(words, "list.stamp_offset" if offset else "list.stamp", values)


def listed(items: Iterable[str]) -> str:
    """Return a list in one line: a, b, c."""
    return wording.messages.listed(messages(), items)


def unit_word(unit: str) -> str:
    """Return a unit of the tables as it stands beside a number."""
    return quantities.unit_text(messages(), unit)


def all_of(words: wording.messages.Words, items: Iterable[str]) -> str:
    """Return a list in one line: a, b and c."""
    *first, last = [*items] or [""]
    parts = {"first": wording.messages.listed(words, first), "next": last}
    return message(words, "list.and", parts) if first else last


def any_of(items: Iterable[str]) -> str:
    """Return the members of a choice in one line, in the language of the server."""
    return wording.messages.choice(messages(), items)


def notes(words: wording.messages.Words, items: Iterable[str]) -> str:
    """Return remarks without a full stop of their own, one after the other; empty ones are left out."""
    parts = [*filter(None, items)] or [""]
    return functools.reduce(
        lambda first, other: message(words, "list.stop", {"first": first, "next": other}), parts
    )


def clauses(items: Iterable[str]) -> str:
    """Return clauses that stand beside each other in one line: a; b; c."""
    return wording.messages.clauses(messages(), items)
