"""``fallbook sample list``, ``show`` and ``copy``."""

import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from ... import paths
from ...errors import AppError
from ...messages import listed, t
from ...records import job_file
from ..output import counted, say, show_json, table

HELD = ("run", "reading", "observation", "photo")


def folders() -> dict[str, Path]:
    """Return the folders of the sample jobs by their names."""
    return {p.parent.name: p.parent for p in sorted(paths.SAMPLE_JOBS.glob("*/job.json"))}


def _folder(name: str) -> Path:
    found = folders()
    if name not in found:
        raise AppError("sample_unknown", t("cli.sample.there_are", names=listed(found)))
    return found[name]


def list_(as_json: bool) -> None:
    """List the sample jobs."""
    found = [_about(name, folder) for name, folder in folders().items()]
    if as_json:
        show_json(found)
        return
    for row in found:
        say(f"{row['name']:24} {row['title']}")


def show(name: str, as_json: bool) -> None:
    """Say what a sample job holds."""
    found = _about(name, _folder(name))
    if as_json:
        show_json(found)
        return
    say(found["title"])
    say(listed(counted(found["counts"][kind], kind) for kind in HELD))
    for line in table(
        tuple(t(f"cli.heading.{name}") for name in ("run", "readings", "observations")),
        [[str(v) for v in row.values()] for row in found["runs"]],
        right=(1, 2),
    ):
        say(line)


def copy(name: str, out: Path | None, quiet: bool) -> None:
    """Write a sample job out with its photos."""
    write(name, out, quiet)


def earlier(name: str | None, out: Path | None, list_only: bool) -> None:
    """fallbook sample copy."""
    if list_only or name is None:
        for one, folder in folders().items():
            say(f"{one:24} {_about(one, folder)['title']}")
        return
    write(name, out, quiet=False)


def write(name: str, out: Path | None, quiet: bool) -> None:
    """Copy a sample job into a folder, whole or not at all."""
    source, target = _folder(name), out or Path(name)
    try:
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise AppError("destination_exists", t("cli.sample.not_empty", target=target))
        if target.exists():
            _fill(source, target)
        else:
            _make(source, Path(os.path.realpath(target)))
    except shutil.Error as error:
        raise AppError(
            "output_unwritable", t("cli.sample.not_empty_2", target=target, args=error.args[0][0][2])
        ) from error
    except OSError as error:
        raise AppError("output_unwritable", f"({error.strerror}: {target})") from error
    if not quiet:
        say(f"{target / 'job.json'}")


def _fill(source: Path, target: Path) -> None:
    try:
        shutil.copytree(source, target, dirs_exist_ok=True)
    except BaseException:
        for path in target.iterdir():  # it was empty
            shutil.rmtree(path) if path.is_dir() else path.unlink()
        raise


def _make(source: Path, target: Path) -> None:
    """Copy beside and give it its name when it is whole."""
    target.parent.mkdir(parents=True, exist_ok=True)
    scratch = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        shutil.copytree(source, scratch / "whole")
        os.rename(scratch / "whole", target)
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def _about(name: str, folder: Path) -> dict[str, Any]:
    records = [r for r in job_file.read((folder / "job.json").read_bytes()).records if not r.removed]
    titles = [str(r.fields.get("title") or "") for r in records if r.kind == "job"]
    of_run = [(r.fields.get("run_id"), r.kind) for r in records]
    return {
        "name": name,
        "title": "".join(titles),
        "counts": {kind: sum(r.kind == kind for r in records) for kind in HELD},
        "runs": [
            {
                "run_ref": str(r.fields.get("run_ref") or ""),
                "readings": of_run.count((r.id, "reading")),
                "observations": of_run.count((r.id, "observation")),
            }
            for r in records
            if r.kind == "run"
        ],
    }
