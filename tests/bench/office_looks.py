"""What the office page of a job with 200,000 entries costs the server, against that of a small one.

    python3 tests/bench/office_looks.py [--quick]

Processor time of the first look, until the page is there; of a look at a job that did not change; of a look
after one new entry; of a look at what can be erased; and the bytes of the answers.  Memory is what the
process holds more after the looks, and its peak.  Exits 1 where a look after nothing or little takes more
than 2.5 times that at a job of 2,000 entries, or an answer has more than 1 MB.
"""

import argparse
import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import psutil
from flask.testing import FlaskClient
from growth_exchange import JOB, row, uuid
from servers import Server, entry

from webapp.store import entry_rows
from webapp.store.engine import writing

SLOWER, MAX_BYTES, LOOKS = 2.5, 1_000_000, 7
FEW = 2_000
ENTRIES_A_WRITER, READINGS_A_RUN = 100, 1_000
MB = 1_000_000


def job(count: int) -> Iterator[dict[str, Any]]:
    """Yield the rows of a job of so many entries: runs of 1,000 readings, by openings of 100 entries."""
    runs = max(1, count // READINGS_A_RUN)
    yield row(entry(JOB, "writer-of-job", 1, "job", {"title": "Dell Lane"}))
    for n in range(runs):
        yield row(entry(JOB, "writer-of-job", n + 2, "run", {"run_ref": f"R{n}"}, uuid(10**9 + n)))
    for n in range(count - runs - 1):
        yield row(reading(f"writer-{n // ENTRIES_A_WRITER:06d}", n % ENTRIES_A_WRITER + 1, n, runs))


def reading(writer: str, number: int, n: int, runs: int) -> dict[str, Any]:
    """Return one reading of some run."""
    inclination = {"size": 0.6, "unit": "deg", "sense": "falling"}
    fields = {"run_id": uuid(10**9 + n % runs), "counter_m": n // runs / 2, "inclination": inclination}
    return entry(JOB, writer, number, fields=fields, record_id=uuid(n))


class Office:
    """Whoever looks at the page of the job."""

    def __init__(self, server: Server) -> None:
        server.app.test_client_class = FlaskClient
        self.client = server.app.test_client()
        self.most = 0

    def look(self, page: str = "") -> float:
        """Look until the page is there; return the seconds of the processor."""
        begun = time.process_time()
        while True:
            answer = self.client.get(f"/office/jobs/{JOB}{page}")
            data = answer.data
            self.most = max(self.most, len(data))
            if answer.status_code == 200:
                assert b"Dell Lane" in data
                return time.process_time() - begun
            assert answer.status_code == 202, data


def costs(count: int) -> dict[str, float]:
    """Return what the looks at a job of so many entries cost: seconds, bytes, memory."""
    process = psutil.Process()
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder))
        try:
            with server.app.app_context(), writing() as connection:
                entry_rows.add(connection, list(job(count)))
            office = Office(server)
            before = process.memory_info().rss
            found = {"first look": office.look()}
            found["nothing new"] = min(office.look() for _ in range(LOOKS))
            after = []
            for n in range(LOOKS):
                server.fates([reading("writer-that-pushes", n + 1, 10**6 + n, 1)])
                after.append(office.look())
            found["what to erase"] = min(office.look("/erase") for _ in range(LOOKS))
            found |= {"one entry new": min(after), "largest answer": office.most}
            found["memory held"] = process.memory_info().rss - before
        finally:
            server.close()
    return found


def main() -> int:
    """Measure, print, and tell whether all limits held."""
    options = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    options.add_argument("--quick", action="store_true", help="20,000 entries.")
    count = 20_000 if options.parse_args().quick else 200_000
    few, many = costs(FEW), costs(count)
    missed = many["largest answer"] > MAX_BYTES
    for name in ("first look", "nothing new", "one entry new", "what to erase"):
        over = name != "first look" and many[name] > SLOWER * few[name]
        missed |= over
        times = f"{many[name] / few[name]:7.2f} times{' !' * over}"
        print(f"{name:15} {few[name] * 1000:9.1f} ms {many[name] * 1000:9.1f} ms {times}")
    for name in ("largest answer", "memory held"):
        print(f"{name:15} {few[name] / MB:9.2f} MB {many[name] / MB:9.2f} MB")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / MB
    print(f"{FEW:,} and {count:,} entries, peak of memory {peak:,.0f} MB; in {ROOT.name}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
