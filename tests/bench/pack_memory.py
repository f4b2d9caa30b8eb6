"""What making a pack costs: the memory of the process that makes it, and of the server before and after.

    python3 tests/bench/pack_memory.py [--packs 20] [--runs 320] [--readings 100000]

A real server with its usual budgets. First so many packs of a sample job one after another: the server's
memory after the last must be within 15 % of that after the second. Then a job of many runs and one of a very
long run: each must be made, in less than 1,024 MB. Exits 1 where one of these does not hold.
"""

import argparse
import json
import os
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import growth_jobs
from server_process import ServerProcess

from webapp.web.process_memory import resident_bytes

MB = 1024 * 1024
GROWN = 1.15
MAX_MB = 1024  # below the usual budget, for another machine and another job


def asked(server, path, data=None, kind="application/json"):
    """Return the JSON that a request brings."""
    request = urllib.request.Request(f"{server.url}{path}", data, {"Content-Type": kind} if data else {})
    with urllib.request.urlopen(request, timeout=600) as answer:
        return json.load(answer)


def own_bytes(pid):
    """What the server alone holds."""
    return int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1]) * os.sysconf("SC_PAGE_SIZE")


def made(server, job_id):
    """Make a pack; return its state, how long it took [s] and the peak of its maker [MB]."""
    begun, peak = time.monotonic(), 0
    pack_id = asked(server, f"/api/jobs/{job_id}/packs", b"{}")["pack_id"]
    while True:
        held, own = resident_bytes(server.process.pid) or 0, own_bytes(server.process.pid)
        peak = max(peak, held - own)
        state = asked(server, f"/api/packs/{pack_id}")
        if state["state"] in ("done", "failed"):
            return state, time.monotonic() - begun, peak / MB
        time.sleep(0.05)


def flat(server, count):
    """Make packs of a sample job; say whether the server's memory stayed."""
    job = (ROOT / "sample_jobs" / "school_foul_drain" / "job.json").read_bytes()
    job_id = asked(server, "/api/import", job)["job_id"]
    held = []
    for _ in range(count):
        state, took_s, peak_mb = made(server, job_id)
        assert state["state"] == "done", state
        held.append(own_bytes(server.process.pid) / MB)
    print(f"{count} packs of a sample: the server held {held[1]:.0f} MB after the second, {held[-1]:.0f} MB"
          f" after the last; the last took {took_s:.1f} s, its process {peak_mb:.0f} MB")  # fmt: skip
    return held[-1] <= held[1] * GROWN


def large(server, name, job):
    """Make the pack of a large job; say whether it is made within the budget."""
    job_id = asked(server, "/api/import", json.dumps(job).encode())["job_id"]
    state, took_s, peak_mb = made(server, job_id)
    own_mb = own_bytes(server.process.pid) / MB
    print(f"{name}: {state['state']} {state['message']} in {took_s:.0f} s, its process held {peak_mb:.0f} MB,"
          f" the server {own_mb:.0f} MB")  # fmt: skip
    return state["state"] == "done" and peak_mb < MAX_MB


def main():
    """Measure, print, and tell whether it held."""
    options = argparse.ArgumentParser()
    options.add_argument("--packs", type=int, default=20)
    options.add_argument("--runs", type=int, default=320)
    options.add_argument("--readings", type=int, default=100_000)
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory(prefix="fallbook-bench-") as folder:
        server = ServerProcess(Path(folder) / "data").start()
        try:
            held = [flat(server, chosen.packs)] if chosen.packs else []
            if chosen.runs:
                job = growth_jobs.many_runs(chosen.runs)
                held.append(large(server, f"{chosen.runs:,} runs of 40 readings", job))
            if chosen.readings:
                job = growth_jobs.job(chosen.readings)
                held.append(large(server, f"a run of {chosen.readings:,} readings", job))
        finally:
            server.kill()
    return 0 if all(held) else 1


if __name__ == "__main__":
    sys.exit(main())
