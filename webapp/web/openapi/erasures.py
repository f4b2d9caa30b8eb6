"""The eraser of the office."""

from ...erasing.acts import MAX_DAYS, MAX_REASON, UNDO_DAYS
from ...records.erasure import STATES, WHAT
from ...schemas.examples import JOB_ID
from .jobs import JOB_IN_PATH
from .parts import COUNT, MOMENT, NOTHING, TEXT, TRUE, UUID, Operation, answer, array, body, in_path, obj

_ID = "0197a1b2-0000-7000-8000-00000000000e"
_AT, _UNTIL = "2026-11-25T11:02:40.001+00:00", "2026-12-25"
_DAY = {"type": "string", "format": "date"}
_FLAG = {"type": "boolean"}
_WHAT = {"enum": list(WHAT)}
_STATE = {"enum": list(STATES)}
_TARGET = {
    "type": "string",
    "description": "writer:number of an entry, a record's id, a photo's SHA-256, a writer; empty: the job.",
}
_REASON = {"type": "string", "minLength": 3, "maxLength": MAX_REASON}
_DAYS = {"type": "integer", "minimum": 0, "maximum": MAX_DAYS, "default": UNDO_DAYS}
_PREVIEW = obj(
    "*",
    ok=TRUE,
    entries=COUNT,
    records={"type": "object", "additionalProperties": COUNT},
    named=array(TEXT),
    photos=array(TEXT),
    photos_elsewhere=array(TEXT),
    runs=array(TEXT),
    pointing=COUNT,
)
_DONE = obj("*", ok=TRUE, id=UUID, state=_STATE, until=_DAY, entries=COUNT, cleared=_FLAG)
_ROW = obj(
    "*",
    id=UUID,
    job_id=UUID,
    what=_WHAT,
    reason=TEXT,
    by=TEXT,
    at=MOMENT,
    until=_DAY,
    state=_STATE,
    changed_at=MOMENT,
    entries=COUNT,
    photos=COUNT,
    undo=_FLAG,
    later=COUNT,
)
_DONE_EXAMPLE = {
    "ok": True,
    "id": _ID,
    "state": "quarantined",
    "until": _UNTIL,
    "entries": 3,
    "cleared": True,
}
_ROW_EXAMPLE = {
    "id": _ID,
    "job_id": JOB_ID,
    "what": "record",
    "reason": "Wrong site",
    "by": "Office 1",
    "at": _AT,
    "until": _UNTIL,
    "state": "quarantined",
    "changed_at": _AT,
    "entries": 3,
    "photos": 1,
    "undo": True,
    "later": 0,
}
_WANTED = {"what": "record", "target": _ID}
_ONE = (in_path("erasure_id", UUID, _ID),)

OPERATIONS = (
    Operation(
        "erasing.preview",
        "post",
        "/api/jobs/{job_id}/erasures/preview",
        "previewErasure",
        "What an erasure would take; nothing is changed.",
        {
            "200": answer(
                "What would go",
                _PREVIEW,
                {
                    "ok": True,
                    "entries": 3,
                    "records": {"observation": 1},
                    "named": ["Observation BAB Crack or break, at 12.05 m, Run F1"],
                    "photos": [],
                    "photos_elsewhere": [],
                    "runs": ["F1"],
                    "pointing": 0,
                },
            )
        },
        "jobs",
        "erasure_nothing",
        in_path=JOB_IN_PATH,
        body=body(obj("what", what=_WHAT, target=_TARGET), _WANTED),
    ),
    Operation(
        "erasing.erase",
        "post",
        "/api/jobs/{job_id}/erasures",
        "erase",
        "Hide an entry, a record, a photo, a writer or a job from everybody until a day, then expunge it.",
        {"201": answer("Hidden; or with 0 days expunged", _DONE, _DONE_EXAMPLE)},
        "jobs",
        "erasure_nothing",
        in_path=JOB_IN_PATH,
        body=body(
            obj("what reason", what=_WHAT, target=_TARGET, reason=_REASON, days=_DAYS),
            _WANTED | {"reason": "Wrong site", "days": 30},
        ),
    ),
    Operation(
        "erasing.erasures",
        "get",
        "/api/erasures",
        "erasures",
        "Every erasure, newest first. later: entries that came after the whole job was erased.",
        {
            "200": answer(
                "All of them",
                obj("*", ok=TRUE, erasures=array(_ROW)),
                {"ok": True, "erasures": [_ROW_EXAMPLE]},
            )
        },
        "jobs",
    ),
    Operation(
        "erasing.undo",
        "post",
        "/api/erasures/{erasure_id}/undo",
        "undoErasure",
        "Put back what an erasure hid, to the byte, until its day.",
        {"200": answer("Back", _DONE, _DONE_EXAMPLE | {"state": "undone"})},
        "jobs",
        "erasure_unknown erasure_over",
        in_path=_ONE,
        body=NOTHING,
    ),
    Operation(
        "erasing.expunge",
        "post",
        "/api/erasures/{erasure_id}/expunge",
        "expungeErasure",
        "Leave nothing of what an erasure hid but that it was there. Backups are not reached.",
        {"200": answer("Gone", _DONE, _DONE_EXAMPLE | {"state": "expunged"})},
        "jobs",
        "erasure_unknown erasure_over",
        in_path=_ONE,
        body=NOTHING,
    ),
)
