"""The data tables as they are shipped, each read once."""

import functools
import json
from typing import Any

from .. import paths
from ..messages import LANGUAGE, messages
from .by_name import ByName

# Every table of this folder, so that a new file is served and kept by phones without being named again; the
# values that the self check compares with are for nobody else.
NAMES = tuple(sorted({path.stem for path in paths.TABLES.glob("*.json")} - {"budgets", "reference_vectors"}))


@functools.cache
def shipped_in(name: str, language: str) -> Any:
    """Return a table as it is shipped, in one language."""
    table = json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))
    return _worded(table, language)


def _shipped(name: str) -> Any:
    """Return a table as it is shipped."""
    return shipped_in(name, LANGUAGE)


shipped: ByName = _shipped


def _worded(value: Any, language: str) -> Any:
    """Return a table with its words in one language.

    ``@key`` is a text of the catalogue, ``@key[]`` one that lists words with commas between, and ``@key[][]``
    one that lists such lists with semicolons between.
    """
    if isinstance(value, dict):
        return {name: _worded(one, language) for name, one in value.items()}
    if isinstance(value, list):
        return [_worded(one, language) for one in value]
    if not (isinstance(value, str) and value.startswith("@")):
        return value
    text = messages(language)[value[1:].removesuffix("[]").removesuffix("[]")]
    lists = [one.split(", ") for one in text.split("; ")]
    return lists if value.endswith("[][]") else lists[0] if value.endswith("[]") else text
