"""``fallbook grading-limits``."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ... import tables
from ...messages import t
from ...tables import grading_file
from ..output import counted, refuse, say, show_json
from . import infile


def grading_limits(file: Path | None, as_json: bool) -> None:
    """Print the limits of classes, or check a firm's own."""
    if file is None:
        show_json(tables.load("grading_limits"))
        return
    with infile.as_file(file) as path:
        scheme = grading_file.parse(path)
    faults = grading_file.check(scheme)
    notes = [] if faults else list(_notes(scheme))
    if as_json:
        show_json({"ok": not faults, "faults": faults, "notes": notes})
    refuse("grading_limits_faulty", faults, "cli.faulty", as_json)
    if as_json:
        return
    codes = {row["code"] for row in scheme["rows"]}
    say(
        t(
            "cli.limits.rows",
            name=scheme["name"],
            rows=counted(len(scheme["rows"]), "row"),
            codes=counted(len(codes), "code"),
        )
    )
    for line in notes:
        say(t("cli.note", text=line))
    say(t("cli.limits.usable"))


def _notes(scheme: dict[str, Any]) -> Iterator[str]:
    codes = {row["code"] for row in scheme["rows"]}
    own = {row["code"] for row in tables.shipped("observation_codes")["rows"]}
    for code in sorted(codes - own):
        yield t("cli.limits.own_code", code=code)
    for code in sorted({row["code"] for row in tables.shipped("grading_limits")["rows"]} - codes):
        yield t("cli.limits.unsaid", code=code)
