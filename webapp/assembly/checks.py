"""Instrument checks and the safety sheet: what was recorded, and what follows from it."""

from collections.abc import Iterable, Sequence

from ..messages import stamp_text
from ..records.fold import Record
from ..report_model.contents import Check, SafetyAnswer
from ..schemas import described, site
from ..survey.instruments.instruments import instruments_of
from ..survey.records import CheckFields
from ..survey.table_types.site import SafetySheet
from ..survey.wording.checks import verdict_text
from ..survey.wording.messages import Words, message
from ..survey.wording.quantities import fixed_signed_text, fixed_text
from .field_values import field_value

# What has a place of its own in the list of checks.
ELSEWHERE = ("check_type", "run_id", "question_id", "instrument", "remark", "first_made_for", "first_made_at")


def check_of(
    words: Words, record: Record[CheckFields], refs: dict[str, str], checks: Sequence[Record[CheckFields]]
) -> Check:
    """Return a check with what follows from it; ``checks`` are all of the job."""
    f = record.fields
    facts = [
        (field["label"], field_value(words, field, f.get(name), {}))
        for name, field in described("check").items()
        if name not in ELSEWHERE and f.get(name) is not None
    ]
    return Check(
        record.id,
        site.CHECKS.get(f.get("check_type") or "") or message(words, "pack.check", {}),
        refs.get(f.get("run_id") or "", ""),
        tuple(facts),
        tuple(_follows(words, f, [c.fields for c in checks])),
        f.get("instrument") or "",
        f.get("remark") or "",
    )


def _follows(words: Words, f: CheckFields, others: Sequence[CheckFields]) -> Iterable[str]:
    """What one check says by itself; a run takes all tape checks together, and the last of other kinds."""
    run_id = f.get("run_id") or ""
    limits = [o for o in others if o.get("check_type") == "inclinometer_limit"]
    alone = instruments_of([{"id": "", "fields": one} for one in (*limits, f)], run_id)
    if verdict := verdict_text(words, alone):
        yield verdict
    if f.get("first_made_for") is not None:
        made = f.get("first_made_at") or ""
        values = {"job": str(f["first_made_for"]), "time": stamp_text(words, made)}
        yield message(words, f"pack.check.{'taken_over_at' if made else 'taken_over'}", values)
    if alone.scale_known == "computed":
        scale = {
            "scale": fixed_text(words, alone.scale, 5),
            "sd": fixed_text(words, alone.scale_sd, 5),
            "pct": fixed_signed_text(words, (alone.scale - 1) * 100, 2),
        }
        yield message(words, "pack.check.scale", scale)
    if alone.zero_known == "computed":
        zero = {
            "deg": fixed_signed_text(words, alone.zero_deg, 2),
            "sd_deg": fixed_text(words, alone.zero_sd_deg, 2),
        }
        yield message(words, "pack.check.zero", zero)


def _answer(words: Words, answer: str | None) -> str:
    key = f"pack.answer.{answer or 'none'}"
    return message(words, key, {}) if key in words else str(answer)


def safety_answers(
    words: Words, checks: Sequence[Record[CheckFields]], sheet: SafetySheet
) -> Iterable[SafetyAnswer]:
    given = {c.fields.get("question_id"): c.fields for c in checks
             if c.fields.get("check_type") == "safety_sheet"}  # fmt: skip
    hoped = {"yes": ("yes",), "no": ("no",), "yes_or_na": ("yes", "not_applicable")}
    for row in sheet["rows"]:
        f = given.get(row["id"], {})
        answer = f.get("answer")
        as_hoped = None if answer is None else answer in hoped.get(row["expected"], (row["expected"],))
        yield SafetyAnswer(
            row["question"], _answer(words, answer), as_hoped, row["help"], f.get("remark") or ""
        )
