"""One open item of a job: what is missing or cannot be right, of which record, and its sentence."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..errors import SurveyError
from ..wording.messages import Words, message
from ..wording.quantities import fixed_text

PLACES = ("from_m", "to_m", "tie_m", "counter_m")


def open_item(
    code: str,
    run_id: str | None,
    kind: str,
    record_id: str | None,
    field: str | None,
    values: Mapping[str, Any],
) -> dict[str, Any]:
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


def item_row(rows: Sequence[Mapping[str, Any]], code: str) -> Mapping[str, Any]:
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


def item_sentence(words: Words, rows: Sequence[Mapping[str, Any]], item: Mapping[str, Any]) -> str:
    """Return the sentence of an open item, its metres with two decimals.

    ``counted_on`` in it: its places are those of a counter never reset, and the sentence says so.
    """
    text = str(item_row(rows, item["code"])["sentence"])
    for name, value in item["values"].items():
        if name.endswith("_known"):
            shown = message(words, f"survey.known.{value}", {})
        else:
            shown = fixed_text(words, value, 2) if name.endswith("_m") else str(value)
        text = text.replace("{" + name + "}", shown)
    placed = item.get("counted_on") and any(name in item["values"] for name in PLACES)
    return f"{text} {message(words, 'survey.item.counted_on', {})}" if placed else text
