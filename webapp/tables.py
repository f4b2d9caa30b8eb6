"""The data tables, read once: observation codes, materials, shapes, the safety sheet."""

import functools
import json
import re
from typing import Any

from . import paths

NAMES = (
    "observation_codes",
    "materials",
    "shapes",
    "linings",
    "safety_sheet",
    "findings",
    "exchange_headers",
    "roughness",
    "minimum_gradients",
    "culvert_inlets",
    "usual_observations",
    "readings_csv",
    "leave_site",
)


@functools.cache
def load(name: str) -> Any:
    """Return the table ``name`` as parsed JSON; treat it as read-only."""
    return json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))


def choices(name: str) -> dict[str, str]:
    """Return value to label of a table whose rows have ``value`` and ``label``."""
    return {row["value"]: row["label"] for row in load(name)["rows"]}


def unit_for(unit: str, characterisation: str) -> str:
    """Return the one unit meant where a table says, for example, ``mm for A and B, degrees for C``."""
    for one, letters in re.findall(r"(\S+) for ([A-Z](?: and [A-Z])*)", unit):
        if characterisation in letters.split(" and "):
            return str(one)
    return unit
