"""What an earlier version left behind, put where today's version finds it."""

import json
import shutil
import sqlite3
from pathlib import Path

HERE = Path(__file__).resolve().parent
VERSION = HERE / "2026_11"
MADE = json.loads((VERSION / "made.json").read_text(encoding="utf-8"))
PHONE = json.loads((VERSION / "phone.json").read_text(encoding="utf-8"))


def script(name):
    """Return a function in JavaScript, for a page."""
    return (HERE / f"{name}.js").read_text(encoding="utf-8").partition("async (")[2].join(("async (", ""))


def data_folder(folder):
    """Make the data folder as it lay there; return its path."""
    folder.mkdir(mode=0o700)
    database = sqlite3.connect(folder / "fallbook.sqlite")
    database.executescript((VERSION / "data.sql").read_text(encoding="utf-8"))
    database.close()
    shutil.copytree(VERSION / "photos", folder / "photos")
    return folder


def rows(folder):
    """Return every row of every table of a data folder, as a dict by column."""
    database = sqlite3.connect(folder / "fallbook.sqlite")
    database.row_factory = sqlite3.Row
    tables = [
        name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    ]
    found = {name: [dict(row) for row in database.execute(f'SELECT * FROM "{name}"')] for name in tables}
    database.close()
    return found


def holds(now, then):
    """Say where ``now`` lacks something that ``then`` had; what is new is no fault."""
    if isinstance(then, dict) and isinstance(now, dict):
        lacking = [f".{key} is gone" for key in then if key not in now]
        return lacking + [f".{key}{one}" for key in then if key in now for one in holds(now[key], then[key])]
    if isinstance(then, list) and isinstance(now, list) and len(now) == len(then):
        return [f"[{n}]{one}" for n in range(len(then)) for one in holds(now[n], then[n])]
    return [] if now == then else [f": {now!r}, was {then!r}"]
