"""The OpenAPI description of the API, made from the schemas that check what comes in."""

from importlib.metadata import PackageNotFoundError, version
from typing import Any

from . import config
from .errors import ERRORS
from .openapi_access import paths as access_paths
from .schemas.wire import entry_schema, identified_schema, job_file_schema
from .sync.exchange import MOST_ENTRIES
from .sync.photos import MOST_BYTES, MOST_TOGETHER

Schema = dict[str, Any]
_UUID: Schema = {"type": "string", "format": "uuid"}
_TEXT: Schema = {"type": "string"}
_COUNT: Schema = {"type": "integer", "minimum": 0}
ENTRY_NAMES = {"entry": "Entry", "identified": "EntryAsStored"}
_SHA256: Schema = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_VECTOR: Schema = {"type": "object", "additionalProperties": _COUNT}


def _object(required: str = "", **properties: Schema) -> Schema:
    found: Schema = {"type": "object", "properties": properties}
    return found | {"required": required.split()} if required else found


def _list(items: Schema, **more: Any) -> Schema:
    return {"type": "array", "items": items, **more}


def _map(values: Schema) -> Schema:
    return {"type": "object", "additionalProperties": values}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/components/schemas/{name}"}


def _json(schema: Schema) -> Schema:
    return {"content": {"application/json": {"schema": schema}}}


def _reply(description: str, schema: Schema | None = None, **more: Any) -> Schema:
    return {"description": description, **(_json(schema) if schema else {}), **more}


def _operation(name: str, summary: str, replies: dict[str, Schema], **more: Any) -> Schema:
    return {
        "operationId": name,
        "summary": summary,
        "responses": {**replies, "default": _reply("Refused", _ref("Error"))},
        **more,
    }


def _parameter(name: str, schema: Schema, where: str = "path") -> Schema:
    return {"name": name, "in": where, "required": True, "schema": schema}


