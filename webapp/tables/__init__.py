"""The data tables, read once: observation codes, materials, shapes, the safety sheet."""

import functools
from pathlib import Path
from typing import Any, cast

from ..environment import own_table
from ..survey.table_types import Tables
from . import codes_file, grading_file
from .by_name import ByName
from .catalogue import LANGUAGE, MESSAGES, SERVER_SECTIONS, handbook, messages, phone_messages
from .shipped import NAMES, shipped

__all__ = [
    "LANGUAGE",
    "MESSAGES",
    "NAMES",
    "SERVER_SECTIONS",
    "by_name",
    "choices",
    "handbook",
    "load",
    "messages",
    "phone_messages",
    "shipped",
]
NOT_ON_PHONES = ("exchange_headers",)  # tables that only the server reads
# Keys of tables that no screen shows.  The whole of each table is at /tables/NAME.json.
KEYS_NOT_ON_PHONES = {
    "actions": {"acts_note", "unseen_note", "urgencies_certainty", "urgencies_source", "urgencies_url"},
    "narrowings": {"certainty", "estimate_note", "note", "source"},
    "observation_codes": {"source", "certainty", "page_one", "shaky"},
    "visibility": {"certainty", "hidden_note", "node_codes_note", "note", "part_note", "source"},
    "safety_sheet": {"url"},
    "minimum_gradients": {"foul_flows", "url"},
    "grading_limits": {"url"},
    "roughness": {"k_s_url", "manning_n_source", "manning_n_certainty", "manning_n_url", "note"},
    "joint_deflections": {"note"},
    "materials": {"source", "certainty"},
    "readings_csv": {"source", "certainty"},
    "culvert_inlets": {"entrance_loss_source", "entrance_loss_certainty", "chart", "scale", "note", "url"},
    "usual_observations": {"source", "certainty"},
}
READERS = {"observation_codes": codes_file.read, "grading_limits": grading_file.read}


def _load(name: str) -> Any:
    """Return the table ``name`` as parsed JSON; treat it as read-only.

    A firm's own limits of the condition classes stand in place of ours; a client's own observation codes
    stand beside those of the standard.
    """
    own = own_table(name)
    return shipped(name) if own is None else _own(name, own)


load: ByName = _load


def by_name(*names: str) -> Tables:
    """Return tables by their names, those and no others; treat them as read-only."""
    return cast(Tables, {name: load(name) for name in names})


@functools.cache
def _own(name: str, path: str) -> Any:
    """Return a table with a firm's own file in it, read and checked once."""
    return READERS[name](Path(path))


def choices(name: str) -> dict[str, str]:
    """Return value to label of a table whose rows have ``value`` and ``label``."""
    return {row["value"]: row["label"] for row in load(name)["rows"]}
