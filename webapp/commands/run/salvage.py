"""``fallbook salvage``."""

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from flask import Flask

from ... import app
from ...errors import AppError
from ...intake import handover
from ...intake.jobs import stored_job_file
from ...messages import listed, t
from ...store import access_rows, entry_rows, held_back_rows
from ...store.engine import database_url, reading
from ...store.user_folders import stated_folder
from ...upkeep import salvage
from ...web.state import state_of
from ..output import Progress, counted, now_and_then, refuse, say, show_json


def salvage_folder(folder: Path, files: bool, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Bring everything readable out of a damaged data folder."""
    source, target = stated_folder(data), folder.expanduser().resolve()
    _check(source, target)
    with Progress(quiet) as tell:
        found = salvage.look(source, now_and_then(tell))
        if not (found.entries or found.held_back or found.photos):
            raise AppError("salvage_nothing", f"({source})")
        making = target / "making" if files else target
        with _new_folder(making) as new:
            result = salvage.bring_out(found, new, now_and_then(tell))
            if files:
                _write_files(new, target)
                if result.hidden or result.hidden_photos:
                    result.notes.append(t("upkeep.salvage_hidden_files"))
        if files:
            shutil.rmtree(making)
        else:
            salvage.keep_certificates(source, target)
    _report(result, target, as_json, quiet)


def _check(source: Path, target: Path) -> None:
    if not source.is_dir():
        raise AppError("data_missing", f"({source})")
    if target.is_relative_to(source) or (target.is_dir() and any(target.iterdir())):
        raise AppError("salvage_place", f"({target})")


@contextmanager
def _new_folder(target: Path) -> Iterator[Flask]:
    """Return the application on a data folder that is made now, whatever database the settings name."""
    target.mkdir(mode=0o700, parents=True, exist_ok=True)
    own = {"DATA_FOLDER": target, "DATABASE_URL": database_url(None, target), "PHOTOS_URL": ""}
    with app.opened(own) as made, made.app_context():
        yield made


def _write_files(new: Flask, target: Path) -> None:
    """Write each job as the hand-over file that a phone makes; what is held back as it was stored."""
    held_back: list[object] = []
    with reading() as connection:
        jobs = entry_rows.job_ids(connection)
        for job_id in held_back_rows.held_back_jobs(connection):
            held_back += [json.loads(row["body"]) for row in held_back_rows.held_back(connection, job_id)]
        lines = access_rows.log(connection, 1 << 40)
    for job_id in jobs:
        with (target / f"{job_id}.fallbook.zip").open("xb") as out:
            handover.write(stored_job_file(job_id), state_of(new).photos.bytes_of, out, lambda n, of: None)
    for name, rows in (("held_back.json", held_back), ("audit.json", lines)):
        if rows:
            text = json.dumps(rows, indent=1, ensure_ascii=False)
            (target / name).write_text(f"{text}\n", encoding="utf-8", errors="backslashreplace")


def _report(result: salvage.Salvaged, target: Path, as_json: bool, quiet: bool) -> None:
    if as_json:
        show_json({"ok": not result.lost, **asdict(result)})
    elif not quiet:
        parts = ((result.jobs, "job"), (result.entries, "entry"), (result.photos, "photo"))
        say(listed(counted(*part) for part in parts))
        for line in result.notes:
            say(t("cli.note", text=line))
    refuse("salvage_incomplete", result.lost, "cli.missing", as_json)
    if not as_json and not quiet:
        say(t("cli.salvage.whole", folder=target))
