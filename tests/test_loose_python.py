"""Python says what its values are: a mapping of anything only becomes rarer, room by room.

What has just been parsed and not yet been checked is a ``Mapping[str, object]``: nothing can be read from it
that was not looked at. ``[str, Any]`` stands where marshmallow or a template takes what it likes.
"""

import ast
import re
from collections import Counter
from pathlib import Path

from mypy_tool import mypy

ROOT = Path(__file__).resolve().parents[1]
LOOSE = re.compile(r"\[str, Any\]")

# By room of webapp, the most there may be. Lower a number when you have brought it down; a room that is not
# here has none.
MAX_LOOSE = {
    "api": 7,
    "app.py": 2,
    "assembly": 6,
    "commands": 7,
    "config.py": 5,
    "dates.py": 3,
    "exchange": 20,
    "figures": 4,
    "intake": 14,
    "job_pack.py": 2,
    "jobcheck": 5,
    "lan": 1,
    "messages.py": 2,
    "pack": 5,
    "pack_maker.py": 3,
    "records": 11,
    "schemas": 12,
    "selfcheck": 1,
    "server": 2,
    "store": 2,
    "survey": 35,
    "sync": 9,
    "tables": 5,
    "upkeep": 1,
    "web": 2,
}

PROBE = """
from webapp.api.office_aside import SetAside
from webapp.records.entry import Entry, JobFileJson, RecordJson, Rejection
from webapp.records.job_file import JobFile
from webapp.schemas.describe import FieldDescription
from webapp.store.rows import AuditRow, DeviceRow, EntryRow, HeldBackRow, InvitationRow, LinkRow, PhotoRow
from webapp.survey.coding.codes import check_observation
from webapp.survey.coding.visibility import Visibility
from webapp.survey.findings import RecordFinding
from webapp.survey.grading.prohibitions import Plan
from webapp.survey.records import ObservationFields


def right(entry: Entry, row: EntryRow, job: JobFile, plan: Plan) -> str | None:
    if "seen" in entry and entry["fields"].get("removed") is True:
        return row["aside"]
    return job.photos[0]["media_type"] if job.photos else plan["forbidden"][0]["values"]["label"]


def wrong_entries(entry: Entry, why: Rejection, record: RecordJson, made: JobFileJson, job: JobFile) -> None:
    entry["recordid"]  # red
    entry.get("sean")  # red
    why.get("reason")  # red
    record["filds"]  # red
    made["entrys"]  # red
    job.photos[0]["size"]  # red
    if entry["number"] == "1":  # red
        pass


def wrong_rows(row: EntryRow, held: HeldBackRow, photo: PhotoRow, aside: SetAside) -> None:
    row["recieved_at"]  # red
    held.get("reasonz")  # red
    photo["media_typ"]  # red
    aside["devise"]  # red
    photo["size_bytes"] = "9"  # red


def wrong_access(device: DeviceRow, code: InvitationRow, link: LinkRow, line: AuditRow) -> None:
    device["rol"]  # red
    code["used"]  # red
    link["job_id"] = None  # red
    line["detail"]["name"].upper()  # red


def wrong_descriptions(field: FieldDescription) -> None:
    field["lable"]  # red
    field["choices"][0]["text"]  # red


def wrong_findings(found: RecordFinding, seen: Visibility, plan: Plan, fields: ObservationFields) -> None:
    found["record"]  # red
    seen["clear"]  # red
    seen["parts"][0].get("depth")  # red
    plan["forbidden"][0]["values"]["lable"]  # red
    check_observation([], fields)[0]["colour"]  # red
    check_observation([], {"clok": None})  # red
"""


def loose(root):
    """How often a mapping of anything stands in each room."""
    found = Counter()
    for path in root.rglob("*.py"):
        room = path.relative_to(root).parts[0]
        found[room] += sum(len(LOOSE.findall(ast.unparse(one))) for one in annotated(path))
    return {room: count for room, count in found.items() if count}


def annotated(path):
    """The code of a module, without its comments."""
    return ast.parse(path.read_text(encoding="utf-8")).body


def test_a_mapping_of_anything_only_becomes_rarer():
    more = {room: n for room, n in loose(ROOT / "webapp").items() if n > MAX_LOOSE.get(room, 0)}
    assert more == {}, "make a TypedDict or a dataclass where the value is made"


def test_a_mapping_of_anything_is_counted(tmp_path):
    (tmp_path / "room").mkdir()
    (tmp_path / "room" / "a.py").write_text(
        "Row = dict[str, Any]\ndef f(a: Mapping[str, Any]) -> None: ...\n"
    )
    (tmp_path / "b.py").write_text("Row = dict[str, object]  # no dict[str, Any]\n")
    assert loose(tmp_path) == {"room": 2}


def test_mypy_sees_what_is_misspelt_in_entries_rows_and_findings(tmp_path, tmp_path_factory):
    probe = tmp_path / "entries_probe.py"
    probe.write_text(PROBE)
    words = mypy(tmp_path_factory, str(probe))[1]
    expected = {n for n, line in enumerate(PROBE.split("\n"), 1) if line.endswith("# red")}
    assert {int(n) for n in re.findall(r"probe\.py:(\d+): error", words)} == expected, words
