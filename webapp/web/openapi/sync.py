"""The exchange of entries, and the declination that a phone may ask for."""

from ... import config
from ...budgets import LIMITS
from ...schemas import examples
from ...sync.exchange import MAX_ENTRIES
from .parts import TRUE, Operation, answer, body, given, obj, ref

_REQUEST = {
    "protocol": 1,
    "device_id": examples.DEVICE,
    "jobs": {examples.JOB_ID: {"have": {}}},
    "entries": examples.entries(),
}
_ANSWER = {
    "ok": True,
    "protocol": 1,
    "jobs": {examples.JOB_ID: {"have": {examples.WRITER: 10, "another-writer": 1}}},
    "fates": [[f"{examples.WRITER}:{number}", "kept"] for number in range(1, 11)],
    "entries": [examples.entry("remark", 1) | {"writer": "another-writer"}],
    "aside": {},
    "more": False,
    "photos_wanted": [examples.PHOTO_SHA256],
    "others": [],
    "max_entries": MAX_ENTRIES,
    "limits": LIMITS,
}
_DECLINATION = {
    "ok": True,
    "declination_deg": -0.52,
    "sd_deg": 0.38,
    "model": "WMM-2025",
    "valid_from": "2025-01-01",
    "valid_to": "2029-12-31",
}
_NUMBER = {"type": "number"}
_DAY = {"type": "string", "format": "date"}
_FOUND = obj(
    "*",
    ok=TRUE,
    declination_deg=_NUMBER,
    sd_deg=_NUMBER,
    model={"type": "string"},
    valid_from=_DAY,
    valid_to=_DAY,
)

OPERATIONS = (
    Operation(
        "sync.sync",
        "post",
        "/api/sync",
        "sync",
        "Push and pull entries in one round trip.",
        {"200": answer("What was stored is on disk", ref("SyncAnswer"), _ANSWER)},
        "entries",
        "protocol_unknown too_many_entries too_many_jobs entry_malformed",
        body=body(
            ref("SyncRequest"),
            _REQUEST,
            f"At most {config.SYNC_BYTES:,} bytes, {config.SYNC_UNPACKED_BYTES:,} unpacked; may be gzip.",
        ),
    ),
    Operation(
        "declination.find",
        "get",
        "/api/declination",
        "declination",
        "Magnetic declination of a place on a day, degrees, east positive, by the World Magnetic Model.",
        {"200": answer("Found", _FOUND, _DECLINATION)},
        "entries",
        "declination_place declination_date",
        parameters=(
            given("query", "lat_deg", _NUMBER | {"minimum": -90, "maximum": 90}, 54),
            given("query", "lon_deg", _NUMBER | {"minimum": -180, "maximum": 180}, -2),
            given("query", "on", _DAY, "2026-11-25"),
        ),
    ),
)
