"""A sender with a good credential that sends whatever costs most: 30 s of it may take 100 MB and stop nobody.

    python3 tests/bench/hostile.py [--seconds 30] [--seed 1]

It sends to the exchange, as files to take in, as pieces of photos, and to whatever takes a small body.
Exit 1 where it took more, a request took over 5 s of the processor, an answer had not the one shape of
errors, or an honest phone between the requests was not served.
"""

import argparse
import gzip
import hashlib
import io
import json
import random
import sys
import tempfile
import time
import tracemalloc
import zipfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import bench_paths  # noqa: F401  puts the tests and the checkout on the path

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from servers import Server, entries, entry

from webapp.budgets import BUDGETS
from webapp.timesource import new_id

MAX_MB, MAX_S = 100, 5.0
JSON = {"Content-Type": "application/json"}
ODD = ["__proto__", "constructor", "", "\0", "\ud800", "\ufffe", "x" * 5000, "toString"]


class Sent(NamedTuple):
    """One request."""

    method: str
    path: str
    data: bytes
    headers: dict[str, str]


def requests(rng, job_id):
    """Return requests of every kind that are more, or other, than they should be."""
    texts = exchange_texts(rng)
    found = []
    for text in texts:
        data = text.encode("utf-8", "surrogatepass")
        found.append(Sent("POST", "/api/sync", gzip.compress(data, 6), {**JSON, "Content-Encoding": "gzip"}))
        if len(data) < BUDGETS.request_bytes + 100:
            found.append(Sent("POST", "/api/sync", data, JSON))
    small = [text.encode("utf-8", "surrogatepass")[: BUDGETS.other_request_bytes] for text in texts]
    paths = ("/api/join", "/api/join/look", f"/api/jobs/{job_id}/erasures/preview", "/api/invitations")
    found += [Sent("POST", path, rng.choice(small), JSON) for path in paths for _ in range(5)]
    return [*found, *files(rng), *photos(rng)]


def files(rng):
    """Return files to take in: zips that hold too much or odd names, what is cut off, JSON that is deep."""
    zips = [
        zipped([("job.json", b"{" + b" " * 60_000_000)]),
        zipped([("manifest.json", b"[" * 5_000_000), ("job.json", b"{}")]),
        zipped([(f"photos/{n}.jpg", b"x") for n in range(30_000)]),
        zipped([("../job.json", b"{}"), ("job.json", b"{}"), ("JOB.JSON", b"[]")]),
        zipped([("phone.json", b'{"format":"fallbook-phone","version":1,"stores":' + b'{"a":' * 900_000)]),
    ]
    zips += [data[: rng.randrange(len(data))] for data in zips]
    plain = [b"[" * 5_000_000, b'{"entries":[' + b"{}," * 2_000_000 + b"{}]}", rng.randbytes(2_000_000)]
    found = [Sent("POST", "/api/import", data, {"Content-Type": "application/zip"}) for data in zips]
    return found + [Sent("POST", "/api/import", data, JSON) for data in plain]


def zipped(members):
    """Return a zip of these members."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return out.getvalue()


def photos(rng):
    """Return pieces of photos: of a false name or length, beyond the budget, many in one body."""
    data = rng.randbytes(1_000_000)
    name, one = hashlib.sha256(data).hexdigest(), {"Content-Type": "image/jpeg"}
    lengths = (1, len(data) - 1, len(data), BUDGETS.photo_bytes + 1, 10**18)
    pieces = [
        Sent(
            "PUT", f"/api/photos/{name}", data, one | {"Upload-Offset": offset, "Upload-Length": str(length)}
        )
        for length in lengths
        for offset in ("0", "-1", "7")
    ]
    parts = ", ".join(f'"{n:064x}";length={n};type="image/jpeg"' for n in range(5_000))
    together = {"Content-Type": "application/octet-stream"}
    return [
        *pieces,
        Sent("PUT", "/api/photos", data, together | {"Upload-Parts": parts}),
        Sent("PUT", "/api/photos", data, together | {"Upload-Parts": f'"{name}";length={10**18}'}),
    ]


def exchange_texts(rng):
    """Return bodies for the exchange that are more, or other, than they should be."""
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
    return texts


class Worst(NamedTuple):
    """The request that took longest, in seconds of the processor."""

    took_s: float
    sent: str


def send(server, job_id, made, rng, seconds):
    """Send for so long; return what was answered, and the worst."""
    told, worst, end_s = Counter(), Worst(0.0, ""), time.monotonic() + seconds
    while time.monotonic() < end_s or not told:
        sent = rng.choice(made)
        begun_s = time.process_time()
        answer = server.client.open(sent.path, method=sent.method, data=sent.data, headers=sent.headers)
        named = f"{sent.method} {sent.path} {sent.data[:40]!r}"
        worst = max(worst, Worst(time.process_time() - begun_s, named))
        code = "taken" if answer.status_code < 300 else answer.json["errors"][0]["code"]
        told[f"{sent.path.split('/')[2]} {code}"] += 1
        honest = [entry(job_id, new_id()[-22:], 1)]
        assert server.fates(honest)[0][1] == "kept", named
    return told, worst


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=30)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    rng = random.Random(given.seed)
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder) / "data")
        job_id = new_id()
        server.fates(entries(job_id, "honest-phone", 1, 2000))
        server.pull(job_id)
        made = requests(rng, job_id)  # first: making them takes memory too
        told, worst = send(server, job_id, made, rng, given.seconds / 2)
        tracemalloc.start()  # which makes everything slower
        told += send(server, job_id, made, rng, given.seconds / 2)[0]
        grown_mb = tracemalloc.get_traced_memory()[1] / 1e6
        server.close()
    for code, count in told.most_common():
        print(f"{count:6} {code}")
    print(
        f"{sum(told.values())} requests; the longest took {worst.took_s:.1f} s (at most {MAX_S}):", worst.sent
    )
    print(f"memory grown by {grown_mb:.0f} MB (at most {MAX_MB})")
    return int(grown_mb > MAX_MB or worst.took_s > MAX_S)


if __name__ == "__main__":
    sys.exit(main())
