"""manifest.json: what is in a pack, what is not, and what its reader must know."""

import json
from collections.abc import Mapping, Sequence

from ..report_model.contents import PackContents
from . import inspection_txt
from .archive import LeftOutPhoto, PackedFile
from .words import glossary, limits

FORMAT = "fallbook-pack"
VERSION = 1
FILENAME = "manifest.json"


def manifest(
    contents: PackContents, files: Sequence[PackedFile], left_out: Sequence[LeftOutPhoto]
) -> dict[str, object]:
    """Return the manifest."""
    erased = [{"entries": a.entries, "what": a.what, "why": a.why} for a in contents.erased]
    return {
        "format": FORMAT,
        "version": VERSION,
        "made_by": {"name": "Fallbook", "version": contents.app_version},
        "job_id": contents.job_id,
        "title": contents.title,
        "dated_at": contents.dated_at,
        "files": sorted((dict(f) for f in files), key=lambda f: str(f["name"])),
        "photos_left_out": [dict(p) for p in left_out],
        "conflicts": [
            {"where": c.where, "field": c.field, "shown": c.shown, "others": list(c.others)}
            for c in contents.conflicts
        ],
        "set_aside": [
            {"entry": a.entry, "kind": a.kind, "device": a.device, "reasons": list(a.reasons)}
            for a in contents.rejected
        ],
        **({"erased": erased} if erased else {}),
        "not_closed_on_site": [
            {
                "code": o.code,
                "severity": o.severity,
                "run": o.run_ref,
                "record_id": o.record_id,
                "about": o.about,
                "sentence": o.sentence,
            }
            for o in contents.not_closed.items
        ],
        "records_that_name_no_run": contents.strays,
        "records_removed": contents.removed,
        "not_carried": {inspection_txt.FILENAME: inspection_txt.not_carried(contents)},
        "limits": limits(contents),
        "how_known": {word: meaning for word, meaning in glossary(contents.words)},
    }


def dumps(value: Mapping[str, object]) -> bytes:
    """Return the bytes of a manifest."""
    text = json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False)
    return (text + "\n").encode("utf-8", "backslashreplace")
