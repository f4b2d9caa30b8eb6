"""One example of each kind of record, as the fields of its first entry.  Invented."""

JOB_ID = "0197a1b2-0000-7000-8000-000000000001"
RUN_ID = "0197a1b2-0000-7000-8000-000000000003"
NODE_ID = "0197a1b2-0000-7000-8000-000000000002"
WRITER, DEVICE = "example-writer", "Example phone"
RECORDED_AT = "2026-11-25T10:31:07.120+00:00"
PHOTO_SHA256 = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
INCLINATION = {"size": 80, "unit": "one_in", "sense": "falling", "typed": "1:80"}

FIELDS: dict[str, dict[str, object]] = {
    "job": {
        "title": "Foul drain behind the hall",
        "purpose": "operating",
        "surveyed_on": "2026-11-25",
        "weather": "dry",
    },
    "node": {"node_ref": "MH 1", "node_type": "manhole"},
    "run": {"run_ref": "R1", "start_node_id": NODE_ID, "direction": "with_flow", "counter_zero_m": 0.4},
    "stretch": {
        "run_id": RUN_ID,
        "from_counter_m": 0.4,
        "shape": "circular",
        "height_mm": 150,
        "size_known": "measured",
    },
    "reading": {"run_id": RUN_ID, "counter_m": 12.3, "inclination": INCLINATION},
    "observation": {
        "run_id": RUN_ID,
        "counter_m": 14.2,
        "code": "BBA",
        "characterisation_1": "B",
        "quantification_1": 10,
        "clock": {"hour_from": 10, "hour_to": 2},
    },
    "level_tie": {
        "run_id": RUN_ID,
        "counter_m": 0.4,
        "invert_level_m": 41.27,
        "sd_m": 0.01,
        "method": "levelled",
    },
    "check": {
        "check_type": "counter_tape",
        "taped_length_m": 10,
        "counter_from_m": 0,
        "counter_to_m": 10.05,
    },
    "photo": {
        "sha256": PHOTO_SHA256,
        "size_bytes": 4,
        "media_type": "image/jpeg",
        "run_id": RUN_ID,
        "counter_m": 14.2,
        "caption": "Roots through the joint",
    },
    "remark": {"run_id": RUN_ID, "counter_m": 3.0, "text": "Water stands from here on."},
}


def _ids() -> dict[str, str]:
    made = {kind: f"0197a1b2-0000-7000-8000-{number:012d}" for number, kind in enumerate(FIELDS, 1)}
    return made | {"job": JOB_ID, "node": NODE_ID, "run": RUN_ID}


RECORD_IDS = _ids()


def entry(kind: str, number: int) -> dict[str, object]:
    """Return the example of a kind as an entry."""
    return {
        "job_id": JOB_ID,
        "writer": WRITER,
        "number": number,
        "device_id": DEVICE,
        "record_id": RECORD_IDS[kind],
        "kind": kind,
        "fields": FIELDS[kind],
        "recorded_at": RECORDED_AT,
    }


def entries() -> list[dict[str, object]]:
    """Return a small whole job: one entry of each kind."""
    return [entry(kind, number) for number, kind in enumerate(FIELDS, 1)]


def records() -> list[dict[str, object]]:
    """Return the records of that job."""
    return [{"kind": kind, "id": RECORD_IDS[kind], "fields": FIELDS[kind]} for kind in sorted(FIELDS)]
