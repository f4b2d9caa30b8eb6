"""A client's own observation codes, by a file: checked row by row, and put into the code table.

The sentences name the row by its place in the file, counted from 1.
"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeGuard, cast

from ..errors import AppError
from ..messages import listed, t
from ..survey.table_types.codes import ObservationCode, ObservationCodes
from .own_file import parsed
from .shipped import shipped

FORMAT = "fallbook-codes"
MAX_BYTES = 2 * 1024 * 1024
MAX_ROWS = 1000
MAX_FAULTS = 200
CODE = re.compile(r"[A-Z]{1,4}[A-Z0-9]{0,4}")
LETTER = re.compile(r"[A-Z0-9]{1,8}")
GROUPS = ("fabric", "operation", "inventory", "other")
JOINTS = ("optional", "inherent", "n/a")
TEXTS = {"title": 80, "help": 400, "search_words": 2000, "pictogram": 40, "source": 400}
FLAGS = (
    "characterisation_1_needed", "characterisation_2_needed", "clock_needed", "continuous", "remark_needed",
    "replaces",
)  # fmt: skip
LISTS = ("characterisation_1", "characterisation_2")
SIZES = ("quantification_1", "quantification_2")
KNOWN = {"code", *TEXTS, *FLAGS, *LISTS, *SIZES, "group", "joint", "clock_references", "page_one"}
CHOICE_KNOWN = {"value", "label", "remark", "side"}
SIZE_KNOWN = {"label", "unit", "note", "needed", "least", "most", "usual"}


def read(path: Path) -> ObservationCodes:
    """Return the code table with the codes of a file in it; AppError with the faults if it is not sound."""
    own = parse(path)
    faults = check(own)
    if faults:
        more = [t("codes_file.more", number=len(faults) - 5)] if len(faults) > 5 else []
        raise AppError("codes_faulty", f"{path}: {' '.join([*faults[:5], *more])}")
    return merged(shipped("observation_codes"), own)


def parse(path: Path) -> Any:
    """Return what a file holds; AppError if it cannot be read as JSON."""
    return parsed(path, MAX_BYTES, AppError("codes_faulty", t("codes_file.too_large", path=path)))


def check(own: Any) -> list[str]:
    """Return every fault of a file of codes as a sentence; empty if it can be used."""
    if not isinstance(own, dict) or own.get("format") != FORMAT:
        return [t("codes_file.format", format=FORMAT)]
    if own.get("version") != 1:
        return [t("codes_file.version")]
    found: list[str] = []
    for fault in _faults(own):
        found.append(fault)
        if len(found) == MAX_FAULTS:
            break
    return found


def merged(table: ObservationCodes, own: dict[str, Any]) -> ObservationCodes:
    """Return the code table with the rows of a sound file added, or put in place of ours."""
    rows = [_whole(row, own["client"]) for row in own["rows"]]
    named = {row["code"]: row for row in rows}
    for row in table["rows"]:
        if "page_one" in row and row["code"] in named:
            named[row["code"]].setdefault("page_one", row["page_one"])
    kept = [named.pop(row["code"], row) for row in table["rows"]]
    return {**table, "client": own["client"], "rows": [*kept, *named.values()]}


def _whole(row: dict[str, object], client: str) -> ObservationCode:
    """A row with all that a row of the table has."""
    statement = t("codes_file.client_states", client=client)
    whole: dict[str, Any] = {
        "group": "other", "pictogram": "other", "help": "", "search_words": "", "joint": "n/a",
        "clock_references": 0, "continuous": False, "remark_needed": False, "clock_needed": False,
        "characterisation_1": [], "characterisation_2": [],
        "quantification_1": None, "quantification_2": None,
        "characterisation_1_needed": bool(row.get("characterisation_1")), "characterisation_2_needed": False,
        "source": t("codes_file.client_file", client=client), "status": statement,
        "certainty": {"all": statement}, "shaky": [],
        **row, "client": client,
    }  # fmt: skip
    if row["code"] in _codes_of_bends():
        whole["characterisation_1"] = [_with_side(choice) for choice in whole["characterisation_1"]]
    for name in SIZES:
        if whole[name] is not None:
            whole[name] = {"note": "", "needed": False, **whole[name]}
    whole.pop("replaces", None)
    return cast(ObservationCode, whole)


def _codes_of_bends() -> set[str]:
    rows = shipped("observation_codes")["rows"]
    return {row["code"] for row in rows if any("side" in one for one in row["characterisation_1"])}


def _with_side(choice: dict[str, Any]) -> dict[str, object]:
    """A choice with the side that a bend turns to; a file that does not state it says it in its label."""
    named = [side for side in ("left", "right") if re.search(rf"\b{side}\b", choice["label"].lower())]
    return {"side": named[0], **choice} if len(named) == 1 else choice


def _faults(own: dict[str, object]) -> Iterator[str]:
    yield from (
        t("codes_file.unknown_part", name=name)
        for name in sorted(set(own) - {"format", "version", "client", "rows"})
    )
    if not _text(own.get("client"), 80):
        yield t("codes_file.client_needed")
    rows = own.get("rows")
    if not isinstance(rows, list) or not rows:
        yield t("codes_file.rows_needed")
        return
    if len(rows) > MAX_ROWS:
        yield t("codes_file.too_many_rows", count=len(rows), most=MAX_ROWS)
        return
    standard = {row["code"] for row in shipped("observation_codes")["rows"]}
    seen: dict[str, int] = {}
    for place, row in enumerate(rows, 1):
        if not isinstance(row, dict):
            yield t("codes_file.row_object", place=place)
            continue
        code = row.get("code")
        where = (
            t("codes_file.row_of_code", place=place, code=code)
            if isinstance(code, str)
            else t("codes_file.row", place=place)
        )
        yield from (f"{where}: {fault}" for fault in _row(row))
        if not isinstance(code, str):
            continue
        if code in seen:
            yield t("codes_file.same_code", where=where, row=seen[code])
        seen.setdefault(code, place)
        if (code in standard) != (row.get("replaces") is True):
            yield (
                t("codes_file.replaces_standard", where=where)
                if code in standard
                else t("codes_file.replaces_nothing", where=where)
            )


def _row(row: dict[str, object]) -> Iterator[str]:
    yield from (t("codes_file.unknown_part", name=name) for name in sorted(set(row) - KNOWN))
    code = row.get("code")
    if not isinstance(code, str) or not CODE.fullmatch(code):
        yield t("codes_file.code_form")
    if "title" not in row:
        yield t("codes_file.title_needed")
    for name, most in TEXTS.items():
        if name in row and not _text(row[name], most):
            yield t("codes_file.text", name=name, most=most)
    yield from (
        t("codes_file.flag", name=name) for name in FLAGS if not isinstance(row.get(name, False), bool)
    )
    if row.get("group", "other") not in GROUPS:
        yield t("codes_file.group", groups=listed(GROUPS))
    if row.get("joint", "n/a") not in JOINTS:
        yield t("codes_file.joint", joints=listed(JOINTS))
    references = row.get("clock_references", 0)
    if isinstance(references, bool) or references not in (0, 1, 2):
        yield t("codes_file.clock_references")
    elif row.get("clock_needed") and not references:
        yield t("codes_file.clock_without_references")
    place = row.get("page_one", 1)
    if isinstance(place, bool) or not isinstance(place, int) or not 1 <= place <= MAX_ROWS:
        yield t("codes_file.page_one", most=MAX_ROWS)
    for name in LISTS:
        yield from (f"{name}: {fault}" for fault in _choices(row.get(name, [])))
        if row.get(f"{name}_needed") and not row.get(name):
            yield t("codes_file.needed_without_choices", name=name)
    for name in SIZES:
        yield from (f"{name}: {fault}" for fault in _size(row.get(name)))


def _choices(choices: Any) -> Iterator[str]:
    if not isinstance(choices, list):
        yield t("codes_file.choices_needed")
        return
    values = []
    for place, one in enumerate(choices, 1):
        value = one.get("value") if isinstance(one, dict) else None
        if not isinstance(value, str) or not LETTER.fullmatch(value) or not _text(one.get("label"), 80):
            yield t("codes_file.choice_needed", place=place)
        elif set(one) - CHOICE_KNOWN or not isinstance(one.get("remark", False), bool):
            yield t("codes_file.choice_unknown_part", place=place)
        elif one.get("side", "left") not in ("left", "right"):
            yield t("codes_file.choice_side", place=place)
        else:
            values.append(value)
    yield from (
        t("codes_file.choice_twice", value=value)
        for value in sorted({v for v in values if values.count(v) > 1})
    )


def _size(size: Any) -> Iterator[str]:
    if size is None:
        return
    if not isinstance(size, dict):
        yield t("codes_file.size_object")
        return
    yield from (t("codes_file.unknown_part", name=name) for name in sorted(set(size) - SIZE_KNOWN))
    if not _text(size.get("label"), 80) or not _text(size.get("unit"), 20):
        yield t("codes_file.size_needed")
    if not isinstance(size.get("note", ""), str) or not isinstance(size.get("needed", False), bool):
        yield t("codes_file.size_note")
    least, most, usual = size.get("least"), size.get("most"), size.get("usual", [])
    if ("least" in size) != ("most" in size):
        yield t("codes_file.limits_together")
    elif "least" in size and not (_number(least) and _number(most) and 0 <= least < most):
        yield t("codes_file.limits_order")
    if not isinstance(usual, list) or not all(_number(value) for value in usual):
        yield t("codes_file.usual")


def _text(value: Any, most: int) -> bool:
    return isinstance(value, str) and 0 < len(value.strip()) and len(value) <= most


def _number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 100_000
