"""A long day at the server: phones, packs, hostile senders and kills, and what must hold through it.

    python3 tests/bench/soak.py [--minutes 30] [--phones 50] [--kills 3] [--seed 1]

A real server that asks for credentials, on SQLite in a folder of its own (or on what DATABASE_URL and
FALLBOOK_PHOTOS name). Phones record and sync every two seconds, five to a job. Two senders with valid
credentials send whatever costs most without a pause. A pack is made every minute. The server is killed and
started again so many times. Exits 1 where one of these does not hold:

    the server's memory at the end of each life is within 15 % of that after its first minute
    99 of 100 requests of the phones are answered within 1 s
    nothing that was acknowledged is missing or changed, entry by entry and photo by photo
    every hostile request is taken or told why, with a code
"""

import argparse
import contextlib
import hashlib
import json
import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from pack_memory import own_bytes
from server_process import ServerProcess
from soaking import Attackers, Line, SoakPhone, job_for

MB = 1024 * 1024
WARM_UP_S, WINDOW_S = 60.0, 30.0
MAX_GROWTH, MAX_P99_S, MAX_UNANSWERED = 1.15, 1.0, 0.01
PHONES_A_JOB = 5


class Soak:
    """The server and everybody at it."""

    def __init__(self, folder: Path, given):
        self.given, self.data, self.over = given, folder / "data", threading.Event()
        self.server = ServerProcess(self.data, more=("--quiet",), env={"FALLBOOK_ACCESS": "on"})
        self.server.start()
        self.office = self.credential("office")
        jobs = [job_for(self.server.url, self.office) for _ in range(-(-given.phones // PHONES_A_JOB))]
        self.phones = [
            SoakPhone(self.server.url, self.credential("surveyor"), n, jobs[n // PHONES_A_JOB], self.over)
            for n in range(given.phones)
        ]
        self.jobs = jobs
        self.attackers = Attackers(
            self.server.url, [self.credential("surveyor") for _ in range(given.hostile)]
        )
        self.lives: list[list[tuple[float, int]]] = [[]]  # of each, when and how much memory [bytes]
        self.packs = {"done": 0, "failed": 0, "cut": 0}

    def credential(self, role: str) -> str:
        """Return a new credential of the server, as its owner makes one."""
        self.made = getattr(self, "made", 0) + 1
        words = [
            "credential",
            "add",
            "--name",
            f"{role} {self.made}",
            "--role",
            role,
            "--data",
            str(self.data),
        ]
        done = subprocess.run([sys.executable, "-m", "webapp", *words], cwd=ROOT, text=True,
                              capture_output=True, check=True)  # fmt: skip
        return done.stdout.strip()

    def run(self) -> None:
        """Let everybody go on for so long; kill the server in between."""
        seconds, rng = self.given.minutes * 60, random.Random(self.given.seed)
        life_s = seconds / (self.given.kills + 1)
        self.attackers.start()
        for phone in self.phones:
            phone.start()
        packer = threading.Thread(target=self._pack, daemon=True)
        packer.start()
        for life in range(self.given.kills + 1):
            self._watch(life_s + (rng.uniform(-0.1, 0.1) * life_s if life < self.given.kills else 0))
            if life < self.given.kills:
                self.server.restart()
                self.lives.append([])
        self.told = self.attackers.end()
        self.over.set()
        for phone in self.phones:
            phone.join(120)
        packer.join(120)

    def _watch(self, seconds: float) -> None:
        begun_s = time.monotonic()
        while (passed_s := time.monotonic() - begun_s) < seconds:
            with contextlib.suppress(OSError):
                self.lives[-1].append((passed_s, own_bytes(self.server.process.pid)))
            time.sleep(0.5)

    def _pack(self) -> None:
        """Have a pack of some job made every minute."""
        line, number = Line(self.server.url, self.office), 0
        while not self.over.is_set():
            begun_s = time.monotonic()
            try:
                path = f"/api/jobs/{self.jobs[number % len(self.jobs)]}/packs"
                pack = json.loads(line.ask("POST", path, b"{}")[1])
                while pack["state"] in ("waiting", "making"):
                    time.sleep(0.5)
                    pack = json.loads(line.ask("GET", f"/api/packs/{pack['pack_id']}")[1])
                self.packs[pack["state"]] += 1
            except (OSError, ValueError, KeyError, ConnectionError):
                self.packs["cut"] += 1  # by a kill
            except Exception as error:  # http.client's own
                self.packs["cut"] += 1
                assert type(error).__module__ == "http.client", error
            number += 1
            self.over.wait(max(0.0, 60 - (time.monotonic() - begun_s)))

    def lost(self) -> list[str]:
        """Return what was acknowledged and is not there as it was sent."""
        found, line = [], Line(self.server.url, self.office)
        for job_id in self.jobs:
            held = {}
            have: dict[str, int] = {}
            more = True
            while more:
                body = {"protocol": 1, "device_id": "office", "entries": [], "jobs": {job_id: {"have": have}}}
                answer = json.loads(line.ask("POST", "/api/sync", json.dumps(body).encode())[1])
                for one in answer["entries"]:
                    have[one["writer"]] = one["number"]
                    held[one["writer"], one["number"]] = one
                more = answer["more"]
            for phone in self.phones:
                if phone.job_id == job_id:
                    found += [f"{phone.name}: entry {n}" for n, one in phone.acknowledged.items()
                              if held.get((phone.writer, n)) != one]  # fmt: skip
        for phone in self.phones:
            for name in phone.photos:
                status, data = line.ask("GET", f"/media/photos/{name}")
                if status != 200 or hashlib.sha256(data).hexdigest() != name:
                    found.append(f"{phone.name}: photo {name}")
        return found


def growth(life: list[tuple[float, int]]) -> float | None:
    """Return the memory at the end of a life by that after its warm-up; None where it was too short."""
    first = [held for s, held in life if WARM_UP_S <= s < WARM_UP_S + WINDOW_S]
    last = [held for s, held in life if s >= life[-1][0] - WINDOW_S]
    if not first or life[-1][0] < WARM_UP_S + 2 * WINDOW_S:
        return None
    return statistics.median(last) / statistics.median(first)


def report(soak: Soak) -> bool:
    """Print what came of it; say whether all of it held."""
    took_s = sorted(s for phone in soak.phones for s in phone.took_s)
    p99_s = took_s[int(len(took_s) * 0.99)]
    entries = sum(len(phone.acknowledged) for phone in soak.phones)
    photos = sum(len(phone.photos) for phone in soak.phones)
    cut = sum(phone.broken for phone in soak.phones)
    print(f"{len(soak.phones)} phones, {len(took_s):,} requests, {entries:,} entries, {photos:,} photos;"
          f" {cut} exchanges cut by {soak.given.kills} kills")  # fmt: skip
    print(f"answered after {statistics.median(took_s):.3f} s (median), {p99_s:.2f} s (99 of 100),"
          f" {took_s[-1]:.2f} s (longest); 99 of 100 at most {MAX_P99_S} s")  # fmt: skip
    held = [p99_s <= MAX_P99_S]
    for number, life in enumerate(soak.lives):
        ratio = growth(life)
        text = "too short to tell" if ratio is None else f"{ratio:.2f} times (at most {MAX_GROWTH})"
        print(f"life {number + 1}: {life[-1][1] / MB:.0f} MB at the end, {text}")
        held.append(ratio is None or ratio <= MAX_GROWTH)
    print("packs:", ", ".join(f"{count} {state}" for state, count in soak.packs.items()))
    held.append(soak.packs["done"] > 0 and not soak.packs["failed"])
    lost = soak.lost()
    print(f"{len(lost)} lost", *lost[:10])
    trouble = [f"{phone.name}: {phone.trouble!r}" for phone in soak.phones if phone.trouble]
    print(f"{len(trouble)} phones that could not go on", *trouble[:5])
    for code, count in soak.told.most_common():
        print(f"{count:7} {code}")
    faults = sum(count for code, count in soak.told.items() if code.startswith("fault"))
    unanswered = soak.told["no answer"] / max(1, sum(soak.told.values()))
    held += [not lost, not trouble, not faults, unanswered <= MAX_UNANSWERED]
    return all(held)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--minutes", type=float, default=30)
    parser.add_argument("--phones", type=int, default=50)
    parser.add_argument("--hostile", type=int, default=2)
    parser.add_argument("--kills", type=int, default=3)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    os.environ.pop("FALLBOOK_DATA", None)
    with tempfile.TemporaryDirectory(prefix="fallbook-soak-") as folder:
        soak = Soak(Path(folder), given)
        try:
            soak.run()
            good = report(soak)
        finally:
            soak.server.kill()
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
