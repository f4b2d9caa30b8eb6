"""Finding a code by plain words: what a surveyor says, types in haste, or spells wrongly.

Nothing about a code stands here; words, and words that mean the same, stand in
``tables/observation_codes.json``.
"""

import math
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from ..table_types.codes import CodeLetter, ObservationCode, ObservationCodes, PipeChange

Row = ObservationCode | PipeChange
TOKEN = re.compile(r"[a-z]+|[0-9]+")
MARKS = re.compile("[\u0300-\u036f]")
ENDINGS = ("ings", "ing", "edly", "ed", "ies", "es", "s", "y", "e")
TITLE, WORDS, LABELS, HELP = 4.0, 3.0, 2.0, 1.0
SAME, BEGINS, NEAR, NEARER_STILL = 0.8, 0.6, 0.45, 0.65


@dataclass(frozen=True)
class _Item:
    row: Row
    weights: dict[str, float]
    phrases: list[list[str]]


@dataclass(frozen=True)
class CodeIndex:
    """What a search needs of a table, made once."""

    items: list[_Item]
    worth: dict[str, float]
    by_letter: dict[str, list[str]]
    same: dict[str, list[str]]
    stop: frozenset[str]


def build_index(table: ObservationCodes) -> CodeIndex:
    """Return the index of a code table.

    Parameters
    ----------
    table : mapping
        ``rows``, and where there are any ``changes`` and ``search`` (``stop_words``, ``same``).

    Examples
    --------
    >>> row = {"code": "BBA", "title": "Roots", "search_words": "tree root", "help": ""}
    >>> sorted(build_index({"rows": [row]}).worth)
    ['root', 'tre']
    """
    search = table.get("search")
    stop = frozenset(search["stop_words"] if search else ())
    rows: list[Row] = [*table["rows"], *table.get("changes", ())]
    items = [_item(row, stop) for row in rows]
    having: dict[str, int] = {}
    for item in items:
        for term in item.weights:
            having[term] = having.get(term, 0) + 1
    worth = {term: math.sqrt(len(items) / count) for term, count in having.items()}
    by_letter: dict[str, list[str]] = {}
    for term in worth:
        by_letter.setdefault(term[0], []).append(term)
    same: dict[str, list[str]] = {}
    for group in search["same"] if search else ():
        terms = [_stem(token) for word in group for token in _tokens(word)]
        for term in terms:
            same.setdefault(term, []).extend(other for other in terms if other != term)
    return CodeIndex(items, worth, by_letter, same, stop)


def search_codes(table: ObservationCodes, text: str, limit: int) -> list[Row]:
    """Return the rows that plain words mean, best first.

    Parameters
    ----------
    text : str
        What a surveyor would say: ``crack round the pipe``, ``gravel``, ``BBA``.

    Returns
    -------
    list of mapping
        Rows of codes, and of changes of the pipe that open a new stretch (``action``); the first
        rows, in table order, when ``text`` is empty.

    Examples
    --------
    >>> rows = [{"code": "BBA", "title": "Roots", "search_words": "tree", "help": ""}]
    >>> [r["code"] for r in search_codes({"rows": rows}, "rots of a tree", 3)]
    ['BBA']
    """
    return search_index(build_index(table), text, limit)


def search_index(index: CodeIndex, text: str, limit: int) -> list[Row]:
    """Return the rows that plain words mean, best first.

    >>> row = {"code": "BBA", "title": "Roots", "search_words": "", "help": ""}
    >>> len(search_index(build_index({"rows": [row]}), "BBA", 3))
    1
    """
    tokens = _tokens(text)
    wanted = [_stem(t) for t in tokens if t not in index.stop] or [_stem(t) for t in tokens]
    if not wanted:
        return [item.row for item in index.items[:limit]]
    meant = [_candidates(index, term) for term in wanted]
    scored = []
    for place, item in enumerate(index.items):
        score = _score(index, item, meant) + _typed(item.row["code"] or "", text)
        if score > 0:
            scored.append((-math.floor(score * 1e6 + 0.5), place, item.row))
    scored.sort(key=lambda one: one[:2])
    return [row for _, _, row in scored[:limit]]


