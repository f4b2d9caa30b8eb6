"""One open item of a job: what is missing or cannot be right, of which record, and its sentence."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..errors import SurveyError
from ..numbers.decimals import decimal_text

COUNTED_ON = " The counter was reset: this counts on as if it had not been."
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


def item_sentence(rows: Sequence[Mapping[str, Any]], item: Mapping[str, Any]) -> str:
    """Return the sentence of an open item.

    Parameters
    ----------
    item : mapping
        ``code`` and ``values``; a value whose name ends in ``_m`` is in metres. ``counted_on``: its places
        are those of a counter never reset, and that is said.

    Raises
    ------
    SurveyError
        ``finding_unknown`` if the table lacks the code; as ``decimal_text`` for a number that is none.

    Examples
    --------
    >>> rows = [{"code": "a", "sentence": "{n} at {at_m} m."}]
    >>> item_sentence(rows, {"code": "a", "values": {"n": 2, "at_m": 3}})
    '2 at 3.00 m.'
    """
    text = str(item_row(rows, item["code"])["sentence"])
    for name, value in item["values"].items():
        words = decimal_text(value, 2) if name.endswith("_m") else str(value)
        text = text.replace("{" + name + "}", words)
    placed = item.get("counted_on") and any(name in item["values"] for name in PLACES)
    return text + COUNTED_ON if placed else text
