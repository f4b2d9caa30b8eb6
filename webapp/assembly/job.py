"""Records -> survey -> PackContents: the one place where they meet."""

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from typing import Any

from .. import tables
from ..records import job_file
from ..records.entry import Aside, Entry
from ..records.erasure import erased_places, is_erased
from ..records.fold import AnyRecord, Record, entry_id
from ..records.unrolled import running_records
from ..report_model.contents import Conflict, Device, PackContents, Rejected
from ..report_model.run import Node, Photo, Remark
from ..schemas import KINDS, described, schema_for, site
from ..survey.coding import codes
from ..survey.coding.code_quantities import SizeField, unit_for
from ..survey.instruments.counter_resets import shown_m
from ..survey.instruments.instruments import instruments_of
from ..survey.levels.run_model import node_invert
from ..survey.plan.photo_place import photo_place
from ..survey.records import CheckFields, JobFields, NodeFields
from ..survey.wording.messages import Words, listed, message
from ..survey.wording.quantities import fixed_text, unit_text
from .checks import check_of, safety_answers
from .erased import erased_of, in_part
from .field_values import field_value, value_in_record
from .leave import open_items_of
from .lengths import Lengths
from .observations import further_names
from .places import Frame

PLAIN_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d.*")
PLACED = ("observation", "reading", "remark", "level_tie")
UNDATED = "2000-01-01T00:00:00+00:00"
SUFFIX = {
    "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/heif": "heif",
    "image/gif": "gif", "image/tiff": "tif", "image/avif": "avif",
}  # fmt: skip


def assemble(document: Mapping[str, object], app_version: str = "") -> PackContents:
    """Return everything that a pack of this job says; AppError if the job file is not sound."""
    return assemble_checked(job_file.check(document), app_version)


def assemble_checked(job: job_file.JobFile, app_version: str = "") -> PackContents:
    """Return everything that a pack of a job says whose file has been checked."""
    words = tables.messages()
    standing = _Standing(running_records(job.records))
    head = standing.job(job.job_id)
    nodes = {r.id: _node(words, r) for r in standing.of("node")}
    checks = standing.of("check")
    raw = {"node": standing.of("node"), "check": checks, "erased": erased_places(job.entries)}
    lengths = Lengths(words, standing.of("run"), head, nodes, raw, standing.of_run)
    photos = lengths.photos(_photos(standing, checks))
    runs = lengths.runs(photos)
    refs = {
        r.id: r.fields.get("run_ref") or message(words, "pack.no_reference", {}) for r in standing.of("run")
    }
    stamps = [e["recorded_at"] for e in job.entries if _is_stamp(e.get("recorded_at"))]
    sheet = tables.load("safety_sheet")
    return PackContents(
        job_id=job.job_id,
        title=head.get("title") or message(words, "pack.no_title", {}),
        facts=tuple(_facts(words, head)),
        surveyed_on=head.get("surveyed_on") or "",
        surveyor=head.get("surveyor") or "",
        site=head.get("site") or "",
        level_datum=head.get("level_datum") or "",
        purpose=site.PURPOSES.get(head.get("purpose") or "", ""),
        local_rules=head.get("local_rules") or "",
        nodes=tuple(nodes.values()),
        runs=runs,
        checks=tuple(
            check_of(words, r, refs, checks) for r in checks if r.fields.get("check_type") != "safety_sheet"
        ),
        safety=tuple(safety_answers(words, checks, sheet)),
        safety_note=sheet["note"],
        cautions=tuple((c["topic"], c["text"], c["law"], c["certainty"]) for c in sheet["cautions"]),
        remarks=tuple(
            Remark(r.id, None, shown_m(r.fields, "counter_m"), r.fields["text"])
            for r in standing.of("remark")
            if r.fields.get("text") and r.fields.get("run_id") not in refs
        ),
        photos=tuple(photos),
        conflicts=tuple(_conflicts(words, standing, refs)),
        rejected=tuple(_aside(job)),
        erased=tuple(erased_of(words, job, refs)),
        erased_in_part=in_part(job, job.records),
        devices=tuple(_devices(job.entries)),
        entries=len(job.entries),
        removed=sum(1 for r in job.records if r.removed),
        strays=standing.strays(refs),
        further_names=further_names(),
        code_standard=tables.load("observation_codes")["standard"],
        dated_at=_dated_at(stamps, head.get("surveyed_on")),
        app_version=app_version,
        not_closed=open_items_of(
            words, standing.kinds, lengths.sources(), refs, len(_set_aside(job)), partial(_name_of, words)
        ),
        scales={run.id: _scale(checks, run.id) for run in standing.of("run")},
        records=tuple(job.records),
        words=words,
    )


