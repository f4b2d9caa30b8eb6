"""What was not closed on site: the open items of a job, with their words."""

from collections.abc import Callable, Mapping, Sequence
from typing import cast

from .. import tables
from ..figures.leave import leave_items
from ..figures.run_records import RunSource
from ..records.fold import AnyRecord
from ..report_model.contents import OpenItem, OpenItems
from ..survey.records import RecordsByKind
from ..survey.review.leave_item import item_row, item_sentence
from ..survey.wording.messages import Words
from .runs import plain

OF_THE_JOB = ("job", "node", "check", "photo")
TABLES = ("leave_site", "observation_codes", "safety_sheet", "visibility", "hazards")


def open_items_of(
    words: Words,
    records: Mapping[str, Sequence[AnyRecord]],
    runs: Sequence[RunSource],
    refs: Mapping[str, str],
    set_aside: int,
    name_of: Callable[[AnyRecord], str],
) -> OpenItems:
    """Return the open items; ``records``: those that stand, by kind; ``refs``: the names of the runs."""
    conflicts = [
        {"kind": kind, "id": r.id, "field": field}
        for kind, some in records.items()
        for r in some
        for field in r.conflicts
    ]
    rows = tables.load("leave_site")["rows"]
    own = cast(RecordsByKind, {kind: plain(records[kind]) for kind in OF_THE_JOB})
    outside = {"conflicts": conflicts, "set_aside": set_aside}
    by_id = {r.id: r for some in records.values() for r in some}
    items = []
    for one in leave_items(own, runs, outside, tables.by_name(*TABLES)):
        record = by_id.get(one["record_id"] or "")
        about = name_of(record) if record is not None and one["kind"] != "run" else ""
        items.append(
            OpenItem(
                one["code"],
                one["severity"],
                refs.get(one["run_id"] or "", ""),
                about,
                item_sentence(words, rows, one),
                item_row(rows, one["code"])["why"],
                one["record_id"] or "",
            )
        )
    looked_at = [row["check"] for row in rows if not row.get("phone_only")]
    unmeasured = sum(1 for r in records["photo"] if r.fields.get("brightness_pct") is None)
    return OpenItems(tuple(items), tuple(looked_at), unmeasured)
