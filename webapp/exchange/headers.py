"""The table of header codes, change codes and columns, looked up by code."""

import functools
from typing import Any

from .. import tables
from ..survey.table_types.site import ExchangeChange, ExchangeHeader

SHAPE, MATERIAL, UNIT_LENGTH = "AEC", "AED", "AEF"  # changes on the way that start a new stretch
STRETCH_CHANGES = {SHAPE: ("ACA", "ACB", "ACC"), MATERIAL: ("ACD",), UNIT_LENGTH: ("ACG",)}
CHANGE_PLACES = {SHAPE: ("B", "D", "E"), MATERIAL: ("B",), UNIT_LENGTH: ("D",)}


@functools.cache
def rows() -> dict[str, ExchangeHeader]:
    """Return the header codes in the order in which they are written."""
    return {row["code"]: row for row in tables.load("exchange_headers")["rows"]}


@functools.cache
def changes() -> dict[str, ExchangeChange]:
    """Return the codes for changes on the way."""
    return {row["code"]: row for row in tables.load("exchange_headers")["changes"]}


@functools.cache
def known_columns() -> frozenset[str]:
    """Return the letters of the columns."""
    return frozenset(row["code"] for row in tables.load("exchange_headers")["columns"])


def title(code: str) -> str:
    """Return what a header code means, in plain words; empty for an unknown one."""
    return str(rows()[code]["title"]) if code in rows() else ""


def is_mapped(code: str) -> bool:
    """Say whether a code is read into and written from a field."""
    return code in rows() and rows()[code]["use"] == "mapped"


@functools.cache
def letters_of(code: str) -> dict[str, str]:
    """Return which letter of the format stands for each of our values."""
    row = rows()[code]
    if "values_table" in row:
        listed = tables.load(row["values_table"])["rows"]
        return {r["value"]: r["code"] for r in listed if r["code"]}
    return {v["value"]: v["letter"] for v in row.get("values", ()) if v["value"] is not None}


def has_list(code: str) -> bool:
    """Say whether the values of a code are letters from a list."""
    return bool(letters_of(code))


def letter(code: str, value: Any) -> str:
    """Return the letter of one of our values; empty if there is none."""
    return letters_of(code).get(value, "")


def value_of(code: str, given: str) -> str | None:
    """Return our value of a letter, None if we have none."""
    return next((ours for ours, sign in letters_of(code).items() if sign == given), None)


def words_of(code: str, given: str) -> str:
    """Return the plain words of a letter as far as the table has them."""
    row = rows().get(code)
    if row is None:
        return ""
    if "values_table" in row:
        listed = tables.load(row["values_table"])["rows"]
        return next((str(r["label"]) for r in listed if r["code"] == given), "")
    return next((str(v["title"]) for v in row.get("values", ()) if v["letter"] == given), "")
