"""What the office page of a job shows: its records as tables of plain text, units in the headings."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from .. import tables
from ..dates import day_text
from ..messages import listed, messages, stamp_text, t
from ..records import canonical
from ..records.fold import AnyRecord
from ..schemas import KINDS, describe
from ..schemas.describe import FieldDescription
from ..survey.coding.code_quantities import unit_for
from ..survey.errors import SurveyError
from ..survey.wording.recorded import value_text

# What belongs to a run is shown under it, in this order.
UNDER_RUN = ("stretch", "reading", "observation", "level_tie", "remark", "check")
FREE = ("node", "check", "remark", *(k for k in UNDER_RUN if k not in ("check", "remark")))
NUMBERS = ("number", "quantification")


@dataclass
class Cell:
    """One value, and what competes with it where phones disagree."""

    text: str
    number: bool = False
    rivals: list[str] = field(default_factory=list)


@dataclass
class Table:
    """Records of one kind."""

    title: str
    heads: list[tuple[str, bool]]
    rows: list[list[Cell]]


@dataclass
class Run:
    """One run: its facts and the tables under it."""

    title: str
    facts: list[tuple[str, Cell]]
    tables: list[Table]


@dataclass
class JobPage:
    """Everything on the page of one job."""

    title: str
    facts: list[tuple[str, Cell]]
    runs: list[Run]
    tables: list[Table]
    conflicts: list[tuple[str, str, list[str]]]
    removed: int


class View:
    """Turns records into text; refs become the names of what they point at."""

    def __init__(self, records: list[AnyRecord]) -> None:
        self.records = records
        self._names = {r.id: _name_of(r) for r in records}
        self._fields = {kind: describe(schema)["fields"] for kind, schema in KINDS.items()}
        rows = tables.load("observation_codes")["rows"]
        self._codes: Mapping[str, Mapping[str, Any]] = {row["code"]: row for row in rows}
        self._questions = {row["id"]: row["question"] for row in tables.load("safety_sheet")["rows"]}

    def name(self, record: AnyRecord) -> str:
        """Return a record's kind and what it is called."""
        return t("office.named", what=KINDS[record.kind].LABEL, name=self._names[record.id])

    def located(self, record: AnyRecord) -> str:
        """Return the same with where it is along which run, which tells records of one name apart."""
        counter_m = record.fields.get("counter_m", record.fields.get("from_counter_m"))
        parts = [self._titled(record)]
        if isinstance(counter_m, int | float) and (at := t("office.at", counter_m=counter_m)) not in parts[0]:
            parts.append(at)
        if (run := self._names.get(str(record.fields.get("run_id")))) is not None:
            parts.append(t("office.run", name=run))
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

    def page(self) -> JobPage:
        """Return the page."""
        standing = [r for r in self.records if not r.removed]
        job = next((r for r in standing if r.kind == "job"), None)
        runs = [r for r in standing if r.kind == "run"]
        shown = {r.id for r in runs}
        free = [r for r in standing if r.fields.get("run_id") not in shown]
        tables_ = [self._table(kind, [r for r in free if r.kind == kind], "") for kind in FREE]
        return JobPage(
            title=(job and job.fields.get("title")) or t("office.job_without_title"),
            facts=self._facts(job) if job else [],
            runs=[self._run(run, standing) for run in runs],
            tables=[one for one in tables_ if one.rows],
            conflicts=[c for r in self.records for c in self._conflicts(r)],
            removed=sum(1 for r in self.records if r.removed),
        )

    def _run(self, run: AnyRecord, standing: list[AnyRecord]) -> Run:
        found = []
        for kind in UNDER_RUN:
            mine = [r for r in standing if r.kind == kind and r.fields.get("run_id") == run.id]
            table = self._table(kind, sorted(mine, key=_along), "run_id")
            if table.rows:
                found.append(table)
        return Run(t("office.run", name=self._names[run.id]), self._facts(run), found)

    def _facts(self, record: AnyRecord) -> list[tuple[str, Cell]]:
        pairs = ((_head(f), self._cell(record, f)) for f in self._fields[record.kind])
        return [(label, cell) for label, cell in pairs if cell.text or cell.rivals]

    def _table(self, kind: str, records: list[AnyRecord], left_out: str) -> Table:
        columns = [
            f
            for f in self._fields[kind]
            if f["name"] != left_out and any(r.fields.get(f["name"]) is not None for r in records)
        ]
        heads = [(_head(f), f["type"] in NUMBERS) for f in columns]
        rows = [[self._cell(r, f) for f in columns] for r in records]
        return Table(KINDS[kind].PLURAL, heads, rows)

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

    def _conflicts(self, record: AnyRecord) -> list[tuple[str, str, list[str]]]:
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
            return self._names.get(value, t("office.record_not_here"))
        if kind == "code":
            return _named(value, self._codes.get(value, {}).get("title", ""))
        if kind == "date":
            return day_text(messages(), str(value))
        if kind == "time":
            return stamp_text(messages(), str(value))
        if name == "question_id":
            return str(self._questions.get(value, value))
        return _worded({**description, "unit": ""}, value)  # it stands in the heading


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


def _along(record: AnyRecord) -> tuple[float, str]:
    counter_m = record.fields.get("counter_m", record.fields.get("from_counter_m"))
    return (counter_m if isinstance(counter_m, int | float) else -1.0, record.id)


def _name_of(record: AnyRecord) -> str:
    for name in ("title", "run_ref", "node_ref", "caption", "code", "text"):
        if isinstance(found := record.fields.get(name), str) and found:
            return found[:40]
    counter_m = record.fields.get("counter_m")
    return t("office.at", counter_m=counter_m) if counter_m is not None else record.id[-8:]
