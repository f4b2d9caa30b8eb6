"""Instrument checks and the safety sheet: what was recorded, and what follows from it."""

from collections.abc import Iterable, Sequence
from typing import Any, cast

from ..records.fold import Record
from ..report_model.contents import Check, SafetyAnswer
from ..report_model.plain_values import short_text
from ..schemas import schema_for, site
from ..schemas.base import Choice, Number
from ..survey.instruments.check_verdicts import verdict_text
from ..survey.instruments.instruments import instruments_of
from ..survey.numbers.decimals import signed_text
from ..survey.records import CheckFields, Inclination


def check_of(
    record: Record[CheckFields], refs: dict[str, str], checks: Sequence[Record[CheckFields]]
) -> Check:
    """Return a check with what follows from it; ``checks`` are all of the job."""
    f, facts = record.fields, []
    for name, field in schema_for("check").fields.items():
        value: Any = f.get(name)
        if value is None or name in (
            "check_type",
            "run_id",
            "question_id",
            "instrument",
            "remark",
            "removed",
            "first_made_for",
            "first_made_at",
        ):
            continue
        if isinstance(field, Choice):
            text = field.choices.get(value, value)
        elif isinstance(field, Number):
            text = f"{short_text(value)} {field.unit}".strip()
        else:
            text = inclination_text(value)
        facts.append((field.metadata["label"], text))
    return Check(
        record.id,
        site.CHECKS.get(f.get("check_type") or "", "Check"),
        refs.get(f.get("run_id") or "", ""),
        tuple(facts),
        tuple(_follows(f, [c.fields for c in checks])),
        f.get("instrument") or "",
        f.get("remark") or "",
    )


def _follows(f: CheckFields, others: Sequence[CheckFields]) -> Iterable[str]:
    """What one check says by itself; a run takes all tape checks together, and the last of other kinds."""
    run_id = f.get("run_id") or ""
    limits = [o for o in others if o.get("check_type") == "inclinometer_limit"]
    alone = instruments_of([{"id": "", "fields": one} for one in (*limits, f)], run_id)
    if verdict := verdict_text(alone):
        yield verdict
    if f.get("first_made_for") is not None:
        at = f" on {made[:10]} at {made[11:16]}" if (made := f.get("first_made_at")) else ""
        yield (
            f"Made{at} for the job “{f['first_made_for']}” and taken over here by a tap, "
            "for the same instrument."
        )
    if alone.scale_known == "computed":
        yield (
            f"Scale {alone.scale:.5f}, sd {alone.scale_sd:.5f} (computed), that is "
            f"{signed_text((alone.scale - 1) * 100, 2)} %; it goes into every chainage."
        )
    if alone.zero_known == "computed":
        yield (
            f"Zero error {signed_text(alone.zero_deg, 2)}°, sd {alone.zero_sd_deg:.2f}° (computed); "
            "it is taken off every inclination."
        )


def inclination_text(value: Inclination) -> str:
    """Return an inclination as typed, with its sense."""
    if value.get("over_range"):
        return f"beyond the range, {value['sense']}"
    units = {"deg": "°", "pct": " %", "permille": " ‰"}
    size = cast(float, value.get("size", 0))
    unit = value.get("unit", "")
    text = f"1 in {short_text(size)}" if unit == "one_in" else f"{short_text(size)}{units.get(unit, '')}"
    return f"{text} {value['sense']}" if value["sense"] != "level" else f"{text} (level)"


def safety_answers(checks: Sequence[Record[CheckFields]], sheet: dict[str, Any]) -> Iterable[SafetyAnswer]:
    given = {c.fields.get("question_id"): c.fields for c in checks
             if c.fields.get("check_type") == "safety_sheet"}  # fmt: skip
    hoped = {"yes": ("yes",), "no": ("no",), "yes_or_na": ("yes", "not_applicable")}
    labels = {None: "Not answered", "yes": "Yes", "no": "No", "not_applicable": "Does not apply"}
    for row in sheet["rows"]:
        f = given.get(row["id"], {})
        answer = f.get("answer")
        as_hoped = None if answer is None else answer in hoped.get(row["expected"], (row["expected"],))
        yield SafetyAnswer(
            row["question"], labels.get(answer, str(answer)), as_hoped, row["help"], f.get("remark") or ""
        )
