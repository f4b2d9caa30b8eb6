"""A sender with a good credential that sends whatever costs most: 30 s of it may take 100 MB and stop nobody.

    python3 tests/bench/hostile.py [--seconds 30] [--seed 1]

Exit 1 where it took more, a request took over 5 s, an answer had not the one shape of errors, or
an honest phone between the requests was not served.
"""

import argparse
import gzip
import json
import random
import sys
import tempfile
import time
import tracemalloc
from collections import Counter
from pathlib import Path

import bench_paths  # noqa: F401  puts the tests and the checkout on the path

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from servers import Server, entries, entry

from webapp.budgets import BUDGETS
from webapp.timesource import new_id

MAX_MB, MAX_S = 100, 5.0
ODD = ["__proto__", "constructor", "", "\0", "\ud800", "\ufffe", "x" * 5000, "toString"]


def bodies(rng):
    """Return bodies for the exchange that are more, or other, than they should be; each packed and not."""
    job_id, whole = new_id(), {"protocol": 1, "device_id": "x"}
    texts = [
        json.dumps(whole | {"entries": [entry(job_id, "writer-aaaa", 1, fields={"text": "x" * size})]})
        for size in (70_000, 1_000_000, 20_000_000)
    ]
    for name in ODD:
        texts.append(json.dumps(whole | {"entries": [entry(job_id, name, 1)]}))
        texts.append(
            json.dumps(whole | {"entries": [entry(job_id, "writer-bbbb", 1, fields={name: name})] * 50})
        )
    texts.append(json.dumps(whole | {"entries": [entry(job_id, "writer-cccc", 1)] * 6000}))
    texts.append(json.dumps(whole | {"jobs": {new_id(): {"have": {}} for _ in range(40_000)}}))
    for count in (100_000, 300_000):
        have = {f"writer-{n:07}": 1 for n in range(count)}
        texts.append(json.dumps(whole | {"jobs": {job_id: {"have": have}}}))
    for count in (1000, 1_000_000, 8_000_000):
        texts += [
            "[" * count,
            "[" + "{}," * count + "1]",
            '"' + '\\"' * count,
            "[" + '{"a":0},' * count + "1]",
        ]
    texts.append(rng.randbytes(100_000).decode("latin-1"))
    found = []
    for text in texts:
        data = text.encode("utf-8", "surrogatepass")
        found.append(gzip.compress(data, 6))
        if len(data) < BUDGETS.request_bytes + 100:
            found.append(data)
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=30)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    rng, told, worst_s = random.Random(given.seed), Counter(), 0.0
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder) / "data")
        job_id = new_id()
        server.fates(entries(job_id, "honest-phone", 1, 2000))
        server.pull(job_id)
        made = bodies(rng)  # first: making them takes memory too
        tracemalloc.start()
        end_s, number = time.monotonic() + given.seconds, 2000
        while time.monotonic() < end_s:
            body = rng.choice(made)
            headers = {"Content-Encoding": "gzip"} if body[:2] == b"\x1f\x8b" else {}
            begun_s = time.monotonic()
            answer = server.client.post(
                "/api/sync", data=body, headers=headers, content_type="application/json"
            )
            worst_s = max(worst_s, time.monotonic() - begun_s)
            if answer.status_code == 200:
                told["taken"] += 1
            else:
                told[answer.json["errors"][0]["code"]] += 1
            number += 1
            (outcome,) = server.fates([entry(job_id, "honest-phone", number)])
            assert outcome[1] == "kept", outcome
        grown_mb = tracemalloc.get_traced_memory()[1] / 1e6
        server.close()
    for code, count in told.most_common():
        print(f"{count:6} {code}")
    print(f"{sum(told.values())} requests, the longest took {worst_s:.1f} s (at most {MAX_S})")
    print(f"memory grown by {grown_mb:.0f} MB (at most {MAX_MB})")
    return int(grown_mb > MAX_MB or worst_s > MAX_S)


if __name__ == "__main__":
    sys.exit(main())
