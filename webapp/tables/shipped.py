"""The data tables as they are shipped, each read once."""

import functools
import json
from typing import Any

from .. import paths

# Every table of this folder, so that a new file is served and kept by phones without being named again; the
# values that the self check compares with are for nobody else.
NAMES = tuple(sorted({path.stem for path in paths.TABLES.glob("*.json")} - {"reference_vectors"}))


@functools.cache
def shipped(name: str) -> Any:
    """Return a table as it is shipped."""
    return json.loads((paths.TABLES / f"{name}.json").read_text(encoding="utf-8"))
