"""``fallbook codes``."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ... import tables
from ...errors import AppError
from ...messages import messages, t
from ...survey.coding import code_search, codes, written_form
from ...survey.review import plausibility
from ...survey.table_types.codes import ObservationCodes
from ...tables import codes_file
from ..output import counted, refuse, say, show_json
from . import infile

MAX_FOUND = 5


def observation_codes(file: Path | None, words: str | None, written: str | None, as_json: bool) -> None:
    """List the observation codes, or check a client's own."""
    table = (
        tables.load("observation_codes")
        if file is None
        else _checked(file, as_json, words is None and written is None)
    )
    if written is not None:
        _read(table, written, as_json)
        return
    if words is not None:
        rows = code_search.search_codes(table, words, MAX_FOUND)
    else:
        rows = list(table["rows"]) if file is None else []
    if as_json and (file is None or words is not None):
        show_json(rows)
    elif not as_json:
        for row in rows:
            client = row.get("client") if words is None and row["group"] != "change" else None
            whose = f"  [{client}]" if client else ""
            say(f"{row['code'] or '-':8} {row['title']}{whose}")


def _checked(file: Path, as_json: bool, report: bool) -> ObservationCodes:
    """Return the code table with a sound file in it; the faults of another are told."""
    with infile.as_file(file) as path:
        own = codes_file.parse(path)
    faults = codes_file.check(own)
    notes = [] if faults else list(_notes(own))
    if as_json and report:
        show_json({"ok": not faults, "faults": faults, "notes": notes})
    refuse("codes_faulty", faults, "cli.faulty", as_json)
    if not as_json:
        say(f"{own['client']}: {counted(len(own['rows']), 'code')}.")
        for line in notes:
            say(t("cli.note", text=line))
        say(t("cli.codes.usable"))
    return codes_file.merged(tables.shipped("observation_codes"), own)


def _notes(own: dict[str, Any]) -> Iterator[str]:
    for row in own["rows"]:
        if row.get("replaces"):
            yield t("cli.codes.replaces", code=row["code"])
    for row in own["rows"]:
        if not row.get("search_words"):
            yield t("cli.codes.no_search_words", code=row["code"])


def _read(table: ObservationCodes, written: str, as_json: bool) -> None:
    """Say what a written observation means."""
    rows, sentences = table["rows"], tables.load("findings")["rows"]
    found = written_form.read_code(rows, written)
    faults = [plausibility.sentence(messages(), sentences, one) for one in found["faults"]]
    notes = [
        plausibility.sentence(messages(), sentences, one)
        for one in codes.check_observation(rows, found["fields"])
    ]
    if as_json:
        show_json({"ok": not faults, "fields": found["fields"], "faults": faults, "notes": notes})
    else:
        for name, value in found["fields"].items():
            row = codes.find_code(rows, str(value)) if name == "code" else None
            title = f" ({row['title']})" if row else ""
            parts = [f"{k} {v}" for k, v in value.items()] if isinstance(value, dict) else [value]
            say(f"{name}: {', '.join(map(str, parts))}{title}")
        for words in (
            *(t("cli.codes.unreadable", what=f) for f in faults),
            *(t("cli.note", text=n) for n in notes),
        ):
            say(words)
    if faults:
        raise AppError("written_unreadable", t("cli.parts_above", n=len(faults)))
