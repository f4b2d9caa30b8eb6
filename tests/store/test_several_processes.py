"""Several processes of one server on one data folder: nothing doubled, nothing lost, packs found."""

import hashlib
import json
import threading
import time
import urllib.request

import pytest
from server_process import ServerProcess
from servers import Server, entries, entry

from webapp.errors import AppError
from webapp.timesource import new_id

PIECE = 20_000


def ask(server, path, value=None, method=None, headers=None):
    data = value if isinstance(value, bytes) else json.dumps(value).encode() if value is not None else None
    headers = {"Content-Type": "application/json", **(headers or {})}
    request = urllib.request.Request(server.url + path, data, headers, method=method)
    with urllib.request.urlopen(request, timeout=60) as answer:
        body = answer.read()
        return json.loads(body) if answer.headers["Content-Type"] == "application/json" else body


def sync(server, sent):
    body = {"protocol": 1, "device_id": "x", "jobs": {}, "entries": sent}
    return ask(server, "/api/sync", body)["fates"]


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    folder = tmp_path_factory.mktemp("several") / "data"
    patch = pytest.MonkeyPatch()
    patch.setenv("FALLBOOK_SHARED", "1")
    both = [ServerProcess(folder, anew=True), ServerProcess(folder, anew=True)]
    starts = [threading.Thread(target=one.start) for one in both]  # at once: one migrates, the other waits
    for start in starts:
        start.start()
    for start in starts:
        start.join()
    patch.undo()
    yield both
    for one in both:
        one.kill()


def test_a_server_that_does_not_share_is_kept_out(pair):
    with pytest.raises(AppError) as caught:
        Server(pair[0].folder)
    assert caught.value.code == "folder_in_use"


def test_the_same_and_other_entries_at_both_at_once(pair):
    """Each batch goes to both processes at the same time, as it does when an answer is lost."""
    job_id, fates, lock = new_id(), [], threading.Lock()
    writers = ("writer-both", "writer-0-own", "writer-1-own")
    made = {one["writer"] + str(one["number"]): one for w in writers for one in entries(job_id, w, 1, 8)}

    def work(server, turn):
        for number in range(1, 9):
            for writer in (writers[0], writers[1 + turn % 2]):
                for _ in range(5):
                    try:
                        found = sync(server, [made[f"{writer}{number}"]])
                    except urllib.error.HTTPError as error:
                        with error:
                            assert json.load(error)["retry"] is True
                        continue
                    if found[0][1] != "not_taken":
                        break
                with lock:
                    fates.append(found[0][1])

    threads = [threading.Thread(target=work, args=(pair[n % 2], n)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert set(fates) == {"kept", "kept_already"} and len(fates) == 64
    held = [(e["writer"], e["number"]) for e in pair[0].entries(job_id)]
    assert len(held) == len(set(held)) == 24
    assert held == [(e["writer"], e["number"]) for e in pair[1].entries(job_id)]
    assert fates.count("kept") == 24, "each was new to exactly one process"


def test_a_photo_in_turns_at_both(pair):
    data = bytes(range(256)) * 400
    sha256 = hashlib.sha256(data).hexdigest()
    for turn, start in enumerate(range(0, len(data), PIECE)):
        headers = {"Upload-Offset": str(start), "Upload-Length": str(len(data)), "Content-Type": "image/png"}
        piece = data[start : start + PIECE]
        found = ask(pair[turn % 2], f"/api/photos/{sha256}", piece, method="PUT", headers=headers)
    assert found["complete"] is True
    for one in pair:
        assert ask(one, f"/media/photos/{sha256}") == data


def test_a_pack_made_by_one_is_watched_and_fetched_at_the_other(pair):
    job_id = new_id()
    title = entry(job_id, "writer-pack", 1, kind="job", fields={"title": "Shared"})
    sync(pair[0], [title, *entries(job_id, "writer-pack", 2, 3)])
    pack = ask(pair[0], f"/api/jobs/{job_id}/packs", {})
    end = time.monotonic() + 60
    while (state := ask(pair[1], f"/api/packs/{pack['pack_id']}"))["state"] in ("waiting", "making"):
        assert time.monotonic() < end, state
        time.sleep(0.1)
    assert state["state"] == "done", state
    assert ask(pair[1], f"/api/packs/{pack['pack_id']}/file")[:2] == b"PK"
