"""What the camera could see of a run, and hazards to people, in the words of the pack."""

from collections.abc import Iterable, Mapping, Sequence

from .. import tables
from ..figures.run_figures import RunFigures
from ..records.fold import Record
from ..report_model.run import PipeLength
from ..report_model.sight import Hazard, Sight, SightPart
from ..survey.coding.codes import find_code
from ..survey.coding.hidden_spans import ERASED
from ..survey.coding.visibility import VisiblePart
from ..survey.grading.hazards import Hazard as FoundHazard
from ..survey.records import ObservationFields
from ..survey.table_types.codes import ObservationCode
from ..survey.wording.messages import Words, clauses, listed, message
from ..survey.wording.sight import hazard_line, part_line, seen_line, unseen_why
from .places import Frame

DEFECTS = ("fabric", "operation")
BARE = ("none", "at_manufacture")  # the wall that is seen is that of the pipe


def sight_of(
    words: Words, found: RunFigures, observations: Sequence[Record[ObservationFields]], frame: Frame,
    length: PipeLength | None = None,
) -> Sight:  # fmt: skip
    """Return the account of what was seen, part by part, and the hazards, the gravest first."""
    account = found.visibility
    by_id = {one.id: one.fields for one in observations}
    repeats = length.repeats if length is not None else {}
    between = length.between if length is not None and length.joined else ()
    disputed = length is not None and length.end_disputed
    rows = tables.load("observation_codes")["rows"]
    parts_of = {i for one in found.items for i in (*one["change_ids"], one["finish_id"])}
    counted = [f for i, f in by_id.items() if i not in repeats and i not in parts_of]
    groups = [row["group"] for f in counted if (row := find_code(rows, f.get("code") or ""))]
    defects = sum(1 for group in groups if group in DEFECTS)
    parts = []
    for part in account["parts"]:
        from_m, to_m = (frame.place(part[name]) or 0.0 for name in ("from_counter_m", "to_counter_m"))
        why = clauses(words, dict.fromkeys(_why(words, rows, by_id, i) for i in part["record_ids"]))
        why = (
            why
            or _end_in_dispute(words, found, part)
            or unseen_why(words, part, between, from_m, to_m, disputed)
        )
        line = "" if part["sight"] == "clear" else part_line(words, part, from_m, to_m, why)
        parts.append(
            SightPart(
                part["sight"], from_m, to_m, part["length_m"], part["depth_pct"], part["hour_from"],
                part["hour_to"], why, part["known"], line,
            )
        )  # fmt: skip
    return Sight(
        looked=account["looked"],
        clear_m=account["clear_m"],
        part_m=account["part_m"],
        hidden_m=account["hidden_m"],
        total_m=account["total_m"],
        words=seen_line(words, account, defects),
        parts=tuple(parts),
        hazards=tuple(_hazard(words, one, frame) for one in found.hazards),
        lined=tuple(_lined(found, frame)),
    )


def _lined(found: RunFigures, frame: Frame) -> Iterable[tuple[float, float]]:
    """Where a lining put in later hides the wall of the pipe."""
    for one in found.stretches:
        f = one["fields"]
        start, end = frame.place(f.get("from_counter_m")), frame.place(f.get("to_counter_m"))
        if f.get("lining") and f["lining"] not in BARE and start is not None and end is not None:
            yield start, end


def _end_in_dispute(words: Words, found: RunFigures, part: VisiblePart) -> str:
    least_m = found.run.get("least_end_counter_m")
    beyond = least_m is not None and part["from_counter_m"] >= least_m and part["sight"] == "hidden"
    return message(words, "survey.sight.end_disputed", {}) if beyond else ""


def _why(
    words: Words, rows: Sequence[ObservationCode], by_id: Mapping[str, ObservationFields], record_id: str
) -> str:
    """Title and kind of the record that hides a length."""
    if record_id.startswith(ERASED):
        return message(words, "survey.sight.erased", {})
    fields = by_id.get(record_id, {})
    row = find_code(rows, fields.get("code") or "")
    if row is None:
        return str(fields.get("code") or "")
    wanted = fields.get("characterisation_1")
    kinds = [one["label"] for one in row["characterisation_1"] if one["value"] == wanted]
    return message(words, "pack.sight.what", {"what": listed(words, [row["title"], *kinds])})


def _hazard(words: Words, one: FoundHazard, frame: Frame) -> Hazard:
    row = tables.load("hazards")["rows"][one["row"]]
    from_m, to_m = frame.place(one["from_counter_m"]), frame.place(one["to_counter_m"])
    line = hazard_line(words, row["label"], from_m, to_m, one["sure"])
    return Hazard(one["hazard"], one["record_id"], from_m, to_m, one["sure"], line, row["caution"])