def _item(row: Row, stop: frozenset[str]) -> _Item:
    letters = cast(Mapping[str, Sequence[CodeLetter]], row)  # a change has none
    labels = " ".join(c["label"] for n in (1, 2) for c in letters.get(f"characterisation_{n}", ()))
    weights: dict[str, float] = {}
    for text, weight in (
        (row["title"], TITLE), (row["search_words"], WORDS), (labels, LABELS), (row["help"], HELP),
    ):  # fmt: skip
        for token in _tokens(text):
            if token not in stop:
                weights.setdefault(_stem(token), weight)
    phrases = [row["title"], *row["search_words"].split(",")]
    split = [[_stem(t) for t in _tokens(phrase) if t not in stop] for phrase in phrases]
    return _Item(row, weights, [phrase for phrase in split if phrase])


def _tokens(text: str) -> list[str]:
    plain = MARKS.sub("", unicodedata.normalize("NFD", text.lower())).replace("'", "").replace("’", "")
    return ["number" if token[0].isdigit() else token for token in TOKEN.findall(plain.replace("#", " 0 "))]


def _stem(word: str) -> str:
    for ending in ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("ss"):
            word = word[: -len(ending)]
            break
    doubled = len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeiouls"
    return word[:-1] if doubled else word


def _candidates(index: CodeIndex, term: str) -> dict[str, float]:
    """Terms of the table that a word may mean, with how much each counts."""
    found = {term: 1.0} if term in index.worth else {}
    for other in index.same.get(term, ()):
        if other in index.worth:
            found.setdefault(other, SAME)
    for other in index.by_letter.get(term[0], ()):
        if _begins(term, other) or _begins(other, term):
            found.setdefault(other, BEGINS)
    if term not in index.worth and len(term) >= 3:
        for other in index.worth:
            apart = _apart(term, other)
            if apart <= (1 if len(term) < 6 else 2):
                found[other] = max(found.get(other, 0.0), NEARER_STILL if apart == 1 else NEAR)
    return found


def _begins(start: str, whole: str) -> bool:
    return len(start) >= 3 and len(start) < len(whole) and whole.startswith(start)


def _apart(a: str, b: str) -> int:
    """Letters left out, put in, exchanged or swapped with the next; 3 where there are more."""
    if abs(len(a) - len(b)) > 2 or len(b) < 3:
        return 3
    before: list[int] = []
    row = list(range(len(b) + 1))
    for i, letter in enumerate(a, start=1):
        older, before, row = before, row, [i]
        for j, other in enumerate(b, start=1):
            best = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == b[j - 2] and a[i - 2] == other:
                best = min(best, older[j - 2] + 1)
            row.append(best)
        if min(row) > 2:
            return 3
    return min(row[len(b)], 3)


def _score(index: CodeIndex, item: _Item, meant: Sequence[Mapping[str, float]]) -> float:
    total = 0.0
    hit: dict[str, float] = {}
    for candidates in meant:
        best = 0.0
        for term, factor in candidates.items():
            if term in item.weights:
                best = max(best, factor * item.weights[term] * index.worth[term])
                hit[term] = max(hit.get(term, 0.0), factor)
        total += best
    return total + max((_whole(index, phrase, hit) for phrase in item.phrases), default=0.0)


def _whole(index: CodeIndex, phrase: Sequence[str], hit: Mapping[str, float]) -> float:
    """What a phrase adds when all its words are there."""
    least = min(hit.get(term, 0.0) for term in phrase)
    total = 0.0
    for term in phrase:
        total += index.worth[term]
    return least * total * WORDS


def _typed(code: str, text: str) -> float:
    typed = text.strip().upper()
    if not code or not typed:
        return 0.0
    if code == typed or typed.startswith(f"{code} "):
        return 1000.0
    return 100.0 if len(typed) >= 2 and code.startswith(typed) else 0.0
