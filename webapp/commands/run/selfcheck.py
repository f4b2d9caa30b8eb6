"""``fallbook selfcheck``."""

import json
import sys
from pathlib import Path
from typing import Any

from ... import paths
from ...errors import AppError
from ...messages import t
from ...selfcheck import reference
from ..output import note, one_line, say, show_json
from . import infile, selfcheck_coverage

SHIPPED = paths.TABLES / "reference_vectors.json"
MAX_BYTES = 100_000_000


def selfcheck(
    files: tuple[Path, ...], as_json: bool, coverage: bool, surveys: int, only: tuple[str, ...], jobs: int
) -> None:
    """Compute published reference values and compare."""
    if coverage:
        sys.exit(selfcheck_coverage.cover(surveys, only, jobs, as_json))
    rows: list[reference.Row] = []
    bad = 0
    for path in files or (SHIPPED,):
        try:
            vectors = _read(path)
        except AppError as error:
            bad += 1
            note(one_line(f"fallbook: {infile.shown(path)}: {error.sentence} [{error.code}]"))
            continue
        sound = []
        for place, vector in enumerate(vectors):
            fault = reference.fault_of(vector)
            if fault is None:
                sound.append(vector)
                continue
            bad += 1
            note(
                one_line(f"fallbook: {infile.shown(path)}: value {place + 1}: {fault} [reference_malformed]")
            )
        rows += reference.evaluate(sound)
    failed = sum(row.ok is False for row in rows)
    if as_json:
        show_json(_report(rows, bad))
    else:
        _print(rows)
    sys.exit(1 if failed else 2 if bad else 0)


def _read(path: Path) -> list[Any]:
    """Return the list that a file holds."""
    try:
        text = infile.read_bytes(path, MAX_BYTES).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise AppError("file_not_json") from None
    try:
        vectors = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise AppError("file_not_json") from None
    if not isinstance(vectors, list) or not vectors:
        raise AppError("reference_file_kind")
    return vectors


def _no_constant(name: str) -> None:
    raise ValueError(name)


def _counts(rows: list[reference.Row]) -> dict[str, int]:
    return {
        "met": sum(row.ok is True for row in rows),
        "failed": sum(row.ok is False for row in rows),
        "not_computed": sum(row.ok is None for row in rows),
    }


def _left_out(rows: list[reference.Row]) -> dict[str, int]:
    left: dict[str, int] = {}
    for row in rows:
        if row.ok is None:
            left[row.topic] = left.get(row.topic, 0) + 1
    return left


def _report(rows: list[reference.Row], bad: int) -> dict[str, object]:
    counts = _counts(rows)
    return {
        "ok": not counts["failed"] and not bad,
        **counts,
        "malformed": bad,
        "topics_not_computed": sorted(_left_out(rows)),
        "rows": [row.as_json() for row in rows],
    }


def _print(rows: list[reference.Row]) -> None:
    words = {
        True: t("cli.selfcheck.ok"),
        False: t("cli.selfcheck.failed"),
        None: t("cli.selfcheck.not_computed"),
    }
    for row in rows:
        say(f"{row.id}  {row.topic}  {words[row.ok]}{f'  [{row.error}]' if row.error else ''}")
        for key, expected in row.expected.items() if row.ok is not None else ():
            computed = t("cli.selfcheck.none") if row.computed is None else _short(row.computed[key])
            tolerance = row.tolerance.get(key, 0) if isinstance(row.tolerance, dict) else row.tolerance
            values = {"key": key, "computed": computed, "expected": _short(expected)}
            line = "cli.selfcheck.not_met" if key in row.failed else "cli.selfcheck.value"
            say(f"    {t(line, **values, tolerance=_short(tolerance))}")
        say(f"    {t('cli.selfcheck.source', source=_source(row.source))}")
    counts = _counts(rows)
    for topic, number in sorted(_left_out(rows).items()):
        say(t("cli.selfcheck.not_computed_topic", topic=topic, number=number))
    say(
        t(
            "cli.selfcheck.counts",
            met=counts["met"],
            failed=counts["failed"],
            not_computed=counts["not_computed"],
        )
    )


def _short(value: Any) -> str:
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {_short(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_short(v) for v in value) + "]"
    return f"{value:.12g}"


def _source(source: Any) -> str:
    if not isinstance(source, dict):
        return str(source) if source else t("cli.selfcheck.not_stated")
    parts = [source.get(key) for key in ("author", "year", "title", "where", "url", "confidence")]
    return ", ".join(str(part) for part in parts if part) or t("cli.selfcheck.not_stated")
