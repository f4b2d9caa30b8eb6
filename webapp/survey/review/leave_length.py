"""Before leaving: what is open of a length surveyed in pieces; runs to go on from the other end."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from ..lengths.length_of_runs import PieceRun, WholeLength, length_of_runs
from ..lengths.pipe_length import length_groups
from ..lengths.records import length_counter
from ..records import NodeRecord, RecordsByKind, RunFields
from .leave_item import LeaveTables, OpenItem, open_item

Item = Mapping[str, Any]
Records = RecordsByKind
Found = list[OpenItem]
DEFECTS = ("fabric", "operation")
HIDDEN_ENDS = ("buried", "unknown")
MIN_M = 0.005  # less is nothing at two decimals


def whole_lengths(records: Records, tables: LeaveTables) -> list[WholeLength]:
    """Return the lengths of a job that were surveyed in pieces.

    Parameters
    ----------
    tables : mapping
        ``visibility``: the whole table of that name; ``codes``: the rows of the code table.

    Examples
    --------
    >>> whole_lengths({"run": []}, {})
    []
    """
    runs = {run["id"]: run["fields"] for run in records.get("run", [])}
    groups = length_groups(records.get("run", []))
    if not groups:
        return []
    counted = [row["code"] for row in tables["codes"] if row["group"] in DEFECTS]

    def piece(run_id: str) -> PieceRun:
        of = _of_run(records, run_id)
        return PieceRun(
            run_id, runs[run_id], of["reading"], of["level_tie"], of["stretch"], of["observation"]
        )  # fmt: skip

    checks, table = records.get("check", []), tables["visibility"]
    return [length_of_runs([piece(one) for one in ids], checks, table, counted) for ids in groups]


def joined_items(whole: WholeLength) -> Found:
    """Return what is open of a length as a whole.

    Returns
    -------
    list of dict
        Open items of its first run: what no run surveyed [m, chainage of the length], a join that is not
        known, observations that may be one.

    Examples
    --------
    >>> from ..lengths.length_of_runs import length_of_runs
    >>> table = {"view_lost_codes": [], "node_codes": [], "water_code": "BDD", "deposit_code": "BBC"}
    >>> joined_items(length_of_runs([PieceRun("a", {"end_counter_m": 9.0}, [], [], [], [])], [], table, []))
    []
    """
    first = whole.pieces[0].run.run_id
    found: Found = []
    if whole.join.how == "unknown":
        found.append(open_item("join_unknown", first, "run", first, "expected_length_m", {}))
    for from_m, to_m in whole.join.between:
        values = {"from_m": from_m, "to_m": to_m}
        found.append(open_item("not_surveyed", first, "run", first, None, values))
    if whole.perhaps:
        found.append(open_item("perhaps_same", first, "run", first, None, {"n": len(whole.perhaps)}))
    return found


def still_unseen(items: Sequence[OpenItem], run_id: str, whole: WholeLength) -> Found:
    """Return the open items of a run without what another run of its length saw.

    >>> from ..lengths.length_of_runs import length_of_runs
    >>> table = {"view_lost_codes": [], "node_codes": [], "water_code": "BDD", "deposit_code": "BBC"}
    >>> still_unseen([], "a", length_of_runs([PieceRun("a", {}, [], [], [], [])], [], table, []))
    []
    """
    frames = {piece.run.run_id: frame for piece, frame in zip(whole.pieces, whole.frames, strict=False)}
    if run_id not in frames or whole.visibility is None:
        return [{**one} for one in items]
    hidden = [part for part in whole.visibility["parts"] if part["sight"] == "hidden"]
    found: Found = []
    for one in items:
        if one["code"] == "not_seen":
            ends = sorted(
                length_counter(cast(float, one["values"][name]), frames[run_id])
                for name in ("from_m", "to_m")
            )
            seen = all(
                min(ends[1], part["to_counter_m"]) - max(ends[0], part["from_counter_m"]) < MIN_M
                for part in hidden
            )
            if seen:
                continue
        found.append({**one})
    return found


def other_end_items(
    run_id: str, run: RunFields, nodes: Sequence[NodeRecord], end_counter_m: float | None
) -> Found:
    """Return the question whether a run that ended short can be surveyed from the other end.

    Parameters
    ----------
    run : mapping
        Its fields, with its end as ``ended_run``.
    end_counter_m : float or None
        Counter reading where it ended [m].

    Returns
    -------
    list of dict
        None or one open item; none where nobody can get to the other end, or it is not said why the run
        ended.

    Examples
    --------
    >>> nodes = [{"id": "b", "fields": {"node_type": "manhole"}}]
    >>> run = {"finish_node_id": "b", "end_reason": "obstruction"}
    >>> [i["code"] for i in other_end_items("r", run, nodes, 28.4)]
    ['other_end']
    """
    reason = run.get("end_reason")
    if not reason or reason == "node_reached" or (reason == "other" and not run.get("remark")):
        return []
    finish = next((one["fields"] for one in nodes if one["id"] == run.get("finish_node_id")), None)
    if finish is None or finish.get("node_type") in HIDDEN_ENDS or end_counter_m is None:
        return []
    return [open_item("other_end", run_id, "run", run_id, None, {"end_m": end_counter_m})]


def _of_run(records: RecordsByKind, run_id: str) -> RecordsByKind:
    each = cast(Mapping[str, Sequence[Item]], records)
    kinds = ("reading", "level_tie", "stretch", "observation")
    found = {k: [one for one in each.get(k, []) if one["fields"].get("run_id") == run_id] for k in kinds}
    return cast(RecordsByKind, found)
