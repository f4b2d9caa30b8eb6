"""The client that the guide leads to: it works against a real server."""

import json
import os
import re
import subprocess
import sys
import urllib.request
import zipfile
from pathlib import Path

import pytest
from access_kit import picture

ROOT = Path(__file__).resolve().parent.parent.parent
CLIENT = ROOT / "tests" / "examples" / "client.py"
SAMPLE = ROOT / "sample_jobs" / "school_foul_drain"
COMMAND = [sys.executable, "-c", "from webapp.cli import main; main()"]


def fallbook(*words):
    done = subprocess.run(
        [*COMMAND, *map(str, words)], cwd=ROOT, capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture
def sample(live_server):
    """The id of the sample job, which a real server has."""
    body = (SAMPLE / "job.json").read_bytes()
    kind = {"Content-Type": "application/json"}
    requested = urllib.request.Request(f"{live_server.url}/api/import", body, kind, method="POST")
    with urllib.request.urlopen(requested, timeout=60) as answer:
        return json.load(answer)["job_id"]


def run_client(live_server, job_id, folder, role):
    """Run the client with a credential of a role; return how it ended."""
    words = ("--data", live_server.folder, "--name", "Example", "--role", role, "--job", job_id)
    token = fallbook("credential", "add", *words).strip()
    (folder / "picture.jpg").write_bytes(picture(70))
    words = [live_server.url, job_id, folder / "picture.jpg", folder / "out.zip"]
    env = {"FALLBOOK_TOKEN": token, "PATH": os.environ["PATH"]}
    command = [sys.executable, "-I", str(CLIENT), *map(str, words)]  # -I: the standard library alone
    return subprocess.run(command, env=env, capture_output=True, text=True, check=False, timeout=300)


def test_the_client_works_from_sync_to_pack(live_server, sample, tmp_path):
    done = run_client(live_server, sample, tmp_path, "surveyor")
    assert (done.returncode, done.stderr) == (0, "")
    fallbook("verify", tmp_path / "out.zip")
    with zipfile.ZipFile(tmp_path / "out.zip") as pack:
        job = json.loads(pack.read("job.json"))
        photos = [name for name in pack.namelist() if name.startswith("photos/")]
    mine = [e for e in job["entries"] if e["device_id"] == "example client"]
    assert [e["kind"] for e in mine] == ["photo", "remark"] and job["aside"] == {}
    assert any(mine[0]["fields"]["sha256"] in name for name in photos)
    # A second run is a writer of its own: it adds, and doubles nothing of the first.
    assert run_client(live_server, sample, tmp_path, "surveyor").returncode == 0
    writers = [e["writer"] for e in live_server.entries(sample) if e["device_id"] == "example client"]
    assert len(writers) == 4 and len(set(writers)) == 2


def test_a_credential_that_only_reads_changes_nothing(live_server, sample, tmp_path):
    before = live_server.entries(sample)
    done = run_client(live_server, sample, tmp_path, "reader")
    assert done.returncode != 0 and "403" in done.stderr
    assert live_server.entries(sample) == before and not (tmp_path / "out.zip").exists()


def test_the_guide_leads_to_the_client():
    guide = ROOT / "webapp" / "sync" / "README.md"
    link = re.search(r"\((\S+client\.py)\)", guide.read_text(encoding="utf-8"))[1]
    assert (guide.parent / link).resolve() == CLIENT.resolve()
    assert len(CLIENT.read_text(encoding="utf-8").splitlines()) <= 60
