"""Before leaving the site: what a job lacks or cannot have right, and whether it can be mended later."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from ..coding.run_end import ended_run
from ..instruments.instruments import Instruments, instruments_of
from ..lengths.length_of_runs import WholeLength
from ..plan.run_extent import run_extent
from ..records import JobFields, NodeRecord, RecordsByKind, RunFields, RunRecord
from ..table_types.site import LeaveSite, SafetyQuestion
from .leave_item import LeaveRules, LeaveTables, OpenItem, RankedItem, item_row, open_item
from .leave_length import joined_items, other_end_items, still_unseen, whole_lengths
from .leave_lengths import length_items
from .leave_levels import counter_items, unsettled_rises
from .leave_run import end_items, photo_items, seen_items
from .leave_sight import sight_items

Item = Mapping[str, Any]
Found = list[OpenItem]
SEVERITIES = ("hazard", "site", "desk")
OF_A_RUN = ("reading", "observation", "stretch", "level_tie", "photo")
HIDDEN_ENDS = ("buried", "unknown")


def open_items(records: RecordsByKind, outside: Mapping[str, Any], tables: LeaveTables) -> list[RankedItem]:
    """Return what is open in a job: hazards, then what cannot be mended later, then the rest, by run.

    Parameters
    ----------
    records : mapping
        Of each kind the records that stand, each with ``id`` and ``fields``, in the order of their making.
    outside : mapping
        What the records do not say: ``unsent_entries``, ``unsent_photos``, ``set_aside`` (counts) and
        ``conflicts`` (each ``kind``, ``id``, ``field``); what is absent or None is not known, and nothing is
        said of it.
    tables : mapping
        ``leave_site`` and ``visibility``: the whole tables of those names; ``codes``, ``safety`` and
        ``hazards``: the rows of the code table, of the safety sheet and of the hazards.

    Returns
    -------
    list of dict
        As ``open_item``, and ``severity``: ``hazard``, ``site`` (cannot be mended later) or ``desk``;
        ``counted_on`` where the counter was reset: the places are those of ``as_if_never_reset``.

    Raises
    ------
    SurveyError
        ``finding_unknown`` if the table lacks a code.

    Examples
    --------
    >>> table = {"rows": [], "limits": [], "codes": {}, "photo_codes": []}
    >>> open_items({"job": [], "run": []}, {}, {"leave_site": table, "safety": []})
    []
    """
    table = tables["leave_site"]
    job: JobFields = records["job"][0]["fields"] if records.get("job") else {}
    rules = leave_rules(job, table)
    runs = records.get("run", [])
    places = {run["id"]: at for at, run in enumerate(runs)}
    found = _job_items(records, outside, tables["safety"], rules)
    lengths = {piece.run.run_id: one for one in whole_lengths(records, tables) for piece in one.pieces}
    for run in runs:
        whole = lengths.get(run["id"])
        parts = _of_run(records, run["id"])
        reset = any(reading["fields"].get("counter_reset") for reading in parts["reading"])
        own = _run_items(run, parts, records, (tables, rules), whole)
        found += [{**one, "counted_on": True} for one in own] if reset else own
    rows = table["rows"]
    order = {row["code"]: at for at, row in enumerate(rows)}
    ranked: list[RankedItem] = [{**one, "severity": item_row(rows, one["code"])["severity"]} for one in found]

    def rank(one: RankedItem) -> tuple[int, int, int]:
        return SEVERITIES.index(one["severity"]), places.get(one["run_id"] or "", -1), order[one["code"]]

    return sorted(ranked, key=rank)


def _of_run(records: RecordsByKind, run_id: str) -> RecordsByKind:
    each = cast(Mapping[str, Sequence[Item]], records)
    found = {k: [one for one in each.get(k, []) if one["fields"].get("run_id") == run_id] for k in OF_A_RUN}
    return cast(RecordsByKind, found)


def leave_rules(job: JobFields, table: LeaveSite) -> LeaveRules:
    """Return what the checks go by: the limits of the table, one of which the job may set.

    Parameters
    ----------
    job : mapping
        Fields of the job; ``longest_gap_m`` [m] replaces that of the table.

    Returns
    -------
    dict
        ``start_code``, ``finish_code``, ``abandoned_code``, ``photo_codes``, ``longest_gap_m`` [m] with
        ``longest_gap_known`` (``assumed`` or ``set``), ``least_length_m`` [m], ``photo``.

    Examples
    --------
    >>> leave_rules({"longest_gap_m": 3.0}, {"limits": [], "codes": {}, "photo_codes": []})["longest_gap_m"]
    3.0
    """
    limits = {row["name"]: row["value"] for row in table["limits"]}
    own = job.get("longest_gap_m")
    return {
        **table["codes"],
        "photo_codes": table["photo_codes"],
        "longest_gap_m": cast(float, limits.get("longest_gap_m")) if own is None else own,
        "longest_gap_known": "assumed" if own is None else "set",
        "least_length_m": cast(float, limits.get("least_length_m")),
        "photo": limits,
    }


def _job_items(
    records: RecordsByKind, outside: Mapping[str, Any], safety: Sequence[SafetyQuestion], rules: LeaveRules
) -> Found:
    checks = records.get("check", [])
    answers = {c["fields"].get("question_id") for c in checks if c["fields"].get("answer")}
    unanswered = sum(1 for row in safety if row["id"] not in answers)
    found: Found = []
    if unanswered:
        values = {"n": unanswered, "total": len(safety)}
        found.append(open_item("safety_unanswered", None, "check", None, None, values))
    found += _check_items(records)
    known = {run["id"] for run in records.get("run", [])}
    loose = [p for p in records.get("photo", []) if p["fields"].get("run_id") not in known]
    found += photo_items(None, loose, rules)
    conflicts = outside.get("conflicts") or []
    for one in sorted(conflicts, key=lambda one: f"{one['kind']} {one['id']} {one['field']}"):
        found.append(open_item("conflict_open", None, one["kind"], one["id"], one["field"], {}))
    for name, code in (("set_aside", "entries_set_aside"), ("unsent_entries", "entries_unsent"),
                       ("unsent_photos", "photos_unsent")):  # fmt: skip
        if outside.get(name):
            found.append(open_item(code, None, "job", None, None, {"n": outside[name]}))
    return found


def _check_items(records: RecordsByKind) -> Found:
    """Counter and inclinometer not checked: once for the job where it is so for every run."""
    checks, runs = records.get("check", []), records.get("run", [])
    read = {one["fields"].get("run_id") for one in records.get("reading", [])}
    instruments = {run["id"]: instruments_of(checks, run["id"]) for run in runs}
    untaped = [run["id"] for run in runs if instruments[run["id"]].scale_known == "assumed"]
    levelled = [run["id"] for run in runs if run["id"] in read]
    unturned = [run_id for run_id in levelled if instruments[run_id].zero_known == "assumed"]
    found: Found = []
    for code, lacking, count in (
        ("tape_check_missing", untaped, len(runs)),
        ("zero_check_missing", unturned, len(levelled)),
    ):
        for run_id in [None] if lacking and len(lacking) == count else lacking:
            found.append(open_item(code, run_id, "check", None, None, {}))
    return found


def _run_items(
    run: RunRecord, parts: RecordsByKind, records: RecordsByKind, known: tuple[LeaveTables, LeaveRules],
    whole: WholeLength | None,
) -> Found:  # fmt: skip
    (tables, rules), run_id, nodes = known, run["id"], records.get("node", [])
    instruments = instruments_of(records.get("check", []), run_id)
    readings, observations = parts["reading"], parts["observation"]
    fields = ended_run(run["fields"], observations)
    end_m = run_extent(fields, readings, observations, instruments)["end_counter_m"]
    seen = sight_items(run_id, fields, observations, end_m, tables)
    before = [*end_items(run_id, fields, observations, rules), *length_items(run_id, fields, parts, rules)]
    rises = unsettled_rises(run_id, fields, parts, nodes, instruments)
    far = [
        *other_end_items(run_id, fields, nodes, fields.get("end_counter_m")),
        *_place_items(run_id, fields, nodes),
    ]
    if whole is not None:
        seen = still_unseen(seen, run_id, whole)
        rises, far = _of_length(run_id, whole, nodes, instruments, rises, far)
    return [
        *seen, *before, *rises, *counter_items(run_id, fields, readings, observations, instruments),
        *seen_items(run_id, fields, parts, tables["codes"], rules), *far,
    ]  # fmt: skip


def _of_length(
    run_id: str,
    whole: WholeLength,
    nodes: Sequence[NodeRecord],
    instruments: Instruments,
    rises: Found,
    far: Found,
) -> tuple[Found, Found]:
    """The rises that no level settles, and what its far end lacks: of a length once, with its first run.

    Where a run came from the other end, somebody stood there, and its levels settle what lies between.
    """
    is_first = whole.pieces[0].run.run_id == run_id
    joined = joined_items(whole) if is_first else []
    if not any(piece.turned for piece in whole.pieces):
        reach = [piece.extent["surveyed_m"] or 0.0 for piece in whole.pieces]
        farthest = whole.pieces[reach.index(max(reach))].run.run_id
        return rises, [*joined, *(far if run_id == farthest else [])]
    if whole.join.length_m is None:
        return rises, joined
    parts: RecordsByKind = {
        "reading": whole.readings,
        "level_tie": whole.level_ties,
        "stretch": whole.stretches,
    }
    own = unsettled_rises(run_id, whole.run, parts, nodes, instruments) if is_first else []
    return own, joined


def _place_items(run_id: str, run: RunFields, nodes: Sequence[NodeRecord]) -> Found:
    """Where the run starts, and which way it sets off: needed where nobody knows where it ends."""
    by_id = {node["id"]: node["fields"] for node in nodes}
    start_id, finish = run.get("start_node_id"), by_id.get(run.get("finish_node_id") or "")
    short = run.get("end_reason") not in (None, "", "node_reached")
    hidden = finish is None or (
        not finish.get("position") and (short or finish.get("node_type") in HIDDEN_ENDS)
    )
    found: Found = []
    if hidden and start_id in by_id and not by_id[start_id].get("position"):
        found.append(open_item("start_position_missing", run_id, "node", start_id, "position", {}))
    bearing = run.get("start_bearing")
    if hidden and (bearing is None or bearing.get("bearing_deg") is None):
        found.append(open_item("start_bearing_missing", run_id, "run", run_id, "start_bearing", {}))
    return found
