"""Days in the field with photos: every phone ends with knowing what the server wants.

The phones are those of the convergence machine: the app's own exchange against the real server.
"""

import hashlib
import random

import convergence_world
import pytest
from convergence_world import JOBS, World

from webapp.store import change_rows, erasure_rows, kept_rows, photo_rows
from webapp.store.engine import reading
from webapp.sync import wanted
from webapp.web.state import state_of

PHOTOS = [b"photo %d" % n for n in range(5)]
HASHES = [hashlib.sha256(photo).hexdigest() for photo in PHOTOS]
RECORDS = [f"01a1a070-0000-7000-9000-00000000001{n}" for n in range(4)]
NAMES = ("one", "two", "three")
WAYS = ["none"] * 6 + ["lost_request", "lost_answer", "twice", "crash", "late"]
PHONE_FAULTS = ("wanted_not_proved", "photos_sent_for_good", "remarks_not_heard")
SERVER_FAULTS = ("photos_not_noted", "photos_not_renamed", "files_not_looked_at", "remarks_not_kept")
RUNS, STEPS = 12, 45


class Days:
    def __init__(self, world, seed):
        self.world, self.rng = world, random.Random(seed)
        self.photos = state_of(world.server.app).photos
        world.put_back({})
        world.link.late.clear()
        for sha256 in HASHES:
            self.photos.place.path(sha256).unlink(missing_ok=True)
        world.ask("new")
        for name in NAMES:
            world.ask("phone", name=name, jobs=JOBS)
        self.saved = {}

    def play(self):
        for _ in range(STEPS):
            does = [self.record] * 4 + [self.sync] * 6 + [self.send] * 5 + [self.lose] * 2 + [self.erase]
            self.rng.choice([*does, self.save, self.restore, self.late, self.reopen])(self.rng.choice(NAMES))
        self.world.link.deliver_late()
        for turn in range(3):
            for name in NAMES:
                if turn == 0:
                    self.send(name)
                self.world.ask("sync", name=name, faults=[], size=1000)
        lacking = self.lacking()
        remarked = self.remarked()
        return all(
            set(self.world.ask("wanted", name=name)) == lacking
            and remarked <= set(self.world.ask("remarks", name=name))
            for name in NAMES
        )

    def record(self, name):
        fields = {"sha256": self.rng.choice(HASHES), "media_type": "image/jpeg", "size_bytes": 7}
        if self.rng.random() < 0.25:
            fields = {"removed": self.rng.random() < 0.7}
        what = {"job_id": self.rng.choice(JOBS), "record_id": self.rng.choice(RECORDS), "kind": "photo"}
        self.world.ask("write", name=name, **what, fields=fields, recorded_at="2026-11-30T00:00:00+00:00")

    def sync(self, name):
        faults = [self.rng.choice(WAYS) for _ in range(self.rng.randrange(3))]
        self.world.ask("sync", name=name, faults=faults, size=self.rng.choice([1, 3, 1000]))

    def send(self, name):
        asked = sorted(set(self.world.ask("wanted", name=name)) & set(HASHES))
        if asked:
            sha256 = self.rng.choice(asked)
            headers = {"Upload-Offset": "0", "Upload-Length": "7", "Content-Type": "image/jpeg"}
            photo = PHOTOS[HASHES.index(sha256)]
            answer = self.world.server.client.put(f"/api/photos/{sha256}", data=photo, headers=headers)
            if answer.status_code == 200:
                self.world.ask("photo_sent", name=name, sha256=sha256)

    def lose(self, _name):
        """A file is lost: no log tells of it."""
        self.photos.place.path(self.rng.choice(HASHES)).unlink(missing_ok=True)

    def erase(self, _name):
        job_id, record_id = self.rng.choice(JOBS), self.rng.choice(RECORDS)
        body = {"what": "record", "target": record_id, "reason": "on request", "days": 30}
        made = self.world.server.client.post(f"/api/jobs/{job_id}/erasures", json=body)
        if made.status_code == 201 and self.rng.random() < 0.7:
            self.world.office(f"/api/erasures/{made.json['id']}/undo", {})

    def save(self, _name):
        self.saved = self.world.rows()

    def restore(self, _name):
        self.world.put_back(self.saved)

    def late(self, _name):
        self.world.link.deliver_late()

    def reopen(self, name):
        self.world.ask("reopen", name=name)

    def remarked(self):
        """Return the photos that standing records name and that are here, for none of them is a picture."""
        with self.world.server.app.app_context(), reading() as connection:
            own = (kept_rows.kept(connection, job_id, "photo") for job_id in JOBS)
            named = set().union(*(wanted.photos_named(entries) for entries in own))
            return set(photo_rows.find_all(connection, named)) - erasure_rows.erased_photos(connection, named)

    def lacking(self):
        """Return the photos that standing records name and that are not here whole, from all there is."""
        with self.world.server.app.app_context(), reading() as connection:
            own = (kept_rows.kept(connection, job_id, "photo") for job_id in JOBS)
            named = set().union(*(wanted.photos_named(entries) for entries in own))
            rows = photo_rows.find_all(connection, named)
            here = {h for h, row in rows.items() if self.photos.is_whole(h, row["size_bytes"])}
            return named - here - erasure_rows.erased_photos(connection, named)


@pytest.fixture
def world(tmp_path, request, monkeypatch):
    planted = getattr(request, "param", "")
    monkeypatch.setattr(convergence_world, "PHONE_FAULTS", PHONE_FAULTS)
    one = World(tmp_path / "data", planted)
    yield one
    one.close()


def test_every_phone_knows_what_is_wanted(world):
    assert [seed for seed in range(RUNS) if not Days(world, seed).play()] == []


@pytest.mark.parametrize("world", PHONE_FAULTS, indirect=True)
def test_a_fault_planted_in_the_phone_is_found(world):
    assert not all(Days(world, seed).play() for seed in range(RUNS))


@pytest.mark.parametrize("fault", SERVER_FAULTS)
def test_a_fault_planted_in_the_server_is_found(world, fault, monkeypatch):
    if fault == "photos_not_noted":
        monkeypatch.setattr(change_rows, "note_photos", lambda *noted: None)
    elif fault == "remarks_not_kept":
        monkeypatch.setattr(photo_rows, "put_remarks", lambda *kept: None)
    elif fault == "photos_not_renamed":
        monkeypatch.setattr(wanted, "take_in", lambda *asked: set())
    else:
        monkeypatch.setattr(wanted.Wanted, "look_at_files", lambda *asked: None)
    assert not all(Days(world, seed).play() for seed in range(RUNS))
