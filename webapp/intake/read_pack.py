"""A pack read back: proved whole against its manifest, its job taken out again."""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import clauses, t
from ..pack import manifest_json
from .safe_zip import SafeZip

MAX_MANIFEST_BYTES = BUDGETS.manifest_bytes
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
        named, more = clauses(faults[:MAX_NAMED]), len(faults) - MAX_NAMED
        sentence = (
            t("file.pack_faults_more", n=more, faults=named)
            if more > 0
            else t("file.pack_faults", faults=named)
        )
        raise AppError("pack_mismatch", sentence)


def _manifest(archive: SafeZip) -> dict[str, Any]:
    if manifest_json.FILENAME not in archive.names:
        raise AppError("pack_no_manifest")
    try:
        found: Any = json.loads(archive.read(manifest_json.FILENAME, MAX_MANIFEST_BYTES))
    except (ValueError, RecursionError) as error:
        raise AppError("pack_no_manifest", t("file.pack_unreadable")) from error
    if not isinstance(found, dict) or found.get("format") != manifest_json.FORMAT:
        raise AppError("pack_no_manifest", t("file.pack_other_kind"))
    version = found.get("version")
    if not isinstance(version, int) or version > manifest_json.VERSION:
        raise AppError("pack_mismatch", t("file.pack_newer"))
    files = found.get("files")
    if not isinstance(files, list) or not all(_is_row(f) for f in files):
        raise AppError("pack_no_manifest", t("file.pack_list"))
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
    present = set(archive.names) - {manifest_json.FILENAME}
    if len(stated) != len(manifest["files"]):
        yield t("file.pack_name_twice")
    for name in sorted(set(stated) | {"job.json"}):
        if name not in stated:
            yield t("file.pack_unlisted", name=name)
        elif name not in present:
            yield t("file.pack_missing", name=name)
        elif fault := _fault(archive, stated[name]):
            yield fault
    for name in sorted(present - set(stated)):
        if name != "job.json":
            yield t("file.pack_stray", name=name[:120])


def _fault(archive: SafeZip, row: dict[str, Any]) -> str | None:
    name = row["name"]
    if archive.size(name) != row["size_bytes"]:
        return t("file.pack_other_size", name=name)
    try:
        data = archive.read(name, row["size_bytes"])
    except AppError as error:
        if error.code != "zip_damaged":
            raise
        return t("file.pack_damaged", name=name)
    return None if hashlib.sha256(data).hexdigest() == row["sha256"] else t("file.pack_differs", name=name)
