"""One run: its records, in order of chainage, and what the survey arithmetic makes of them."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from .. import tables
from ..figures.findings import findings_of
from ..figures.run_figures import TABLES, RunFigures, run_figures
from ..figures.run_records import RunRecords, RunSource
from ..pack.figure_words import figure_findings
from ..records.fold import AnyRecord, F, Record
from ..report_model.levels import Gap
from ..report_model.run import Node, Photo, PipeLength, PlacedReset, Reading, Remark, Run, Stretch
from ..schemas import described, pipe
from ..survey.instruments import gradient
from ..survey.instruments.counter_resets import CounterPart, shown_m
from ..survey.levels.input import NOT_READ
from ..survey.records import JobFields, ReadingFields, RecordOf, RunFields, StretchFields
from ..survey.review import plausibility
from ..survey.wording.messages import Words, choice, message
from ..survey.wording.quantities import known_word
from ..survey.wording.recorded import short_text
from .condition import condition_of
from .field_values import field_value
from .figures import figures_of
from .levels import level_there
from .observations import observations_of
from .places import Frame, over_of
from .sight import sight_of


@dataclass(frozen=True)
class Whole:
    """A run, or a length surveyed in pieces as one: its records and figures, before they are put in words."""

    record_id: str
    ref: str
    fields: RunFields
    of: Mapping[str, Sequence[AnyRecord]]
    found: RunFigures
    frame: Frame
    resets: tuple[PlacedReset, ...]
    unlikely: tuple[tuple[str, str], ...]
    disputes: Mapping[str, Any] = field(default_factory=dict)  # values of its own fields that stand


OfRun = Callable[[str, str], list[AnyRecord]]


def assemble_run(
    words: Words, run: Record[RunFields], found: RunFigures, nodes: dict[str, Node], of_run: OfRun,
    photos: Sequence[Photo],
) -> Run:  # fmt: skip
    """Return one run with everything computed."""
    f = run.fields
    of = {k: of_run(k, run.id) for k in ("reading", "level_tie", "stretch", "observation", "remark")}
    zero_m = f.get("counter_zero_m")
    frame = Frame(zero_m or 0.0, found.instruments.scale)
    whole = Whole(
        run.id, f.get("run_ref") or message(words, "pack.no_reference", {}), f, of, found, frame,
        tuple(resets_of(found.parts, frame)), tuple(unlikely_of(found.source)),
        run.conflicts,
    )  # fmt: skip
    return as_run(words, whole, nodes, photos)


def figures_of_run(
    run: Record[RunFields], job: JobFields, raw: Mapping[str, Sequence[AnyRecord]],
    of: Mapping[str, Sequence[AnyRecord]],
) -> RunFigures:  # fmt: skip
    """Return the figures of a run from its own records ``of`` and the nodes and checks of the job ``raw``.

    ``of["erased"]``: where something was recorded that is erased.
    """
    kinds = ("reading", "level_tie", "stretch", "observation", "remark", "photo")
    records = RunRecords(plain(raw["node"]), plain(raw["check"]), *(plain(of[kind]) for kind in kinds))
    records = replace(records, erased=plain(of["erased"]))
    return run_figures(plain([run])[0], records, job, tables.by_name(*TABLES))


def unlikely_of(source: RunSource) -> list[tuple[str, str]]:
    """Return what looks unlikely in the records of a run: severity and sentence."""
    rows = tables.load("findings")["rows"]
    severity = {row["code"]: row["severity"] for row in rows}
    found = findings_of(source, tables.load("observation_codes")["rows"])
    return [(severity[one["code"]], plausibility.sentence(tables.messages(), rows, one)) for one in found]


def as_run(
    words: Words, whole: Whole, nodes: dict[str, Node], photos: Sequence[Photo],
    length: PipeLength | None = None,
) -> Run:  # fmt: skip
    """Return a run, or a length surveyed in pieces as one, as the pack prints it."""
    f, of, found, frame = whole.fields, whole.of, whole.found, whole.frame
    zero_m = f.get("counter_zero_m")
    readings = tuple(_readings(of["reading"], frame, found))
    figures = figures_of(words, found, of["level_tie"], {n.record_id: n.ref for n in nodes.values()})
    figures = replace(figures, gaps=tuple(_where_read(figures.gaps, readings)))
    observations = observations_of(words, of["observation"], frame, found, photos)
    shown = {p.record_id for o in observations for p in o.photos}
    direction, disputes = found.run.get("direction") or "unknown", whole.disputes
    return Run(
        record_id=whole.record_id,
        ref=whole.ref,
        start=nodes.get(f.get("start_node_id") or ""),
        finish=nodes.get(f.get("finish_node_id") or ""),
        direction=direction,
        direction_label=message(words, "pack.way.disputed", {})
        if "direction" in disputes
        else pipe.DIRECTIONS[direction],
        datum_label=pipe.DATUMS.get(f.get("chainage_datum") or "") or _not_recorded(words),
        counter_zero_m=frame.zero_m,
        zero_known="assumed" if zero_m is None else "measured",
        start_bearing=f.get("start_bearing"),
        end_reason=found.run.get("end_reason") or "",
        end_reason_label=_reason_label(words, found, disputes),
        end_counter_m=shown_m(f, "end_counter_m"),
        counter_resets=whole.resets,
        surveyed_m=found.extent["surveyed_m"],
        surveyed_known=_surveyed_known(words, found, disputes),
        surveyed_word=_surveyed_word(words, found, disputes),
        expected_m=found.extent["expected_m"],
        remaining_m=found.extent["remaining_m"],
        figures=figures,
        readings=readings,
        stretches=tuple(_stretches(words, of["stretch"], frame, found)),
        observations=tuple(observations),
        remarks=tuple(
            Remark(
                r.id, frame.place(r.fields.get("counter_m")), shown_m(r.fields, "counter_m"), r.fields["text"]
            )
            for r in of["remark"]
            if r.fields.get("text")
        ),
        photos=tuple(p for p in photos if p.run_id == whole.record_id and p.record_id not in shown),
        over_range=tuple(_over_range(figures.gaps)),
        findings=(*whole.unlikely, *figure_findings(words, figures)),
        remark=f.get("remark") or "",
        sight=sight_of(words, found, of["observation"], frame, length),
        condition=condition_of(words, found, f, of["stretch"], frame),
        length=length,
    )


def _not_recorded(words: Words) -> str:
    return message(words, "pack.not_recorded_label", {})


def _surveyed_known(words: Words, found: RunFigures, disputes: Mapping[str, Any]) -> str:
    if "end_counter_m" not in disputes:
        return message(words, f"pack.surveyed.{found.extent['surveyed_known']}", {})
    none = message(words, "pack.not_recorded", {})
    ends = dict.fromkeys(v for _, v in disputes["end_counter_m"])
    shown = (
        none if v is None else message(words, "survey.metres", {"m": short_text(words, v)}) for v in ends
    )
    return message(words, "pack.surveyed.disputed_ends", {"ends": choice(words, shown)})


def _surveyed_word(words: Words, found: RunFigures, disputes: Mapping[str, Any]) -> str:
    if "end_counter_m" in disputes:
        return message(words, "pack.surveyed.disputed", {})
    return known_word(words, found.extent["surveyed_known"])


def _reason_label(words: Words, found: RunFigures, disputes: Mapping[str, Any]) -> str:
    def label(reason: str | None) -> str:
        return pipe.END_REASONS.get(reason or "") or _not_recorded(words)

    if "end_reason" not in disputes:
        return label(found.run.get("end_reason"))
    reasons = choice(words, dict.fromkeys(label(v) for _, v in disputes["end_reason"]))
    return message(words, "pack.not_settled", {"what": reasons})


def plain(records: Sequence[Record[F]]) -> list[RecordOf[F]]:
    """Records as the survey functions take them."""
    return [_plain(record) for record in records]


def _plain(record: Record[F]) -> RecordOf[F]:
    found: RecordOf[F] = {"id": record.id, "fields": record.fields}
    if record.conflicts:
        found["conflicts"] = record.conflicts
    if record.unusable:
        found["unusable"] = record.unusable
    return found


def resets_of(parts: Sequence[CounterPart], frame: Frame) -> Iterable[PlacedReset]:
    for before, part in pairwise(parts):
        where = frame.place(part.start_m)
        if before.to_m is not None and where is not None:
            yield PlacedReset(str(part.reading_id), before.to_m, part.from_m, where)


def _readings(raw: Sequence[Record[ReadingFields]], frame: Frame, found: RunFigures) -> list[Reading]:
    def order(record: Record[ReadingFields]) -> tuple[bool, float]:
        where = frame.place(record.fields.get("counter_m"))
        return (where is None or not record.fields.get("inclination"), where or 0.0)

    return [_reading(record, frame, found) for record in sorted(raw, key=order)]


def _reading(record: Record[ReadingFields], frame: Frame, found: RunFigures) -> Reading:
    where, inclination = frame.place(record.fields.get("counter_m")), record.fields.get("inclination")
    deg = gradient.inclination_deg(inclination) if inclination else None
    ways = gradient.gradient_of(deg) if deg is not None else None
    return Reading(
        record_id=record.id,
        counter_m=shown_m(record.fields, "counter_m"),
        counter_reset=record.fields.get("counter_reset"),
        chainage_m=where,
        inclination=record.fields.get("inclination_shown", inclination),
        deg=deg,
        pct=ways["pct"] if ways else None,
        one_in=ways["one_in"] if ways else None,
        over=over_of(inclination) if inclination else 0,
        level=level_there(found, where) if inclination else None,
        remark=record.fields.get("remark") or "",
        disputed=bool(record.conflicts),
        counter_typed=record.fields.get("counter_typed") or "",
        counter_unit=record.fields.get("counter_unit") or "",
        counter_added_m=record.fields.get("counter_added_m"),
    )


def _stretches(
    words: Words, raw: Sequence[Record[StretchFields]], frame: Frame, found: RunFigures
) -> list[Stretch]:
    ends = {one["id"]: one["fields"] for one in found.stretches}
    rows = []
    for record in raw:
        f = record.fields
        closed = ends.get(record.id, f)
        start, end = frame.place(f.get("from_counter_m")), frame.place(closed.get("to_counter_m"))
        rows.append(
            Stretch(
                record.id, shown_m(f, "from_counter_m"), shown_m(f, "to_counter_m"), start, end,
                tables.choices("shapes").get(f.get("shape") or "", ""), f.get("height_mm"), f.get("width_mm"),
                pipe.HOW_KNOWN.get(f.get("size_known") or "") or _not_recorded(words),
                tables.choices("materials").get(f.get("material") or "", ""),
                tables.choices("linings").get(f.get("lining") or "", ""), f.get("pipe_unit_length_m"),
                f.get("remark") or "", closed.get("to_known") or "", tuple(_pipe_disputes(words, record)),
            )
        )  # fmt: skip
    return sorted(rows, key=lambda s: s.from_m or 0.0)


def _pipe_disputes(words: Words, record: AnyRecord) -> Iterable[str]:
    """What of a pipe is in dispute: label and the values that stand."""
    fields = described("stretch")
    for name, standing in sorted(record.conflicts.items()):
        if name in fields:
            field = fields[name]
            values = dict.fromkeys(field_value(words, field, value, {}) for _, value in standing)
            text = {"label": field["label"], "values": choice(words, values)}
            yield message(words, "pack.label_value", text)


def _where_read(gaps: Sequence[Gap], readings: Sequence[Reading]) -> Iterable[Gap]:
    """Each where it was read: in the model it stands at the beginning of the straight pipe that holds it."""
    places = {one.record_id: one.chainage_m for one in readings}
    for gap in gaps:
        where = places.get(gap.record_id)
        yield gap if where is None else replace(gap, chainage_m=where)


def _over_range(gaps: Sequence[Gap]) -> Iterable[tuple[float, float]]:
    """From where to where readings are beyond the range and not settled by ties, neighbours joined."""
    spans: list[tuple[float, float]] = []
    for gap in gaps:
        if gap.status != "solved" and gap.over != NOT_READ:
            joined = bool(spans) and gap.from_m <= spans[-1][1]
            spans.append((spans.pop()[0] if joined else gap.from_m, gap.to_m))
    return spans
