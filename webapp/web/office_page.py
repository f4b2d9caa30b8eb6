"""What the office page of a job shows: its records as tables of plain text, units in the headings."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from .. import tables
from ..dates import day_text
from ..messages import listed, messages, stamp_text, t
from ..office.index import PHOTOS, REST
from ..office.pages import Slice
from ..records import canonical
from ..records.fold import AnyRecord
from ..schemas import KINDS, describe
from ..schemas.describe import FieldDescription
from ..survey.coding.code_quantities import unit_for
from ..survey.errors import SurveyError
from ..survey.wording.recorded import value_text

NUMBERS = ("number", "quantification")


@dataclass
class Cell:
    """One value, and what competes with it where phones disagree."""

    text: str
    number: bool = False
    rivals: list[str] = field(default_factory=list)


@dataclass
class Table:
    """Records of one kind: all of them, or from one on so many as are on this page."""

    title: str
    heads: list[tuple[str, bool]]
    rows: list[list[Cell]]
    first: int = 1
    total: int = 0


@dataclass
class Run:
    """One run, or what of it is on this page: its facts and the tables under it."""

    run_id: str
    title: str
    facts: list[tuple[str, Cell]]
    tables: list[Table]


@dataclass
class JobPage:
    """What one page of a job shows of its records."""

    runs: list[Run]
    tables: list[Table]
    photos: list[AnyRecord]


class View:
    """Turns records into text; refs become the names of what they point at."""

    def __init__(self, named: Callable[[str], AnyRecord | None]) -> None:
        """``named`` returns the record of an id."""
        self._named = named
        self._names: dict[str, str] = {}
        self._fields = {kind: describe(schema)["fields"] for kind, schema in KINDS.items()}
        rows = tables.load("observation_codes")["rows"]
        self._codes: Mapping[str, Mapping[str, Any]] = {row["code"]: row for row in rows}
        self._questions = {row["id"]: row["question"] for row in tables.load("safety_sheet")["rows"]}

    def name(self, record: AnyRecord) -> str:
        """Return a record's kind and what it is called."""
        return t("office.named", what=KINDS[record.kind].LABEL, name=_name_of(record))

    def located(self, record: AnyRecord) -> str:
        """Return the same with where it is along which run, which tells records of one name apart."""
        counter_m = record.fields.get("counter_m", record.fields.get("from_counter_m"))
        parts = [self._titled(record)]
        if isinstance(counter_m, int | float) and (at := t("office.at", counter_m=counter_m)) not in parts[0]:
            parts.append(at)
        if run := self._named(str(record.fields.get("run_id"))):
            parts.append(self.run_title(run))
        if isinstance(taken := record.fields.get("taken_at"), str):
            parts.append(stamp_text(messages(), taken))
        return listed(parts)

    def _titled(self, record: AnyRecord) -> str:
        if record.kind == "photo" and not record.fields.get("caption"):
            return t("office.photo_without_caption")
        code = record.fields.get("code")
        if record.kind != "observation" or not code:
            return self.name(record)
        title = _named(code, self._codes.get(code, {}).get("title", ""))
        return t("office.named", what=KINDS[record.kind].LABEL, name=title)

    def title(self, job: AnyRecord | None) -> str:
        """Return what a job is called."""
        return (job and not job.removed and job.fields.get("title")) or t("office.job_without_title")

    def facts(self, job: AnyRecord | None) -> list[tuple[str, Cell]]:
        """Return the site sheet."""
        return self._facts(job) if job and not job.removed else []

    def page(self, slices: Sequence[Slice]) -> JobPage:
        """Return a page of the pieces that are on it, in their order."""
        found = JobPage([], [], [])
        for piece in slices:
            if piece.part == PHOTOS:
                found.photos += piece.records
            elif piece.part == REST:
                found.tables.append(self._table(piece, ""))
            elif piece.run is not None:
                if not found.runs or found.runs[-1].run_id != piece.run.id:
                    found.runs.append(self._run(piece.run))
                if piece.kind != "run":
                    found.runs[-1].tables.append(self._table(piece, "run_id"))
        return found

    def _run(self, run: AnyRecord) -> Run:
        return Run(run.id, self.run_title(run), self._facts(run), [])

    def run_title(self, run: AnyRecord) -> str:
        """Return the heading of a run."""
        return t("office.run", name=_name_of(run))

    def _facts(self, record: AnyRecord) -> list[tuple[str, Cell]]:
        pairs = ((_head(f), self._cell(record, f)) for f in self._fields[record.kind])
        return [(label, cell) for label, cell in pairs if cell.text or cell.rivals]

    def _table(self, piece: Slice, left_out: str) -> Table:
        columns = [
            f
            for f in self._fields[piece.kind]
            if f["name"] != left_out and any(r.fields.get(f["name"]) is not None for r in piece.records)
        ]
        heads = [(_head(f), f["type"] in NUMBERS) for f in columns]
        rows = [[self._cell(r, f) for f in columns] for r in piece.records]
        return Table(KINDS[piece.kind].PLURAL, heads, rows, piece.first, piece.total)

    def _cell(self, record: AnyRecord, description: FieldDescription) -> Cell:
        name = description["name"]
        rivals = [self._value(record, description, v) for _, v in record.conflicts.get(name, ())]
        text = self._value(record, description, record.fields.get(name))
        return Cell(text, description["type"] in NUMBERS, rivals)

    def _value(self, record: AnyRecord, description: FieldDescription, value: Any) -> str:
        """Return one value of a field; its unit stands in the heading, or here where the code says which."""
        of_code = "" if value is None else self._of_code(record, description, value)
        return of_code or self.text(description, value)

    def _of_code(self, record: AnyRecord, description: FieldDescription, value: Any) -> str:
        """What a characterisation or a quantity of an observation means hangs on its code."""
        name = description["name"]
        row = self._codes.get(record.fields.get("code", ""), {}).get(name)
        if name.startswith("quantification_"):
            unit = (row or {}).get("unit") or t("office.unit_unknown")
            return _worded({**description, "unit": unit_for(unit, _kind(record))}, value)
        if name.startswith("characterisation_"):
            label = next((c["label"] for c in row or () if c["value"] == value), "")
            return _named(value, label)
        return ""

    def conflicts(self, record: AnyRecord) -> list[tuple[str, str, list[str]]]:
        """Return the values on which phones disagree: of which record, which field, and what they say."""
        labels = {f["name"]: f for f in self._fields[record.kind]}
        labels["removed"] = {"name": "removed", "label": t("office.removed"), "type": "flag"}
        who = self.name(record)
        nothing = t("office.nothing")
        return [
            (who, _head(labels[name]), [self._value(record, labels[name], v) or nothing for _, v in values])
            for name, values in record.conflicts.items()
            if name in labels
        ]

    def text(self, description: FieldDescription, value: Any) -> str:
        """Return a field's value as a person reads it."""
        if value is None:
            return ""
        kind, name = description["type"], description["name"]
        if kind == "ref":
            return self._name_of_id(str(value))
        if kind == "code":
            return _named(value, self._codes.get(value, {}).get("title", ""))
        if kind == "date":
            return day_text(messages(), str(value))
        if kind == "time":
            return stamp_text(messages(), str(value))
        if name == "question_id":
            return str(self._questions.get(value, value))
        return _worded({**description, "unit": ""}, value)  # it stands in the heading

    def _name_of_id(self, record_id: str) -> str:
        if record_id not in self._names:
            record = self._named(record_id)
            self._names[record_id] = _name_of(record) if record else t("office.record_not_here")
        return self._names[record_id]


def _worded(description: FieldDescription, value: Any) -> str:
    try:
        return value_text(messages(), description, value)
    except SurveyError:  # half a composite of an earlier version: shown as it stands
        return canonical.dumps(value)


def _head(description: FieldDescription) -> str:
    unit = description.get("unit")
    label = str(description["label"])
    return t("office.head_unit", label=label, unit=unit) if unit else label


def _kind(record: AnyRecord) -> str:
    return str(record.fields.get("characterisation_1") or "")


def _named(code: Any, title: str) -> str:
    return t("office.named", what=code, name=title) if title else str(code)


def _name_of(record: AnyRecord) -> str:
    for name in ("title", "run_ref", "node_ref", "caption", "code", "text"):
        if isinstance(found := record.fields.get(name), str) and found:
            return found[:40]
    counter_m = record.fields.get("counter_m")
    return t("office.at", counter_m=counter_m) if counter_m is not None else record.id[-8:]
