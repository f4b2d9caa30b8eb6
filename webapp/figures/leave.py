"""What is open in a job before leaving: the records of each run as its figures take them (D40)."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from ..survey.composites import usable
from ..survey.records import RecordsByKind
from ..survey.review.leave_item import RankedItem
from ..survey.review.leave_site import open_items
from ..survey.table_types import Tables
from .run_records import RunSource

OF_A_RUN = {
    "reading": "readings",
    "observation": "observations",
    "stretch": "stretches",
    "level_tie": "level_ties",
    "photo": "photos",
}


def leave_items(
    records: RecordsByKind,
    runs: Sequence[RunSource],
    outside: Mapping[str, Any],
    tables: Tables,
) -> list[RankedItem]:
    """Return the open items of a job, as ``open_items``.

    ``records``: its ``job``, ``node``, ``check`` and ``photo`` records; ``runs``: every run that stands;
    ``tables`` by name.
    """
    known = {one.run_id for one in runs}
    each: dict[str, Any] = {
        kind: [usable(one) for one in cast(Sequence[Mapping[str, Any]], records.get(kind, []))]
        for kind in ("job", "node", "check")
    }
    each["run"] = [{"id": one.run_id, "fields": one.run} for one in runs]
    for kind, name in OF_A_RUN.items():
        each[kind] = [record for one in runs for record in getattr(one.records, name)]
    each["photo"] += [one for one in records.get("photo", []) if one["fields"].get("run_id") not in known]
    return open_items(
        cast(RecordsByKind, each),
        outside,
        {
            "leave_site": tables["leave_site"],
            "codes": tables["observation_codes"]["rows"],
            "safety": tables["safety_sheet"]["rows"],
            "visibility": tables["visibility"],
            "hazards": tables["hazards"]["rows"],
        },
    )
