"""All checks of a job file, one after another."""

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any

from ..errors import AppError
from ..messages import t
from ..records import job_file
from ..records.job_file import PhotoBytes
from ..records.json_text import loads_counted
from .faults import FAULT, Fault, fault, pointer
from .form import check_parts, check_photo_list, check_records
from .journal import check_entries
from .pictures import check_photos
from .places import lines_of
from .relations import check_relations

Value = Mapping[str, object]
Doubled = list[tuple[dict[str, Any], list[str]]]


def check_text(data: bytes, photo_bytes: PhotoBytes, *, carried: bool) -> tuple[dict[str, Any], list[Fault]]:
    """Return a job file and all its faults, with their lines; AppError if it is no job file at all."""
    doubled: Doubled = []

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(items)
        if len(found) != len(items):
            names = [name for name, _ in items]
            doubled.append((found, sorted({name for name in names if names.count(name) > 1})))
        return found

    try:
        value = loads_counted(data, pairs)
    except ValueError as error:
        raise AppError("file_not_json", f"({_why(error)})") from error
    job_file.check_kind(value)
    try:
        faults = [*_doubled(value, doubled), *check_job(value, photo_bytes, carried=carried)]
    except RecursionError as error:
        raise AppError("job_file_invalid", t("jobcheck.nested_too_deeply")) from error
    if not faults:
        return value, []
    lines = lines_of(data.decode("utf-8-sig"), (one.pointer for one in faults))
    placed = [dataclasses.replace(one, line=lines[one.pointer]) for one in faults]
    return value, sorted(placed, key=lambda one: (one.line, one.pointer))


def unsound_records(value: Value) -> list[Fault]:
    """Return what makes the records of a job file unsound; its photos are not looked at."""
    found = [*check_records(value), *check_relations(value, set())]
    return [one for one in found if one.severity == FAULT]


def check_job(value: Value, photo_bytes: PhotoBytes, *, carried: bool) -> list[Fault]:
    """Return all faults of a job file that has been read."""
    found = [*check_parts(value), *check_records(value), *check_photo_list(value), *check_entries(value)]
    refused = {one.record_id for one in found if one.code == "value_refused"}
    found += check_relations(value, refused)
    found += check_photos(value, photo_bytes, carried=carried)
    if not any(one.severity == FAULT for one in found):
        found += _as_taken(value)
    return found


def _as_taken(value: Value) -> Iterator[Fault]:
    """Whatever keeps the file from being taken is a fault, also one that no check above knows."""
    try:
        job_file.check(value)
    except AppError as error:
        place = (
            []
            if error.field is None
            else ["records", error.index]
            if error.index is not None
            else [error.field]
        )
        yield Fault(error.code, pointer(*place), error.sentence)


def _doubled(value: Any, doubled: Doubled, place: str = "") -> Iterator[Fault]:
    """Find where the objects are in which a name stands twice."""
    if not doubled:
        return
    if isinstance(value, dict):
        for names in (names for found, names in doubled if found is value):
            for name in names:
                yield fault("key_twice", f"{place}{pointer(name)}", name=name)
        for name, one in value.items():
            yield from _doubled(one, doubled, f"{place}{pointer(name)}")
    elif isinstance(value, list):
        for index, one in enumerate(value):
            yield from _doubled(one, doubled, f"{place}/{index}")


def _why(error: ValueError) -> str:
    if (line := getattr(error, "lineno", None)) is not None:
        return t("jobcheck.json_at", line=line, column=error.colno, why=error.msg)  # type: ignore[attr-defined]
    if isinstance(error, UnicodeDecodeError):
        return t("jobcheck.not_utf8", byte=error.start)
    return str(error)
