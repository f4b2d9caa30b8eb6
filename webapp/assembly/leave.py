"""What was not closed on site: the open items of a job, with their words."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, cast

from .. import tables
from ..records.fold import AnyRecord
from ..report_model.contents import OpenItem, OpenItems
from ..schemas import KINDS
from ..survey.records import RecordsByKind
from ..survey.review.leave_item import item_row, item_sentence
from ..survey.review.leave_site import open_items
from ..survey.wording.messages import Words


def open_items_of(
    words: Words,
    of: Callable[[str], Sequence[AnyRecord]],
    refs: Mapping[str, str],
    set_aside: int,
    name_of: Callable[[AnyRecord], str],
) -> OpenItems:
    """Return the open items; ``of`` gives the standing records of a kind, ``refs`` the names of the runs."""
    records = {kind: of(kind) for kind in KINDS}
    plain: dict[str, Any] = {
        kind: [{"id": r.id, "fields": r.fields} for r in some] for kind, some in records.items()
    }
    conflicts = [
        {"kind": kind, "id": r.id, "field": field}
        for kind, some in records.items()
        for r in some
        for field in r.conflicts
    ]
    table = tables.load("leave_site")
    known = {
        "leave_site": table,
        "codes": tables.load("observation_codes")["rows"],
        "safety": tables.load("safety_sheet")["rows"],
        "visibility": tables.load("visibility"),
        "hazards": tables.load("hazards")["rows"],
    }
    by_id = {r.id: r for some in records.values() for r in some}
    items = []
    for one in open_items(
        cast(RecordsByKind, plain), {"conflicts": conflicts, "set_aside": set_aside}, known
    ):
        record = by_id.get(one["record_id"] or "")
        about = name_of(record) if record is not None and one["kind"] != "run" else ""
        items.append(
            OpenItem(
                one["code"],
                one["severity"],
                refs.get(one["run_id"] or "", ""),
                about,
                item_sentence(words, table["rows"], one),
                item_row(table["rows"], one["code"])["why"],
                one["record_id"] or "",
            )
        )
    looked_at = [row["check"] for row in table["rows"] if not row.get("phone_only")]
    unmeasured = sum(1 for r in records["photo"] if r.fields.get("brightness_pct") is None)
    return OpenItems(tuple(items), tuple(looked_at), unmeasured)
