"""How fast the command line starts, against Python alone and against a limit.

    python3 tests/bench/command_line.py [--rounds 15]

Each call is made in turn with ``python -c pass``, so that a busy machine slows both; the least time of each
counts, since nothing makes a process faster than it is.  Limits: 0.25 s, and 16 times Python alone.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

LIMIT_S, LIMIT_RATIO = 0.25, 16.0
SAMPLES = sorted(str(path.parent) for path in (ROOT / "sample_jobs").glob("*/job.json"))
CALLS = (
    ["--help"],
    ["--version"],
    ["schema"],
    ["jobs"],
    ["jobs", "--json"],
    ["pack", "--help"],
    ["serve", "--help"],
)


def seconds(command: list[str], env: dict[str, str]) -> float:
    """Return how long one call takes from its start to its end."""
    begin = time.perf_counter()
    subprocess.run(command, cwd=ROOT, env=env, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - begin


def main() -> None:
    """Print one line a call; exit code 1 where a limit is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=15)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "FALLBOOK_DATA": f"{folder}/data"}
        start = [sys.executable, "-m", "webapp"]
        subprocess.run([*start, "import", "--create", "--quiet", *SAMPLES], cwd=ROOT, env=env, check=True)
        bare: list[float] = []
        took: dict[str, list[float]] = {" ".join(words): [] for words in CALLS}
        for _ in range(rounds):
            for words in CALLS:
                bare.append(seconds([sys.executable, "-c", "pass"], env))
                took[" ".join(words)].append(seconds([*start, *words], env))
    missed = False
    print(json.dumps({"python -c pass, s": round(min(bare), 3)}))
    for words, times in took.items():
        ratio, late = min(times) / min(bare), min(times) > LIMIT_S
        missed |= late or ratio > LIMIT_RATIO
        row = {"call": f"fallbook {words}", "s": round(min(times), 3), "times python": round(ratio, 1)}
        print(json.dumps(row | ({"missed": True} if late or ratio > LIMIT_RATIO else {})))
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
