"""What the records that stand say of one another: references, names, what they lack, what does not pair."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from .. import tables
from ..messages import messages
from ..records.entry import RecordJson
from ..records.fold import Record
from ..records.unrolled import running_records
from ..schemas import schema_for
from ..schemas.base import Ref
from ..survey.coding import codes, continuous
from ..survey.records import ObservationFields, ObservationRecord
from ..survey.review import plausibility
from .faults import FAULT, NOTE, Fault, fault, pointer, title_of
from .form import sound_records

Value = Mapping[str, object]
Placed = Sequence[tuple[int, RecordJson]]
UNPAIRED = {
    "continuous_not_started",
    "continuous_finish_before_start",
    "continuous_started_twice",
    "continuous_codes_differ",
    "continuous_change_outside",
}
NAMED = {"run": "run_ref", "node": "node_ref"}


def check_relations(value: Value, refused: set[str]) -> Iterator[Fault]:
    """Tell of the records that stand; of those in ``refused``, whose values do not hold, only references."""
    placed = sound_records(value)
    standing = [(index, record) for index, record in placed if not record.get("removed")]
    job_id = value.get("job_id")
    own = [(index, record) for index, record in placed if record["kind"] == "job" and record["id"] == job_id]
    if not own:
        yield fault("job_missing", "/records")
    elif own[0][1].get("removed"):
        yield fault("job_removed", pointer("records", own[0][0], "removed"), own[0][1], NOTE)
    known = {record["id"]: record for _, record in placed}
    for index, record in standing:
        yield from _missing(index, record)
        yield from _references(index, record, known)
        yield from _questions(index, record)
        yield from _joins(index, record, known)
    yield from _names(standing)
    sound = [(index, record) for index, record in standing if record["id"] not in refused]
    yield from _observations(sound)
    yield from _unpaired(sound)


def _missing(index: int, record: RecordJson) -> Iterator[Fault]:
    for name, field in schema_for(record["kind"]).fields.items():
        value = record["fields"].get(name)
        empty = value is None or (isinstance(value, str) and not value.strip())
        if field.metadata.get("required") and empty:
            place = pointer("records", index, "fields", name)
            yield fault("field_missing", place, record, label=field.metadata["label"])


def _references(index: int, record: RecordJson, known: Mapping[str, RecordJson]) -> Iterator[Fault]:
    for name, field in schema_for(record["kind"]).fields.items():
        if not isinstance(field, Ref):
            continue
        place, label = pointer("records", index, "fields", name), field.metadata["label"]
        values = [(place, record["fields"].get(name))]
        others = record.get("conflicts", {}).get(name, ())
        under = pointer("records", index, "conflicts", name)
        values += [(f"{under}/{number}/1", one[1]) for number, one in enumerate(others[:-1])]
        for where, target in values:
            if isinstance(target, str) and target:
                yield from _reference(where, record, label, field.to, known.get(target))
    yield from _photo_of_other_run(index, record, known)


def _reference(
    place: str, record: RecordJson, label: str, wanted: str, target: RecordJson | None
) -> Iterator[Fault]:
    if target is None:
        yield fault("reference_dangling", place, record, label=label)
    elif wanted not in ("any", target["kind"]):
        yield fault("reference_kind", place, record, label=label, found=target["kind"], wanted=wanted)
    elif target.get("removed"):
        yield fault("reference_removed", place, record, label=label, other=title_of(target))


def _photo_of_other_run(index: int, record: RecordJson, known: Mapping[str, RecordJson]) -> Iterator[Fault]:
    owner = known.get(str(record["fields"].get("belongs_to")))
    if record["kind"] != "photo" or owner is None:
        return
    mine, other = record["fields"].get("run_id"), owner["fields"].get("run_id")
    if mine and other and mine != other:
        place = pointer("records", index, "fields", "belongs_to")
        yield fault("photo_other_run", place, record, other=title_of(owner))


def _joins(index: int, record: RecordJson, known: Mapping[str, RecordJson]) -> Iterator[Fault]:
    """What joins runs to one length: a run that goes on from another, an object seen in two."""
    for kind, name in (("run", "continues_run_id"), ("observation", "same_as")):
        if record["kind"] != kind or not record["fields"].get(name):
            continue
        place, label = (
            pointer("records", index, "fields", name),
            schema_for(kind).fields[name].metadata["label"],
        )
        at, seen = record["fields"][name], [record["id"]]
        while at in known and at not in seen:
            seen.append(at)
            at = known[at]["fields"].get(name)
        if at == record["id"]:
            yield fault("reference_circle", place, record, label=label)
        other = known.get(record["fields"][name], record)
        if kind == "observation" and other is not record:
            if other["fields"].get("run_id") == record["fields"].get("run_id"):
                yield fault("same_in_own_run", place, record, NOTE, label=label)


def _questions(index: int, record: RecordJson) -> Iterator[Fault]:
    question = record["fields"].get("question_id")
    if record["kind"] != "check" or not isinstance(question, str) or not question:
        return
    if question not in {row["id"] for row in tables.load("safety_sheet")["rows"]}:
        place = pointer("records", index, "fields", "question_id")
        yield fault("question_unknown", place, record, question=question)


def _names(standing: Placed) -> Iterator[Fault]:
    count = Counter((r["kind"], _name(r)) for _, r in standing if r["kind"] in NAMED and _name(r))
    for index, record in standing:
        if record["kind"] in NAMED and count[record["kind"], _name(record)] > 1:
            place = pointer("records", index, "fields", NAMED[record["kind"]])
            yield fault("name_twice", place, record, NOTE, kind=record["kind"], name=_name(record))


def _name(record: RecordJson) -> str:
    return str(record["fields"].get(NAMED[record["kind"]]) or "")


def _observations(sound: Placed) -> Iterator[Fault]:
    rows, sentences = tables.load("observation_codes")["rows"], tables.load("findings")["rows"]
    for index, record in sound:
        if record["kind"] != "observation":
            continue
        for one in codes.check_observation(rows, cast(ObservationFields, record["fields"])):
            place = pointer("records", index, "fields", one["field"])
            if one["code"] == "code_unknown":
                yield fault("code_not_in_table", place, record, code=one["values"]["code"])
            else:
                yield fault(
                    "observation_odd",
                    place,
                    record,
                    NOTE,
                    why=plausibility.sentence(messages(), sentences, one),
                )


def _unpaired(sound: Placed) -> Iterator[Fault]:
    """What starts, changes and finishes along each run, with the counter as if it had never been reset."""
    sentences = tables.load("findings")["rows"]
    at = {record["id"]: (index, record) for index, record in sound}
    records = [
        Record(r["id"], r["kind"], r["fields"]) for _, r in sorted(sound, key=lambda one: str(one[1]["id"]))
    ]
    by_run: dict[str, list[ObservationRecord]] = {}
    for record in running_records(records):
        if record.kind == "observation":
            run_id = str(record.fields.get("run_id"))
            by_run.setdefault(run_id, []).append(
                {"id": record.id, "fields": cast(ObservationFields, record.fields)}
            )
    for observations in by_run.values():
        for one in continuous.continuous_items(observations, None)["faults"]:
            index, own = at[one["record_id"]]
            severity = FAULT if one["code"] in UNPAIRED else NOTE
            place = pointer("records", index, "fields", one["field"])
            yield fault(
                "continuous_odd", place, own, severity, why=plausibility.sentence(messages(), sentences, one)
            )
