"""Observation codes: finding one by plain words, and what an observation may carry.

The rows come from ``tables/observation_codes.json``; nothing about a code stands here.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

Row = Mapping[str, Any]
WORD = re.compile(r"[a-z0-9]+")
ENDINGS = ("ing", "ed", "es", "s")


def find_code(rows: Sequence[Row], code: str) -> Row | None:
    """Return the row of a code, or None.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of the code table.
    code : str
        Main code, for example ``BAB``.

    Returns
    -------
    mapping or None
        The row.

    Raises
    ------
    Nothing.

    References
    ----------
    EN 13508-2, by way of the table.

    Examples
    --------
    >>> find_code([{"code": "BAB"}], "BAC") is None
    True
    """
    for row in rows:
        if row["code"] == code:
            return row
    return None


def search_codes(rows: Sequence[Row], text: str, limit: int) -> list[Row]:
    """Return the codes that plain words mean, best first.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of the code table.
    text : str
        What a surveyor would say: ``crack round the pipe``, ``gravel``, ``BBA``.
    limit : int
        At most so many.

    Returns
    -------
    list of mapping
        Matching rows; all rows, in table order, when ``text`` is empty.

    Raises
    ------
    Nothing.

    References
    ----------
    Fallbook's own rule: words of the title count 4, of the search words 3, of the
    characterisations 2, of the help 1; the beginning of a word counts half.

    Examples
    --------
    >>> rows = [{"code": "BBA", "title": "Roots", "search_words": "tree", "help": "",
    ...          "characterisation_1": [], "characterisation_2": []}]
    >>> [r["code"] for r in search_codes(rows, "tree roots", 3)]
    ['BBA']
    """
    wanted = _words(text)
    if not wanted:
        return list(rows)[:limit]
    scored = []
    for place, row in enumerate(rows):
        score = _score(row, wanted, text.strip().upper())
        if score > 0:
            scored.append((-score, place, row))
    scored.sort(key=lambda one: one[:2])
    return [row for _, _, row in scored[:limit]]


def check_observation(rows: Sequence[Row], observation: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what an observation carries that its code does not, and what it lacks.

    Parameters
    ----------
    rows : sequence of mapping
        Rows of the code table.
    observation : mapping
        Fields of an observation record.

    Returns
    -------
    list of dict
        ``code`` of the finding, ``field``, ``values`` for its sentence.

    Raises
    ------
    Nothing.

    References
    ----------
    EN 13508-2, by way of the table; each row says how certain it is.

    Examples
    --------
    >>> check_observation([], {"code": "XYZ"})
    [{'code': 'code_unknown', 'field': 'code', 'values': {'code': 'XYZ'}}]
    """
    code = observation.get("code")
    if not code:
        return []
    row = find_code(rows, code)
    if row is None:
        return [_finding("code_unknown", "code", code=code)]
    found = []
    for field in ("characterisation_1", "characterisation_2"):
        found += _check_characterisation(row, field, observation.get(field))
    for field in ("quantification_1", "quantification_2"):
        found += _check_quantification(row, field, observation.get(field))
    found += _check_clock(row, observation.get("clock"))
    if observation.get("continuous") and not row["continuous"]:
        found.append(_finding("continuous_not_taken", "continuous", code=code))
    return found


def compact_code(observation: Mapping[str, Any]) -> str:
    """Return code and characterisations as one short text.

    Parameters
    ----------
    observation : mapping
        Fields of an observation record.

    Returns
    -------
    str
        For example ``BAB B A``; empty without a code.

    Raises
    ------
    Nothing.

    References
    ----------
    Fallbook's own short form.

    Examples
    --------
    >>> compact_code({"code": "BAB", "characterisation_1": "B", "characterisation_2": None})
    'BAB B'
    """
    parts = [observation.get(f) for f in ("code", "characterisation_1", "characterisation_2")]
    return " ".join(p for p in parts if p)


def _finding(name: str, where: str, /, **values: Any) -> dict[str, Any]:
    return {"code": name, "field": where, "values": values}


def _words(text: str) -> list[str]:
    return [_stem(word) for word in WORD.findall(text.lower())]


def _stem(word: str) -> str:
    for ending in ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


def _score(row: Row, wanted: Sequence[str], typed: str) -> float:
    if row["code"] == typed:
        return 1000
    score = 100.0 if len(typed) >= 2 and row["code"].startswith(typed) else 0.0
    labels = " ".join(c["label"] for f in (1, 2) for c in row[f"characterisation_{f}"])
    weighted = [(row["title"], 4), (row["search_words"], 3), (labels, 2), (row["help"], 1)]
    fields = [(_words(text), weight) for text, weight in weighted]
    for word in wanted:
        best = 0.0
        for words, weight in fields:
            if word in words:
                best = max(best, weight)
            elif len(word) >= 3 and any(w.startswith(word) for w in words):
                best = max(best, weight / 2)
        score += best
    return score


def _check_characterisation(row: Row, field: str, value: Any) -> list[dict[str, Any]]:
    label = field.replace("_", " ")
    choices = [c["value"] for c in row[field]]
    if value is None or value == "":
        if choices and field == "characterisation_1":
            return [_finding("characterisation_missing", field, code=row["code"], label=label)]
        return []
    if value not in choices:
        return [_finding("characterisation_unknown", field, code=row["code"], label=label, value=value)]
    return []


def _check_quantification(row: Row, field: str, value: Any) -> list[dict[str, Any]]:
    if value is None:
        return []
    if row[field] is None:
        return [_finding("quantification_not_taken", field, code=row["code"], label=field.replace("_", " "))]
    if row[field]["unit"] == "%" and value > 100:
        return [_finding("quantification_beyond_whole", field, value=value)]
    return []


def _check_clock(row: Row, clock: Any) -> list[dict[str, Any]]:
    allowed = row["clock_references"]
    if not clock:
        return [_finding("clock_missing", "clock", code=row["code"])] if allowed else []
    if allowed == 0:
        return [_finding("clock_not_taken", "clock", code=row["code"])]
    if allowed == 1 and clock.get("hour_to") is not None:
        return [_finding("clock_too_many", "clock", code=row["code"])]
    return []
