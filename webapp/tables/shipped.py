"""The data tables as they are shipped, each read once."""

import functools
import json
from typing import Any

from .. import paths

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
    "grading_limits",
    "actions",
    "visibility",
    "hazards",
    "narrowings",
    "joint_deflections",
)


@functools.cache
def shipped(name: str) -> Any:
    """Return a table as it is shipped."""
    return json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))
