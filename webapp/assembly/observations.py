"""Observations with the words of their codes, in order of chainage."""

from collections.abc import Mapping, Sequence
from typing import Any, cast

from .. import tables
from ..figures.run_figures import RunFigures
from ..records.fold import Record
from ..report_model.run import CODE_OF_NOBODY, FurtherValue, Observation, Photo
from ..schemas import pipe
from ..schemas.describe import further_fields
from ..survey.coding import codes, written_form
from ..survey.coding.code_quantities import unit_for
from ..survey.instruments.counter_resets import shown_m
from ..survey.records import ObservationFields
from ..survey.wording.messages import Words, message
from .levels import level_there
from .places import Frame


def observations_of(
    words: Words, raw: Sequence[Record[ObservationFields]], frame: Frame, found: RunFigures,
    photos: Sequence[Photo],
) -> list[Observation]:  # fmt: skip
    ends = {one["start_id"]: one["to_counter_m"] for one in found.items if not one["open"]}
    starts = {i: one["start_id"] for one in found.items for i in (*one["change_ids"], one["finish_id"]) if i}
    rows = [_observation(words, r, frame, found, photos, (ends.get(r.id), starts.get(r.id, ""))) for r in raw]
    return sorted(rows, key=lambda o: (o.chainage_m is None, o.chainage_m or 0.0))


def _observation(
    words: Words, record: Record[ObservationFields], frame: Frame, found: RunFigures, photos: Sequence[Photo],
    going: tuple[float | None, str],
) -> Observation:  # fmt: skip
    """One record; ``going``: where what starts with it ends, and the start that it belongs to."""
    f = record.fields
    table = tables.load("observation_codes")
    row = codes.find_code(table["rows"], f.get("code") or "")
    where = frame.place(f.get("counter_m"))
    clock, mark = f.get("clock"), f.get("continuous")
    return Observation(
        record_id=record.id,
        counter_m=shown_m(f, "counter_m"),
        chainage_m=where,
        code=f.get("code") or "",
        compact=codes.compact_code(f) or message(words, "pack.no_code", {}),
        written=written_form.compose_code(table["rows"], f),
        code_from=row.get("client", table["standard"]) if row else CODE_OF_NOBODY,
        title=row["title"] if row else message(words, "pack.code_not_in_table", {}),
        group=row["group"] if row else "other",
        characterisation_1=f.get("characterisation_1") or "",
        characterisation_2=f.get("characterisation_2") or "",
        words=_labels(words, row, f),
        sizes=_sizes(words, row, f),
        quantification_1=f.get("quantification_1"),
        quantification_2=f.get("quantification_2"),
        clock_from=clock.get("hour_from") if clock else None,
        clock_to=clock.get("hour_to") if clock else None,
        at_joint=f.get("at_joint"),
        continuous_role=mark.get("role") or "" if mark else "",
        continuous_number=int(mark["number"]) if mark else None,
        finish_m=frame.place(going[0]),
        level=level_there(found, where),
        remark=f.get("remark") or "",
        disputed=bool(record.conflicts),
        photos=tuple(p for p in photos if p.belongs_to == record.id),
        turns_to=pipe.TURNS.get(f.get("turns_to") or "", ""),
        taken_over=_taken_over(words, row, f),
        part_of=going[1],
        further=_further(f),
        page_one=row.get("page_one") if row else None,
    )


def further_names() -> tuple[str, ...]:
    """Return the names of the fields that a pack adds to those it places by hand."""
    return tuple(field["name"] for field in further_fields(pipe.ObservationSchema))


def _further(f: Mapping[str, Any]) -> tuple[FurtherValue, ...]:
    found = []
    for field in further_fields(pipe.ObservationSchema):
        if (value := f.get(field["name"])) not in (None, ""):
            chosen = {one["value"]: one["label"] for one in field.get("choices", ())}
            known = chosen.get(value, value) if isinstance(value, str) else value
            found.append(FurtherValue(field["name"], field["label"], field.get("unit", ""), known))
    return tuple(found)


def _labels(words: Words, row: Any, f: ObservationFields) -> tuple[str, ...]:
    found = []
    for name in ("characterisation_1", "characterisation_2"):
        if value := f.get(name):
            known = [c["label"] for c in row[name] if c["value"] == value] if row else []
            found.append(
                known[0] if known else message(words, "pack.value_not_in_table", {"value": str(value)})
            )
    return tuple(found)


def _sizes(words: Words, row: Any, f: ObservationFields) -> tuple[tuple[str, float, str], ...]:
    found = []
    for name in ("quantification_1", "quantification_2"):
        value = cast(float | None, f.get(name))
        if value is not None:
            unknown = {part: message(words, f"pack.size_{part}_unknown", {}) for part in ("label", "unit")}
            known = row[name] if row and row[name] else unknown
            unit = unit_for(known["unit"], f.get("characterisation_1") or "")
            found.append((known["label"], value, unit))
    return tuple(found)


def _taken_over(words: Words, row: Any, f: ObservationFields) -> tuple[str, ...]:
    """The labels of the quantities that are those of the observation before."""
    names = [name for name in (f.get("as_before") or "").split(",") if name]
    mine = cast(ObservationFields, {name: f.get(name) for name in names})
    return tuple(label for label, _, _ in _sizes(words, row, mine))
