"""The catalogues of messages, one file a language, each read once."""

import functools
from typing import Any

from ..messages import LANGUAGE, MESSAGES, messages

__all__ = ["LANGUAGE", "MESSAGES", "SERVER_SECTIONS", "handbook", "messages", "phone_messages"]

# No phone shows them, or it gets them in the fields and the tables.
SERVER_SECTIONS = (
    "api", "choice", "cli", "codes_file", "count", "erased", "error", "exchange", "field", "file",
    "grading_file", "jobcheck", "kind", "lan", "list", "office", "pack", "refused", "setting", "table",
    "upkeep",
)  # fmt: skip
HANDBOOK = "handbook"  # a section that phones fetch by itself, once the app is on them


@functools.cache
def phone_messages(language: str = LANGUAGE) -> dict[str, object]:
    """Return what a phone shows of a catalogue, by section: of each key what follows its first point."""
    sections: dict[str, Any] = {}
    for key, template in messages(language).items():
        section, _, name = key.partition(".")
        if not name:
            sections[section] = template
        elif section not in (*SERVER_SECTIONS, HANDBOOK):
            sections.setdefault(section, {})[name] = template
    return sections


def handbook(language: str = LANGUAGE) -> dict[str, object]:
    """Return the section of the handbook, in the same form."""
    lead = f"{HANDBOOK}."
    found = {k.removeprefix(lead): one for k, one in messages(language).items() if k.startswith(lead)}
    return {HANDBOOK: found}
