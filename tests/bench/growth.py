"""How the figures and the pack of a long run grow.

    python3 tests/bench/growth.py [--quick]

From 2,500 to 20,000 readings in one run, with ties and observations, all in one process; the phone's side in
Node. Prints the time of each step and how it grew against linear; exits 1 where that is more than 1.25. Each
size is the best of several runs where one run is short.
"""

import argparse
import gc
import io
import json
import subprocess
import sys
import time

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from growth_jobs import job
from twin import node

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack.write import EXPORTS
from webapp.records import job_file

LIMIT = 1.25
LONG_S = 5.0
STEPS = {
    "read": lambda text, made: job_file.read(text),
    "figures": lambda text, made: assemble(json.loads(text)),
    **{one.FILENAME: (lambda text, made, one=one: one.render(made)) for one in EXPORTS},
}


def best(step, text, made, times):
    """The least processor time of several runs, or of one that is long [s]."""
    found: list[float] = []
    while len(found) < times and sum(found) < LONG_S:
        gc.collect()
        begun = time.process_time()
        step(text, made)
        found.append(time.process_time() - begun)
    return min(found)


def phone(texts, sizes, out):
    """Compute the same on the phone's side, in Node; return the worst growth."""
    named = {name: tables.load(name) for name in tables.NAMES}
    found = []
    for text in texts:
        requested = json.dumps({"tables": named, "job": json.loads(text)})
        words = [node(), str(ROOT / "tests" / "bench" / "growth_phone.mjs")]
        done = subprocess.run(words, input=requested, stdout=subprocess.PIPE, check=True, encoding="utf-8")
        found.append(json.loads(done.stdout))
    refused = found[-1].pop("refused")
    assert not refused, f"not computed: {refused}"
    worst = 0.0
    for name, long in found[1].items():
        growth = long / max(found[0][name], 1e-6) / (sizes[1] / sizes[0])
        if long > 0.1:
            worst = max(worst, growth)
        print(
            f"phone: {name:11} {found[0][name]:8.3f} s  {long:8.3f} s  {growth:5.2f} times linear", file=out
        )
    return worst


def main():
    """Measure, print, and tell whether all limits held."""
    options = argparse.ArgumentParser()
    options.add_argument("--quick", action="store_true", help="Up to 5,000 readings only.")
    sizes = (1_250, 5_000) if options.parse_args().quick else (2_500, 20_000)
    texts = [json.dumps(job(size)).encode() for size in sizes]
    made = [assemble(json.loads(text)) for text in texts]
    out, worst = io.StringIO(), 0.0
    for name, step in STEPS.items():
        once = name == "report.pdf"  # the typesetter keeps what it has set before
        short = best(step, texts[0], made[0], 1 if once else 5)
        long = best(step, texts[1], made[1], 1 if once else 2)
        growth = long / short / (sizes[1] / sizes[0])
        if long > 0.5:  # what takes no time cannot grow too fast to matter
            worst = max(worst, growth)
        print(f"{name:18} {short:8.3f} s  {long:8.3f} s  {growth:5.2f} times linear", file=out)
    worst = max(worst, phone(texts, sizes, out))
    print(out.getvalue() + f"{sizes[0]:,} to {sizes[1]:,} readings; limit {LIMIT}")
    return 0 if worst <= LIMIT else 1


if __name__ == "__main__":
    sys.exit(main())