class _Standing:
    """The records that stand, by kind, in the order in which they were made."""

    def __init__(self, records: Iterable[AnyRecord]):
        self.kinds: dict[str, list[AnyRecord]] = {kind: [] for kind in KINDS}
        for record in sorted(records, key=lambda r: r.id):
            if not record.removed and record.kind in self.kinds:
                self.kinds[record.kind].append(record)

    def of(self, kind: str) -> list[AnyRecord]:
        return self.kinds[kind]

    def of_run(self, kind: str, run_id: str) -> list[AnyRecord]:
        return [r for r in self.kinds[kind] if r.fields.get("run_id") == run_id]

    def job(self, job_id: str) -> JobFields:
        none: JobFields = {}
        return next((r.fields for r in self.kinds["job"] if r.id == job_id), none)

    def all(self) -> list[AnyRecord]:
        return [r for kind in KINDS for r in self.kinds[kind]]

    def strays(self, refs: dict[str, str]) -> int:
        kinds = ("stretch", "reading", "observation", "level_tie")
        return sum(1 for kind in kinds for r in self.kinds[kind] if r.fields.get("run_id") not in refs)


def _is_stamp(stamp: Any) -> bool:
    return isinstance(stamp, str) and bool(PLAIN_STAMP.fullmatch(stamp))


def _dated_at(stamps: Sequence[str], surveyed_on: str | None) -> str:
    if stamps:
        return max(stamps)
    return f"{surveyed_on}T00:00:00+00:00" if surveyed_on else UNDATED


def _facts(words: Words, head: JobFields) -> Iterable[tuple[str, str]]:
    for name, field in described("job").items():
        value = head.get(name)
        if value is not None and value != "" and name != "title":
            yield field["label"], field_value(words, field, value, {})


def _node(words: Words, record: Record[NodeFields]) -> Node:
    f = record.fields
    invert = node_invert(f)
    return Node(
        record.id,
        f.get("node_ref") or message(words, "pack.no_reference", {}),
        f.get("node_type") or "",
        site.NODE_TYPES.get(f.get("node_type") or "") or message(words, "pack.node.no_type", {}),
        f.get("position"),
        f.get("position_note") or "",
        f.get("cover_level_m"),
        f.get("dipped_depth_m"),
        None if invert is None else invert["level_m"],
        "position" in record.unusable,
    )


def _scale(checks: Sequence[Record[CheckFields]], run_id: str) -> float:
    return instruments_of([{"id": c.id, "fields": c.fields} for c in checks], run_id).scale


