"""One open item of a job: what is missing or cannot be right, of which record, and its sentence."""

from collections.abc import Mapping, Sequence
from typing import Literal, NotRequired, TypedDict, cast

from ..errors import SurveyError
from ..findings import Values
from ..table_types.codes import ObservationCode
from ..table_types.condition import HazardRow, VisibilityTable
from ..table_types.site import LeaveCodes, LeaveItem, LeaveSite, LimitName, SafetyQuestion, Severity
from ..wording.messages import Words, message, sentences
from ..wording.quantities import fixed_text


class OpenItem(TypedDict):
    """What is open of a job or a run, and at which field of which record."""

    code: str
    run_id: str | None
    kind: str
    record_id: str | None
    field: str | None
    values: Values
    counted_on: NotRequired[bool]  # the counter was reset: the places are those of one that was not


class LeaveTables(TypedDict):
    """What the checks read of the data tables: a table whole, or its rows."""

    leave_site: LeaveSite
    codes: Sequence[ObservationCode]
    safety: Sequence[SafetyQuestion]
    visibility: VisibilityTable
    hazards: Sequence[HazardRow]


class LeaveRules(LeaveCodes):
    """What the checks go by: the limits of the table, one of which the job may set."""

    photo_codes: Sequence[str]
    longest_gap_m: float
    longest_gap_known: Literal["assumed", "set"]
    least_length_m: float
    photo: Mapping[LimitName, float]


class RankedItem(OpenItem):
    """An open item, and how grave it is."""

    severity: Severity


PLACES = ("from_m", "to_m", "tie_m", "counter_m")


def open_item(
    code: str,
    run_id: str | None,
    kind: str,
    record_id: str | None,
    field: str | None,
    values: Values,
) -> OpenItem:
    """Return one open item.

    Parameters
    ----------
    run_id : str or None
        The run it belongs to; None for the job.
    record_id : str or None
        That record; None where it is still to be made.

    Examples
    --------
    >>> open_item("start_missing", "r", "observation", None, None, {})["run_id"]
    'r'
    """
    return {
        "code": code,
        "run_id": run_id,
        "kind": kind,
        "record_id": record_id,
        "field": field,
        "values": dict(values),
    }


def item_row(rows: Sequence[LeaveItem], code: str) -> LeaveItem:
    """Return the row of the table that says what an item means.

    Raises
    ------
    SurveyError
        ``finding_unknown`` if the table lacks the code.

    Examples
    --------
    >>> item_row([{"code": "a", "severity": "desk"}], "a")["severity"]
    'desk'
    """
    for row in rows:
        if row["code"] == code:
            return row
    raise SurveyError("finding_unknown", "code")


def item_sentence(words: Words, rows: Sequence[LeaveItem], item: OpenItem) -> str:
    """Return the sentence of an open item, its metres with two decimals.

    ``counted_on`` in it: its places are those of a counter never reset, and the sentence says so.
    """
    text = str(item_row(rows, item["code"])["sentence"])
    for name, value in item["values"].items():
        if name.endswith("_known"):
            shown = message(words, f"survey.known.{value}", {})
        else:
            shown = fixed_text(words, cast(float, value), 2) if name.endswith("_m") else str(value)
        text = text.replace("{" + name + "}", shown)
    placed = item.get("counted_on") and any(name in item["values"] for name in PLACES)
    return sentences(words, (text, message(words, "survey.item.counted_on", {}))) if placed else text
