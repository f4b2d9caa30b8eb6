"""Sync a job, record something, send a photo, fetch the pack: client.py SERVER JOB_ID PICTURE OUT.zip"""

import hashlib
import json
import os
import sys
import time
import urllib.request
import uuid
from datetime import UTC, datetime
from pathlib import Path

SERVER, JOB, PICTURE, OUT = sys.argv[1:]
TOKEN = os.environ["FALLBOOK_TOKEN"]  # fallbook credential add --role surveyor
DEVICE, WRITER = "example client", f"client-{uuid.uuid4().hex}"  # a writer of its own for every run


def ask(method, path, body=b"", kind="application/json", **headers):
    """Return the bytes of the answer; a refusal raises urllib.error.HTTPError."""
    headers |= {"Authorization": f"Bearer {TOKEN}", "Content-Type": kind}
    request = urllib.request.Request(SERVER.rstrip("/") + path, body or None, headers, method=method)
    with urllib.request.urlopen(request, timeout=60) as answer:
        return answer.read()


def sync(have, entries):
    """Send entries; return those that ``have`` lacks, and the photos that the server wants."""
    output = {"protocol": 1, "device_id": DEVICE, "entries": entries, "jobs": {JOB: {"have": have}}}
    answer = json.loads(ask("POST", "/api/sync", json.dumps(output).encode()))
    if lost := [outcome for outcome in answer["fates"] if not outcome[1].startswith("kept")]:
        sys.exit(f"The server did not take {lost}")
    for entry in answer["entries"]:
        have[entry["writer"]] = entry["number"]
    more = sync(have, [])[0] if answer["more"] else []
    return answer["entries"] + more, answer["photos_wanted"]


def entry(number, kind, **fields):
    """Return a new record as its first entry."""
    made = {"job_id": JOB, "writer": WRITER, "number": number, "device_id": DEVICE, "kind": kind}
    now, record_id = datetime.now(UTC).isoformat(), str(uuid.uuid4())
    return made | {"record_id": record_id, "fields": fields, "recorded_at": now}


have, photo = {}, Path(PICTURE).read_bytes()
known, _ = sync(have, [])
run = next(e["record_id"] for e in known if e["kind"] == "run")
name = hashlib.sha256(photo).hexdigest()
picture = entry(1, "photo", sha256=name, size_bytes=len(photo), media_type="image/jpeg", run_id=run)
_, wanted = sync(have, [picture, entry(2, "remark", run_id=run, text="Added by a script.")])
if name in wanted:  # a piece has at most 8 MB; more goes in several, each from its own offset
    size = {"Upload-Offset": "0", "Upload-Length": str(len(photo))}
    ask("PUT", f"/api/photos/{name}", photo, "image/jpeg", **size)
pack = json.loads(ask("POST", f"/api/jobs/{JOB}/packs", b"{}"))
while pack["state"] in ("waiting", "making"):
    time.sleep(0.5)
    pack = json.loads(ask("GET", f"/api/packs/{pack['pack_id']}"))
if pack["state"] != "done":
    sys.exit(pack["message"])
Path(OUT).write_bytes(ask("GET", f"/api/packs/{pack['pack_id']}/file"))
