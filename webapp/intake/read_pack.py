"""A pack read back: proved whole against its manifest, its job taken out again."""

import hashlib
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from ..errors import AppError
from ..pack import manifest as manifests
from ..records import job_file as jobfile
from .safe_zip import SafeZip

MAX_MANIFEST_BYTES = 50_000_000
MAX_JOB_FILE_BYTES = 500_000_000
MAX_NAMED = 5  # faults told in one sentence


def prove(path: Path) -> tuple[dict[str, Any], list[str]]:
    """Return the manifest of a pack and every way in which the pack differs from it."""
    with SafeZip(Path(path)) as archive:
        manifest = _manifest(archive)
        return manifest, list(_faults(archive, manifest))


def verify(path: Path) -> dict[str, Any]:
    """Return the manifest of a pack that is whole; AppError says what is wrong with another."""
    manifest, faults = prove(path)
    refuse(faults)
    return manifest


def refuse(faults: list[str]) -> None:
    """Raise AppError that names the first faults, if there are any."""
    if faults:
        more = f" and {len(faults) - MAX_NAMED} more faults" if len(faults) > MAX_NAMED else ""
        raise AppError("pack_mismatch", "; ".join(faults[:MAX_NAMED]) + more + ".")


def read_job(path: Path) -> tuple[dict[str, Any], Callable[[str], bytes | None]]:
    """Return the job file of a pack and a way to its photos, which is None where the pack lacks one."""
    with SafeZip(Path(path)) as archive:
        manifest = _manifest(archive)
        try:
            job = jobfile.loads(archive.read("job.json", MAX_JOB_FILE_BYTES))
        except ValueError as error:
            raise AppError("file_not_json") from error
    if not isinstance(job, dict):
        raise AppError("job_file_kind")
    names = {f["sha256"]: f for f in manifest["files"] if f["name"].startswith("photos/")}

    def photo_bytes(sha256: str) -> bytes | None:
        if sha256 not in names:
            return None
        with SafeZip(Path(path)) as again:
            return again.read(names[sha256]["name"], names[sha256]["size_bytes"])

    return job, photo_bytes


def _manifest(archive: SafeZip) -> dict[str, Any]:
    if manifests.FILENAME not in archive.names:
        raise AppError("pack_no_manifest")
    try:
        found: Any = json.loads(archive.read(manifests.FILENAME, MAX_MANIFEST_BYTES))
    except (ValueError, RecursionError) as error:
        raise AppError("pack_no_manifest", "Its manifest.json cannot be read.") from error
    if not isinstance(found, dict) or found.get("format") != manifests.FORMAT:
        raise AppError("pack_no_manifest", "Its manifest.json is of another kind.")
    version = found.get("version")
    if not isinstance(version, int) or version > manifests.VERSION:
        raise AppError("pack_mismatch", "It was made by a newer version of Fallbook.")
    files = found.get("files")
    if not isinstance(files, list) or not all(_is_row(f) for f in files):
        raise AppError("pack_no_manifest", "Its list of files is not sound.")
    return found


def _is_row(row: Any) -> bool:
    return (
        isinstance(row, dict)
        and isinstance(row.get("name"), str)
        and isinstance(row.get("sha256"), str)
        and type(row.get("size_bytes")) is int
        and row["size_bytes"] >= 0
    )


def _faults(archive: SafeZip, manifest: dict[str, Any]) -> Iterator[str]:
    stated = {f["name"]: f for f in manifest["files"]}
    present = set(archive.names) - {manifests.FILENAME}
    if len(stated) != len(manifest["files"]):
        yield "the manifest names a file twice"
    for name in sorted(set(stated) | {"job.json"}):
        if name not in stated:
            yield f"{name} is not in the manifest"
        elif name not in present:
            yield f"{name} is missing"
        elif fault := _fault(archive, stated[name]):
            yield fault
    for name in sorted(present - set(stated)):
        if name != "job.json":
            yield f"{name[:120]} does not belong to it"


def _fault(archive: SafeZip, row: dict[str, Any]) -> str | None:
    name = row["name"]
    if archive.size(name) != row["size_bytes"]:
        return f"{name} has another size"
    try:
        data = archive.read(name, row["size_bytes"])
    except AppError as error:
        if error.code != "zip_damaged":
            raise
        return f"{name} is damaged"
    return None if hashlib.sha256(data).hexdigest() == row["sha256"] else f"{name} differs"
