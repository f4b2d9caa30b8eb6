"""The catalogues of messages, one file a language, each read once."""

import functools
import json
from typing import Any

from .. import paths

MESSAGES = paths.TABLES / "messages"
LANGUAGE = "en"  # of the app, the office and the packs
SERVER_SECTIONS = ("pack", "office", "cli", "api")  # no phone shows them


@functools.cache
def messages(language: str = LANGUAGE) -> dict[str, Any]:
    """Return the catalogue of a language: a template by key, ``_language`` and ``_locale``."""
    found: dict[str, Any] = json.loads((MESSAGES / f"{language}.json").read_text(encoding="utf-8"))
    return found


@functools.cache
def phone_messages(language: str = LANGUAGE) -> dict[str, Any]:
    """Return what a phone shows of a catalogue, by section: of each key what follows its first point."""
    sections: dict[str, Any] = {}
    for key, template in messages(language).items():
        section, _, name = key.partition(".")
        if not name:
            sections[section] = template
        elif section not in SERVER_SECTIONS:
            sections.setdefault(section, {})[name] = template
    return sections