def _photos(standing: _Standing, checks: Sequence[Record[CheckFields]]) -> list[Photo]:
    runs = {r.id: r.fields for r in standing.of("run")}
    found = []
    names: dict[str, str] = {}  # one file a content, whatever later records call its type
    placed = {r.id: r.fields for kind in PLACED for r in standing.of(kind)}
    for record in standing.of("photo"):
        sha256 = record.fields.get("sha256")
        if not sha256:
            continue
        f = photo_place(record.fields, placed.get(record.fields.get("belongs_to") or ""))
        run_id = f.get("run_id") or ""
        run = runs.get(run_id)
        where = None
        if run is not None:
            frame = Frame(run.get("counter_zero_m") or 0.0, _scale(checks, run_id))
            where = frame.place(f.get("counter_m"))
        ref = (run or {}).get("run_ref") or ""
        suffix = SUFFIX.get(f.get("media_type") or "", "bin")
        filename = names.setdefault(sha256, f"photos/{sha256}.{suffix}")
        found.append(
            Photo(
                record.id, sha256, f.get("media_type") or "", int(f.get("size_bytes") or 0),
                f.get("taken_at") or "", run_id, ref, f.get("belongs_to") or "",
                shown_m(f, "counter_m"), where, f.get("caption") or "", filename,
            )
        )  # fmt: skip
    return sorted(found, key=lambda p: (p.run_ref, p.chainage_m or 0.0, p.record_id))


def _conflicts(words: Words, standing: _Standing, refs: dict[str, str]) -> Iterable[Conflict]:
    names = {r.id: _name_of(words, r) for r in standing.all()}
    for record in standing.all():
        for name, values in record.conflicts.items():
            schema = schema_for(record.kind)
            label = _field_label(words, record, name)
            texts = list(
                dict.fromkeys(
                    value_in_record(words, record.kind, name, v, names) for _, v in reversed(values)
                )
            )
            where = [schema.LABEL, _name_of(words, record)]
            if ref := refs.get(record.fields.get("run_id") or ""):
                where.append(message(words, "pack.in_run", {"run": ref}))
            yield Conflict(listed(words, (p for p in where if p)), label, texts[0], tuple(texts[1:]))


def _field_label(words: Words, record: AnyRecord, name: str) -> str:
    """The label of a field; a quantification is called by what its code measures."""
    fields = schema_for(record.kind).fields
    sizes: tuple[SizeField, ...] = ("quantification_1", "quantification_2")
    for size in sizes:
        if size != name:
            continue
        row = codes.find_code(tables.load("observation_codes")["rows"], record.fields.get("code") or "")
        if row and (quantity := row[size]):
            unit = unit_for(quantity["unit"], record.fields.get("characterisation_1") or "")
            values = {"label": quantity["label"], "unit": unit_text(words, unit)}
            return message(words, "pack.label_unit", values)
    return str(fields[name].metadata["label"]) if name in fields else name


def _name_of(words: Words, record: AnyRecord) -> str:
    f = record.fields
    name = f.get("code") or f.get("run_ref") or f.get("node_ref") or ""
    counter_m = shown_m(f, "counter_m")
    if counter_m is None:
        return str(name)
    values = {"name": name, "m": fixed_text(words, counter_m, 2)}
    return message(words, "pack.name_at" if name else "pack.at_counter", values)


def _set_aside(job: job_file.JobFile) -> Aside:
    """What was set aside; of what was erased something else is said."""
    erased = {entry_id(e) for e in job.entries if is_erased(e)}
    return {identity: why for identity, why in job.aside.items() if identity not in erased}


def _aside(job: job_file.JobFile) -> Iterable[Rejected]:
    entries = {f"{e['writer']}:{e['number']}": e for e in job.entries}
    for identity, why in sorted(_set_aside(job).items()):
        entry: Mapping[str, object] = entries.get(identity, {})
        reasons = [s for sentences in (why.get("reasons") or {}).values() for s in sentences]
        kind, device = str(entry.get("kind", "")), str(entry.get("device_id", ""))
        yield Rejected(identity, kind, device, tuple(map(str, reasons)) or (str(why.get("code", "")),))


def _devices(all_entries: Sequence[Entry]) -> Iterable[Device]:
    entries = [e for e in all_entries if not is_erased(e)]
    names = sorted({str(e.get("device_id", "")) for e in entries})
    for name in names:
        mine = [e for e in entries if str(e.get("device_id", "")) == name]
        stamps = sorted(str(e.get("recorded_at", "")) for e in mine)
        yield Device(name, len({e["writer"] for e in mine}), len(mine), stamps[0], stamps[-1])
