"""Whole jobs in and out, and job packs."""

from ... import config
from ...schemas import examples
from ...schemas.wire import job_file_example
from .parts import (
    COUNT,
    FILE,
    FLAG,
    MAYBE,
    NOTHING,
    TEXT,
    TRUE,
    UUID,
    Operation,
    Schema,
    answer,
    array,
    file,
    in_path,
    obj,
    ref,
)

JOB_IN_PATH = (in_path("job_id", UUID, examples.JOB_ID),)
_PACK_ID = "0197a1b2-0000-7000-8000-00000000000a"
_PACK_IN_PATH = (in_path("pack_id", UUID, _PACK_ID),)
_ROW = obj(
    "job_id title site removed last_received_at",
    job_id=UUID,
    title=TEXT,
    site=TEXT,
    removed=FLAG,
    last_received_at=MAYBE,
    damaged=TRUE | {"description": "This job cannot be read whole; the title is the one last known."},
)
_ROW_EXAMPLE = {
    "job_id": examples.JOB_ID,
    "title": "Foul drain behind the hall",
    "site": "",
    "removed": False,
    "last_received_at": "2026-11-25T11:02:40.001+00:00",
}
_COUNTS = {name: COUNT for name in "kept kept_already set_aside not_taken photos photos_missing".split()}
_TAKEN = obj("ok job_id kept photos photos_missing", ok=TRUE, job_id=MAYBE, **_COUNTS, report=array(TEXT))
_TAKEN_EXAMPLE = {
    "ok": True,
    "job_id": examples.JOB_ID,
    "photos": 0,
    "photos_missing": 1,
    "kept": 10,
    "kept_already": 0,
    "set_aside": 0,
    "not_taken": 0,
}
_FILES = (
    "file_kind file_unreadable file_not_json job_file_kind job_file_newer job_file_invalid "
    "job_file_inconsistent job_file_differs exchange_unreadable exchange_empty exchange_too_large "
    "zip_unsafe_name zip_damaged zip_too_large pack_no_manifest pack_mismatch "
    "photo_hash_mismatch photo_store_down"
)


def _pack(state: str, done: int, step: str) -> Schema:
    return {
        "ok": True,
        "pack_id": _PACK_ID,
        "job_id": examples.JOB_ID,
        "state": state,
        "done": done,
        "total": 9,
        "step": step,
        "message": "",
        "code": None,
    }


OPERATIONS = (
    Operation(
        "jobs.jobs",
        "get",
        "/api/jobs",
        "jobs",
        "The jobs that the sender may see.",
        {
            "200": answer(
                "By title, removed ones last",
                obj("*", ok=TRUE, jobs=array(_ROW)),
                {"ok": True, "jobs": [_ROW_EXAMPLE]},
            )
        },
        "jobs",
    ),
    Operation(
        "jobs.job",
        "get",
        "/api/jobs/{job_id}",
        "job",
        "One job as a job file.",
        {"200": answer("The job", ref("JobFile"), job_file_example())},
        "jobs",
        in_path=JOB_IN_PATH,
    ),
    Operation(
        "jobs.proof",
        "get",
        "/api/jobs/{job_id}/proof",
        "proveJob",
        "Which entries of a job are here: each is read and its hash compared there and then.",
        {
            "200": answer(
                "None is damaged or missing; `digest` is that of the vector, as in `POST /api/sync`",
                obj("ok entries digest", ok=TRUE, entries=COUNT, digest=TEXT),
                {"ok": True, "entries": 12, "digest": "f6a214f7a5fcda0c2cee9660b7fc29f5"},
            )
        },
        "jobs",
        in_path=JOB_IN_PATH,
    ),
    Operation(
        "imports.take",
        "post",
        "/api/import",
        "importJob",
        f"Take a job or pack, what a phone saved or an exchange file; at most {config.IMPORT_BYTES:,} bytes.",
        {"200": answer("Taken", _TAKEN, _TAKEN_EXAMPLE)},
        "jobs",
        f"media_type body_too_large {_FILES}",
        body={
            "required": True,
            "content": {
                "application/json": {"schema": ref("JobFile"), "example": job_file_example()},
                "application/zip": {},
                "application/octet-stream": {},
            },
        },
        reads_json=False,
    ),
    Operation(
        "packs.make",
        "post",
        "/api/jobs/{job_id}/packs",
        "makePack",
        "Start to make a pack.",
        {
            "202": answer(
                "In the queue",
                ref("Pack"),
                _pack("waiting", 0, "Waiting"),
                headers={"Location": {"description": "Where to watch it", "schema": TEXT}},
            )
        },
        "jobs",
        "media_type",
        in_path=JOB_IN_PATH,
        body=NOTHING,
        reads_json=False,
    ),
    Operation(
        "packs.watch",
        "get",
        "/api/packs/{pack_id}",
        "pack",
        "How far is a pack?",
        {"200": answer("So far", ref("Pack"), _pack("done", 9, "Done"))},
        "jobs",
        in_path=_PACK_IN_PATH,
    ),
    Operation(
        "packs.fetch",
        "get",
        "/api/packs/{pack_id}/file",
        "packFile",
        "The finished pack.",
        FILE | {"200": file("The zip", "application/zip")},
        "jobs",
        in_path=_PACK_IN_PATH,
    ),
)
