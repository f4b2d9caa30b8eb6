"""What an act of the eraser would take: entries, photos, and where on which runs something goes unseen."""

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, cast

from sqlalchemy import Connection, select

from ..errors import AppError
from ..messages import t
from ..records.entry import Entry
from ..records.erasure import WHAT, is_erased, spans_of
from ..records.fold import AnyRecord, entry_id, fold
from ..store import whole_jobs
from ..store.entry_rows import ENTRY
from ..survey.coding.continuous import continuous_items
from ..survey.records import ObservationFields, ObservationRecord


@dataclass
class Choice:
    """What would go."""

    job_id: str
    what: str
    target: str
    entries: list[Entry]
    photos: list[str] = field(default_factory=list)
    elsewhere: list[str] = field(default_factory=list)  # photos that stay, for other records name them
    places: dict[str, list[Any]] = field(default_factory=dict)
    runs: list[str] = field(default_factory=list)  # whose figures change, by reference
    pointing: int = 0  # records that stay and point at one of which nothing is left

    @property
    def spans(self) -> dict[str, list[list[int]]]:
        """Return the entries as spans."""
        return spans_of((entry["writer"], entry["number"]) for entry in self.entries)

    def as_json(self) -> dict[str, object]:
        """Return what the office is shown before it decides."""
        kinds = Counter(str(entry.get("kind")) for entry in {_record(e): e for e in self.entries}.values())
        return {
            "entries": len(self.entries),
            "records": dict(sorted(kinds.items())),
            "photos": self.photos,
            "photos_elsewhere": self.elsewhere,
            "runs": self.runs,
            "pointing": self.pointing,
        }


def _record(entry: Entry) -> tuple[Any, Any]:
    return entry.get("kind"), entry.get("record_id")


def choose(connection: Connection, job_id: str, what: object, target: object) -> Choice:
    """Return what an act would take of a job; AppError ``erasure_nothing`` where that is nothing.

    ``target``: ``writer:number`` of an entry, the id of a record, the hash of a photo, a writer; nothing
    for a job.
    """
    if what not in WHAT or not isinstance(target, str):
        raise AppError("request_malformed", t("api.erasure_what"), "what")
    entries, aside = whole_jobs.whole_job(connection, job_id)
    live = [entry for entry in entries if not is_erased(entry)]
    going = [entry for entry in live if _is_meant(entry, str(what), target)]
    if not going:
        raise AppError("erasure_nothing")
    choice = Choice(job_id, str(what), "" if what == "job" else target, going)
    own = {(entry["writer"], entry["number"]) for entry in going}
    staying = [entry for entry in live if (entry["writer"], entry["number"]) not in own]
    _choose_photos(connection, choice, staying)
    _choose_places(choice, live, aside, staying)
    return choice


def _is_meant(entry: Entry, what: str, target: str) -> bool:
    if what == "job":
        return True
    if what == "writer":
        return bool(entry["writer"] == target)
    if what == "entry":
        return entry_id(entry) == target
    if what == "record":
        return entry.get("record_id") == target
    return target in _hashes(entry)


def _hashes(entry: Entry) -> set[str]:
    fields = entry.get("fields")
    sha256 = fields.get("sha256") if entry.get("kind") == "photo" and isinstance(fields, dict) else None
    return {sha256} if isinstance(sha256, str) else set()


def _choose_photos(connection: Connection, choice: Choice, staying: list[Entry]) -> None:
    named = {sha256 for entry in choice.entries for sha256 in _hashes(entry)}
    if choice.what == "photo":
        choice.photos = [choice.target]
        return
    kept = named & {sha256 for entry in staying for sha256 in _hashes(entry)}
    kept |= _named_elsewhere(connection, choice.job_id, named - kept)
    choice.photos, choice.elsewhere = sorted(named - kept), sorted(kept)


def _named_elsewhere(connection: Connection, job_id: str, hashes: set[str]) -> set[str]:
    """Return those of some photos that an entry of another job names."""
    if not hashes:
        return set()
    query = select(ENTRY.c.body).where(ENTRY.c.kind == "photo", ENTRY.c.job_id != job_id)
    return hashes & {
        sha256 for body in connection.execute(query).scalars() for sha256 in _hashes(json.loads(body))
    }


def _choose_places(
    choice: Choice, live: list[Entry], aside: Mapping[str, object], staying: list[Entry]
) -> None:
    """Note where each observation was of which something goes, so that nobody takes the place for seen."""
    touched = {_record(entry) for entry in choice.entries}
    records = {(r.kind, r.id): r for r in fold(e for e in live if entry_id(e) not in aside)}
    refs = {r.id: str(r.fields.get("run_ref") or r.id[-8:]) for r in records.values() if r.kind == "run"}
    runs = set()
    for kind, record_id in touched:
        record = records.get((kind, record_id))
        run_id = record.fields.get("run_id") if record else None
        runs.add(record_id if kind == "run" else run_id)
        if record and kind == "observation" and not record.removed and isinstance(run_id, str):
            choice.places[record_id] = [run_id, *_reach(record, list(records.values()))]
    choice.runs = sorted(refs[run_id] for run_id in runs if run_id in refs)
    left = {_record(entry) for entry in staying}
    gone = {record_id for kind, record_id in touched if (kind, record_id) not in left}
    choice.pointing = sum(
        1 for r in records.values()
        if (r.kind, r.id) in left and any(isinstance(v, str) and v in gone for v in r.fields.values())
    )  # fmt: skip


def _reach(record: AnyRecord, records: list[AnyRecord]) -> tuple[float | None, float | None]:
    """Return from where to where on the counter an observation spoke [m]; None from the start, or to the end.

    What goes on along the pipe reaches over its length; where the counter was reset, over the whole run.
    """
    counter_m = record.fields.get("counter_m")
    if not record.fields.get("continuous") or counter_m is None:
        return counter_m, counter_m
    run_id = record.fields["run_id"]
    own = [r for r in records if r.fields.get("run_id") == run_id and not r.removed]
    if any(r.kind == "reading" and r.fields.get("counter_reset") for r in own):
        return None, None
    seen: list[ObservationRecord] = [
        {"id": r.id, "fields": cast(ObservationFields, r.fields)} for r in own if r.kind == "observation"
    ]
    for item in continuous_items(seen, None)["items"]:
        if record.id in (item["start_id"], item["finish_id"], *item["change_ids"]):
            return item["from_counter_m"], item["to_counter_m"]
    role = record.fields["continuous"].get("role")
    return (None, counter_m) if role == "finish" else (counter_m, None)