def document() -> dict[str, Any]:
    """Return the description."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Fallbook",
            "version": _version(),
            "summary": "Sync of survey entries and photos; job files; job packs.",
        },
        "paths": _sync_paths()
        | _photo_paths()
        | _job_paths()
        | _pack_paths()
        | _other_paths()
        | access_paths(),
        "components": {"schemas": _schemas()},
    }


def _paths() -> Schema:
    return _sync_paths() | _photo_paths() | _job_paths() | _pack_paths() | _other_paths()


def _version() -> str:
    try:
        return version("fallbook")
    except PackageNotFoundError:
        return "0"


def _sync_paths() -> Schema:
    body = {"required": True, **_json(_ref("SyncRequest"))}
    body["description"] = (
        f"At most {config.SYNC_BYTES:,} bytes, {config.SYNC_UNPACKED_BYTES:,} unpacked; may be gzip."
    )
    operation = _operation(
        "sync",
        "Push and pull entries in one round trip.",
        {"200": _reply("What was stored is on disk", _ref("SyncAnswer"))},
        requestBody=body,
    )
    return {"/api/sync": {"post": operation}}


def _photo_paths() -> Schema:
    number = {"schema": _COUNT}
    upload = _operation(
        "putPhotoPiece",
        f"Take a piece of a photo of at most {MOST_BYTES:,} bytes.",
        {"200": _reply("Taken", _object("ok offset complete", ok={}, offset=_COUNT, complete={}))},
        parameters=[
            _parameter("Upload-Offset", _COUNT, "header"),
            _parameter("Upload-Length", _COUNT, "header"),
        ],
        requestBody={"required": True, "content": {"*/*": {"schema": {}}}},
    )
    ask = _operation(
        "photoOffset",
        "Where does an upload go on?",
        {"200": _reply("So far", headers={"Upload-Offset": number, "Upload-Complete": {"schema": _TEXT}})},
    )
    give = _operation("photo", "A photo's bytes.", {"200": _reply("The bytes"), "304": _reply("Unchanged")})
    named = [_parameter("sha256", _SHA256)]
    return {
        "/api/photos": {"put": _photos_together()},
        "/api/photos/{sha256}": {"parameters": named, "head": ask, "put": upload},
        "/media/photos/{sha256}": {"parameters": named, "get": give},
    }


def _photos_together() -> Schema:
    """Describe several whole photos in one request."""
    one = _object(
        "sha256 offset complete",
        sha256=_SHA256,
        offset=_COUNT,
        complete={"type": "boolean"},
        code={"enum": sorted(ERRORS)},
        message=_TEXT,
    )
    part = '"[0-9a-f]{64}";length=[1-9][0-9]{0,6};type="image/[a-z]{3,4}"'
    said = {"type": "string", "pattern": f"^{part}(, {part}){{0,{MOST_TOGETHER - 1}}}$"}
    return _operation(
        "putPhotosTogether",
        f"Take up to {MOST_TOGETHER} whole photos, one behind the other in a body of at most "
        f"{config.PHOTO_PIECE_BYTES:,} bytes. The header is a list of such parts with commas between.",
        {"200": _reply("What became of each, in order", _object("ok photos", ok={}, photos=_list(one)))},
        parameters=[_parameter("Upload-Parts", said, "header")],
        requestBody={"required": True, "content": {"application/octet-stream": {"schema": {}}}},
    )


def _job_paths() -> Schema:
    row = _object("job_id title site removed", job_id=_UUID, title=_TEXT, site=_TEXT, removed={})
    jobs = _operation("jobs", "All jobs.", {"200": _reply("The jobs", _object("jobs", jobs=_list(row)))})
    job = _operation("job", "One job as a job file.", {"200": _reply("The job", _ref("JobFile"))})
    counted = "kept kept_already set_aside not_taken photos photos_missing"
    counts = {name: _COUNT for name in counted.split()}
    taken = _object("ok job_id", ok={}, job_id=_UUID, **counts, report=_list(_TEXT))
    binary: Schema = {"schema": {}}
    take = _operation(
        "importJob",
        f"Take a job file, a pack or an exchange file, at most {config.IMPORT_BYTES:,} bytes.",
        {"200": _reply("Taken", taken)},
        requestBody={
            "required": True,
            "content": {
                "application/json": {"schema": _ref("JobFile")},
                "application/zip": binary,
                "application/octet-stream": binary,
            },
        },
    )
    return {
        "/api/jobs": {"get": jobs},
        "/api/jobs/{job_id}": {"parameters": [_parameter("job_id", _UUID)], "get": job},
        "/api/import": {"post": take},
    }


def _pack_paths() -> Schema:
    named = [_parameter("pack_id", _UUID)]
    start = _operation(
        "makePack",
        "Start to make a pack.",
        {"202": _reply("In the queue", _ref("Pack"))},
        requestBody=_json(_object()),
    )
    watch = _operation("pack", "How far is it?", {"200": _reply("So far", _ref("Pack"))})
    fetch = _operation(
        "packFile",
        "The finished pack.",
        {"200": {"description": "The zip", "content": {"application/zip": {}}}},
    )
    return {
        "/api/jobs/{job_id}/packs": {"parameters": [_parameter("job_id", _UUID)], "post": start},
        "/api/packs/{pack_id}": {"parameters": named, "get": watch},
        "/api/packs/{pack_id}/file": {"parameters": named, "get": fetch},
    }


def _other_paths() -> Schema:
    alive = _object("ok service release", ok={}, service=_TEXT, release=_TEXT)
    number: Schema = {"type": "number"}
    day: Schema = {"type": "string", "format": "date"}
    found = _object(
        "ok declination_deg sd_deg model valid_from valid_to",
        ok={"const": True},
        declination_deg=number,
        sd_deg=number,
        model=_TEXT,
        valid_from=day,
        valid_to=day,
    )
    declination = _operation(
        "declination",
        "Magnetic declination of a place on a day, degrees, east positive, by the World Magnetic Model.",
        {"200": _reply("Found", found)},
        parameters=[
            _parameter("lat_deg", number | {"minimum": -90, "maximum": 90}, "query"),
            _parameter("lon_deg", number | {"minimum": -180, "maximum": 180}, "query"),
            _parameter("on", day, "query"),
        ],
    )
    return {
        "/api/declination": {"get": declination},
        "/healthz": {"get": _operation("health", "Is the server alive?", {"200": _reply("Yes", alive)})},
        "/api/openapi.json": {
            "get": _operation("openapi", "This description.", {"200": _reply("OpenAPI", _object())})
        },
    }


def _schemas() -> Schema:
    job_file = job_file_schema()
    parts = job_file.pop("$defs")
    kinds = {f"fields_{name}": schema for name, schema in parts.items() if name not in ENTRY_NAMES}
    job_file.pop("$schema")
    reason = _object("code", code=_TEXT, reasons=_map(_list(_TEXT)))
    refused = _object("refused", refused={"const": "access_job"})
    state = {"oneOf": [_object("have", have=_VECTOR), _object("same", same={"const": True}), refused]}
    asked = {
        "oneOf": [_object("have", have=_VECTOR), _object("digest", digest={"pattern": "^[0-9a-f]{32}$"})]
    }
    one = _object(
        "code field index message",
        code={"enum": sorted(ERRORS)},
        field={"type": ["string", "null"]},
        index={"type": ["integer", "null"]},
        message=_TEXT,
    )
    other = _object("job_id title site", job_id=_UUID, title=_TEXT, site=_TEXT)
    return {
        **kinds,
        "Entry": entry_schema(),
        "EntryAsStored": identified_schema(),
        "JobFile": _with_components(job_file),
        "Error": _object(
            "ok status retry errors",
            ok={"const": False},
            status=_COUNT,
            retry={"type": "boolean"},
            errors=_list(one, minItems=1),
            offset=_COUNT,
        ),
        "SyncRequest": _object(
            "protocol device_id",
            protocol={"const": 1},
            device_id={"type": "string", "minLength": 1, "maxLength": 80},
            jobs=_map(asked),
            entries=_list(_ref("Entry"), maxItems=MOST_ENTRIES),
            pull={"type": "integer", "minimum": 0, "maximum": MOST_ENTRIES},
        ),
        "SyncAnswer": _object(
            "ok protocol jobs fates entries aside more photos_wanted others",
            ok={"const": True},
            protocol={"const": 1},
            jobs=_map(state),
            fates=_list(_list({}, minItems=2, maxItems=4)),
            entries=_list(_ref("EntryAsStored")),
            aside=_map(_map(reason)),
            more={"type": "boolean"},
            photos_wanted=_list(_SHA256),
            others=_list(other),
        ),
        "Pack": _object(
            "pack_id job_id state done total step message",
            pack_id=_UUID,
            job_id=_UUID,
            state={"enum": ["waiting", "making", "done", "failed"]},
            done=_COUNT,
            total=_COUNT,
            step=_TEXT,
            message=_TEXT,
            code={"type": ["string", "null"]},
        ),
    }


def _with_components(value: Any) -> Any:
    """Point the job file's own references at the shared components."""
    if isinstance(value, dict):
        return {k: _target(v) if k == "$ref" else _with_components(v) for k, v in value.items()}
    return [_with_components(v) for v in value] if isinstance(value, list) else value


def _target(reference: str) -> str:
    name = reference.removeprefix("#/$defs/")
    return f"#/components/schemas/{ENTRY_NAMES.get(name, f'fields_{name}')}"
