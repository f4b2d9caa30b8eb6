"""The shapes that several operations share."""

from typing import Any

from ...errors import ERRORS
from ...records.erasure import STATES, WHAT
from ...records.vectors import STAMP
from ...schemas.entry import KINDS
from ...schemas.wire import ENTRY_ID, definitions, job_file_schema
from ...sync.exchange import MAX_ENTRIES
from .parts import COUNT, FLAG, MAYBE, SHA256, TEXT, TRUE, UUID, Schema, array, mapping, obj, ref

_VECTOR = mapping(COUNT)
_STAMP = {"type": "string", "pattern": f"^{STAMP.pattern}$"}
_LISTS = obj("", others=_STAMP, photos=_STAMP)
_NAMES = {"identified": "EntryAsStored"}


def schemas() -> Schema:
    """Return them by name."""
    job_file = job_file_schema()
    for key in ("$schema", "$defs", "examples"):
        del job_file[key]
    parts = {_name(name): _with_components(schema) for name, schema in definitions().items()}
    mapped = {kind: f"#/components/schemas/{_name(f'{kind}_entry')}" for kind in KINDS}
    parts["Entry"]["discriminator"] = {"propertyName": "kind", "mapping": mapped}
    return {
        **parts,
        "JobFile": _with_components(job_file),
        "Error": _error(),
        "SyncRequest": _sync_request(),
        "SyncAnswer": _sync_answer(),
        "Pack": _pack(),
    }


def _error() -> Schema:
    one = obj(
        "*",
        code={"enum": sorted(ERRORS)},
        field=MAYBE | {"description": "The field, header or part that it is about."},
        index={"type": ["integer", "null"], "description": "Which one of a list, from 0."},
        message=TEXT | {"description": "For a person."},
    )
    return obj(
        "ok status retry errors",
        ok={"const": False},
        status=COUNT,
        retry=FLAG | {"description": "Whether it is worth trying again by itself."},
        errors=array(one, minItems=1),
        offset=COUNT | {"description": "With photo_offset_mismatch: where to go on."},
    )


def _sync_request() -> Schema:
    digest: Schema = {"type": "string", "pattern": "^[0-9a-f]{32}$"}
    requested = {
        "anyOf": [
            obj("have", have=_VECTOR),
            obj("digest", digest=digest),
            obj("since have", since=_STAMP, have=_VECTOR),
        ]
    }
    return obj(
        "protocol device_id",
        protocol={"const": 1},
        device_id={"type": "string", "minLength": 1, "maxLength": 80},
        jobs=mapping(requested) | {"propertyNames": UUID},
        entries=array(ref("Entry"), maxItems=MAX_ENTRIES),
        pull={"type": "integer", "minimum": 0, "maximum": MAX_ENTRIES, "default": MAX_ENTRIES},
        lists=_LISTS | {"description": "Stamps of the lists that the sender keeps."},
        photo_differences=FLAG | {"description": "Whether photos_wanted may be what changed in its list."},
        photo_remarks=FLAG
        | {"description": "Present where photo_remarks are taken; true where they were heard before."},
        erased=mapping(obj("", stamp=TEXT, acts=array(_act()), again=array(TEXT)))
        | {
            "description": "By job: the stamp of the erasures that the phone knows, those that the server "
            "forgot, and entries that it wants whole again."
        },
    )


def _act() -> Schema:
    spans = array({"type": "array", "items": COUNT, "minItems": 2, "maxItems": 2})
    return obj(
        "*",
        id=UUID,
        job_id=UUID,
        what={"enum": list(WHAT)},
        spans=mapping(spans) | {"description": "Writer to first and last numbers."},
        photos=array(SHA256),
        places=mapping({"type": "array", "minItems": 3, "maxItems": 3})
        | {"description": "Observation to run and counter (m, from and to): what was there is not known."},
        reason=TEXT,
        by=TEXT,
        at=TEXT,
        until={"type": "string", "format": "date"},
        state={"enum": list(STATES)},
        changed_at=TEXT,
        proof=TEXT | {"description": "Shows that this server made it."},
    )


def _sync_answer() -> Schema:
    refused = obj("refused", refused={"enum": ["access_job", "data_damaged"]})
    state = {
        "anyOf": [
            obj("have", have=_VECTOR, stamp=_STAMP),
            obj("same", same=TRUE, stamp=_STAMP),
            obj("since have stamp", since=_STAMP, have=_VECTOR, stamp=_STAMP),
            refused,
        ]
    }
    other = {
        "oneOf": [
            obj("*", job_id=UUID, title=TEXT, site=TEXT),
            obj("*", job_id=UUID, gone=TRUE),
        ]
    }
    outcome = {
        "type": "array",
        "minItems": 2,
        "maxItems": 4,
        "prefixItems": [
            {"type": "string", "pattern": f"^{ENTRY_ID}$"},
            {"enum": ["kept", "kept_already", "set_aside", "not_taken"]},
            {"enum": sorted(ERRORS)},
            mapping(array(TEXT)),
        ],
    }
    reason = obj("code", code=TEXT, reasons=mapping(array(TEXT)))
    told = obj("", acts=array(_act()), entries=array({"type": "object"}), aside=mapping(reason))
    return obj(
        "ok protocol jobs fates entries aside more max_entries limits",
        ok=TRUE,
        protocol={"const": 1},
        jobs=mapping(state),
        fates=array(outcome) | {"description": "One for each entry sent, in order."},
        entries=array({"anyOf": [ref("Entry"), ref("EntryAsStored")]}),
        aside=mapping(mapping(reason)),
        more=FLAG,
        photos_wanted=array(SHA256),
        photos_unwanted=array(SHA256) | {"description": "Told with photos_since: wanted no longer."},
        photos_since=_STAMP | {"description": "What these photos are a change to, if not all."},
        photo_remarks=array(obj("*", note=TEXT, photos=array(SHA256)))
        | {"description": "Why no report will show some photos: all, or with photos_since those touched."},
        others=array(other),
        others_since=_STAMP | {"description": "What these others replace, if not all."},
        lists=_LISTS,
        max_entries=COUNT | {"description": "How many entries this server takes and gives at once."},
        limits=TEXT | {"description": "Changes whenever a limit of this server does."},
        erased=mapping(told) | {"description": "What the phone does not know of each job's erasures."},
    )


def _pack() -> Schema:
    return obj(
        "*",
        ok=TRUE,
        pack_id=UUID,
        job_id=UUID,
        state={"enum": ["waiting", "making", "done", "failed"]},
        done=COUNT,
        total=COUNT,
        step=TEXT,
        message=TEXT,
        code={"type": ["string", "null"]},
    )


def _name(part: str) -> str:
    return _NAMES.get(part) or "".join(word.capitalize() for word in part.split("_"))


def _with_components(value: Any) -> Any:
    """Point references of the job file at the shared components."""
    if isinstance(value, dict):
        return {k: _target(v) if k == "$ref" else _with_components(v) for k, v in value.items()}
    return [_with_components(v) for v in value] if isinstance(value, list) else value


def _target(reference: str) -> str:
    return f"#/components/schemas/{_name(reference.removeprefix('#/$defs/'))}"
