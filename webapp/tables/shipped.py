"""The data tables as they are shipped, each read once."""

import functools
import json
from typing import Any

from .. import paths
from ..messages import languages, messages
from .by_name import ByName

# Every table of this folder, so that a new file is served and kept by phones without being named again; the
# values that the self check compares with are for nobody else.
NAMES = tuple(sorted({path.stem for path in paths.TABLES.glob("*.json")} - {"reference_vectors"}))


@functools.cache
def shipped_in(name: str, language: str) -> Any:
    """Return a table as it is shipped, in one language."""
    table = json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))
    return _worded(table, language)


def _shipped(name: str) -> Any:
    """Return a table as it is shipped."""
    return shipped_in(name, "en")


shipped: ByName = _shipped


def _worded(value: Any, language: str) -> Any:
    """Return a table with its words in one language.

    ``@key`` is a sentence of the catalogue. A word of the trade stands in the table itself, with a column for
    every other language beside it: ``label_de`` takes the place of ``label``.
    """
    if isinstance(value, dict):
        return {
            name: _worded(value.get(f"{name}_{language}", one), language)
            for name, one in value.items()
            if not _is_other_language(name, value)
        }
    if isinstance(value, list):
        return [_worded(one, language) for one in value]
    return messages(language)[value[1:]] if isinstance(value, str) and value.startswith("@") else value


def _is_other_language(name: str, row: dict[str, Any]) -> bool:
    base, _, ending = name.rpartition("_")
    return ending in languages() and base in row
