"""Before leaving: what the records of one run lack, or what in them cannot be right."""

from collections.abc import Sequence

from ..coding.codes import check_observation
from ..coding.continuous import continuous_items
from ..coding.run_end import FINISH_CODE, recorded_end, start_off_m
from ..findings import Values
from ..plan.turns import turn_lacks
from ..records import ObservationRecord, PhotoRecord, RecordsByKind, RunFields
from ..table_types.codes import ObservationCode
from .leave_item import LeaveRules, OpenItem, open_item
from .leave_lengths import SAME_PLACE_M, finish_m
from .photo_quality import photo_faults

Found = list[OpenItem]
LATER_MARKS = ("change", "finish")
SAME_END_M = 0.1  # own choice, no source


def end_items(
    run_id: str, run: RunFields, observations: Sequence[ObservationRecord], rules: LeaveRules
) -> Found:
    """Return what is missing at the two ends of a run.

    Parameters
    ----------
    rules : mapping
        ``start_code``, ``finish_code``, ``abandoned_code``: the codes of the two nodes and of giving up.

    Returns
    -------
    list of dict
        Open items, as ``open_item`` makes them.

    Examples
    --------
    >>> rules = {"start_code": "BCD", "finish_code": "BCE", "abandoned_code": "BDC"}
    >>> [i["code"] for i in end_items("r", {}, [], rules)]
    ['start_missing', 'end_missing']
    """
    seen = [one["fields"].get("code") for one in observations]
    reached, given_up = rules["finish_code"] in seen, rules["abandoned_code"] in seen
    reason, end_m = run.get("end_reason"), run.get("end_counter_m")
    by_observation = run.get("end_reason_from") == "observation"
    found: Found = []
    if rules["start_code"] not in seen:
        values = {"code": rules["start_code"]}
        found.append(open_item("start_missing", run_id, "observation", None, "code", values))
    for one in observations:
        off_m = start_off_m(run, one["fields"])
        if off_m is not None:
            place = {"counter_m": one["fields"]["counter_m"], "off_m": off_m}
            found.append(open_item("start_misplaced", run_id, "observation", one["id"], "counter_m", place))
    if not reason and end_m is None and not reached and not given_up:
        found.append(open_item("end_missing", run_id, "run", run_id, "end_reason", {}))
    elif (not reason and not reached) or (reason == "other" and not run.get("remark") and not by_observation):
        field = "remark" if reason else "end_reason"
        found.append(open_item("end_reason_missing", run_id, "run", run_id, field, {}))
    if reason and end_m is None and not reached and not given_up:
        found.append(open_item("end_place_missing", run_id, "run", run_id, "end_counter_m", {}))
    return found + _contradictions(run_id, run, observations)


def _contradictions(run_id: str, run: RunFields, observations: Sequence[ObservationRecord]) -> Found:
    """End of run, and an observation of the same end, that tell of different ends."""
    one, reason, end_m = recorded_end(observations), run.get("end_reason"), run.get("end_counter_m")
    if one is None:
        return []
    code, at_m = one["fields"]["code"], one["fields"]["counter_m"]
    found: Found = []
    if reason and (code == FINISH_CODE) != (reason == "node_reached"):
        found.append(open_item("end_reason_differs", run_id, "run", run_id, "end_reason", {"code": code}))
    if end_m is not None and at_m is not None and at_m < end_m - SAME_END_M:
        values = {"code": code, "counter_m": at_m, "end_m": end_m}
        found.append(open_item("end_place_differs", run_id, "run", run_id, "end_counter_m", values))
    return found


def seen_items(
    run_id: str,
    run: RunFields,
    parts: RecordsByKind,
    code_rows: Sequence[ObservationCode],
    rules: LeaveRules,
) -> Found:
    """Return what the observations and photos of a run lack.

    Parameters
    ----------
    parts : mapping
        Its records by kind: ``observation``, ``photo``, ``level_tie``.
    rules : mapping
        ``photo_codes``: the codes that ask for a photo; ``photo``: as for ``photo_faults``; and those of
        ``end_items``.

    Returns
    -------
    list of dict
        Open items: something continuous without a finish, a place beyond the finish [m, counter], a
        clock position, the way a joint turns or a photo missing, a photo that shows too little.

    Examples
    --------
    >>> rules = {"finish_code": "BCE", "photo_codes": ["BAC"], "photo": {}}
    >>> seen = [{"id": "o", "fields": {"code": "BAC", "counter_m": 3.0}}]
    >>> [i["code"] for i in seen_items("r", {}, {"observation": seen, "photo": []}, [], rules)]
    ['photo_missing']
    """
    observations, photos = parts["observation"], parts["photo"]
    found: Found = []
    values: Values
    for item in continuous_items(observations, run.get("end_counter_m"))["items"]:
        if item["open"]:
            values = {"code": item["code"], "number": item["number"], "from_m": item["from_counter_m"]}
            found.append(
                open_item("continuous_open", run_id, "observation", item["start_id"], "continuous", values)
            )
    end_m = finish_m(run, observations, rules)
    shown = {photo["fields"].get("belongs_to") for photo in photos}
    for one in observations:
        found += _of_observation(run_id, one, end_m, one["id"] in shown, code_rows, rules)
    for tie in parts.get("level_tie", []):
        at_m = tie["fields"].get("counter_m")
        if at_m is not None and end_m is not None and at_m > end_m + SAME_PLACE_M:
            values = {"counter_m": at_m, "finish_m": end_m}
            found.append(open_item("tie_beyond_finish", run_id, "level_tie", tie["id"], "counter_m", values))
    return found + photo_items(run_id, photos, rules)


def photo_items(run_id: str | None, photos: Sequence[PhotoRecord], rules: LeaveRules) -> Found:
    """Return the photos that show too little.

    Parameters
    ----------
    run_id : str or None
        The run; None for photos of the job.
    rules : mapping
        ``photo``: as for ``photo_faults``.

    Examples
    --------
    >>> photo_items(None, [{"id": "p", "fields": {}}], {"photo": {}})
    []
    """
    return [
        open_item(code, run_id, "photo", one["id"], "shows_enough", {})
        for one in photos
        for code in photo_faults(one["fields"], rules["photo"])
    ]


def _of_observation(
    run_id: str, one: ObservationRecord, end_m: float | None, shown: bool,
    code_rows: Sequence[ObservationCode], rules: LeaveRules,
) -> Found:  # fmt: skip
    found: Found = []
    fields, marked = one["fields"], one["fields"].get("continuous")
    code, at_m = fields.get("code") or "", fields.get("counter_m")
    later = marked is not None and marked.get("role") in LATER_MARKS
    if at_m is not None and end_m is not None and at_m > end_m + SAME_PLACE_M:
        values: Values = {"code": code, "counter_m": at_m, "finish_m": end_m}
        found.append(open_item("beyond_finish", run_id, "observation", one["id"], "counter_m", values))
    if not later and any(f["code"] == "clock_missing" for f in check_observation(code_rows, fields)):
        found.append(open_item("clock_missing", run_id, "observation", one["id"], "clock", {"code": code}))
    for field in [] if later else turn_lacks(code_rows, fields):
        lack = "angle_missing" if field == "quantification_1" else "direction_missing"
        found.append(open_item(lack, run_id, "observation", one["id"], field, {"code": code}))
    if not later and code in rules["photo_codes"] and not shown:
        found.append(open_item("photo_missing", run_id, "observation", one["id"], "photo", {"code": code}))
    return found
