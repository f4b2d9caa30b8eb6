"""Does the app open every time?  Starts it over and over and counts the starts with no first screen.

    python3 tests/bench/starts.py               # 1,000 in Chromium, 200 in Firefox, 120 in WebKitGTK
    python3 tests/bench/starts.py --browser chromium --starts 300 --situation online
    python3 tests/bench/starts.py --root ../old # the same of another checkout of the app

One profile on disk, the service worker in charge, one page after another. Chromium is started in three
situations: online, with the server dead, and with the processor slowed 4 times; the others in the first
two. A start counts as hung when its first screen is not there after the limit. A start that was loaded
twice, whoever did it, is counted apart.
Exit 1: a start hung or was loaded twice. Exit 2: a browser is missing, and it says which.
"""

import argparse
import sys
import tempfile
from pathlib import Path

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import engines
from server_process import ServerProcess
from start_loop import Tally, start_again, wait_until_kept

STARTS = {"chromium": 1000, "firefox": 200, "webkitgtk": 120}
SITUATIONS = ("online", "server dead", "processor slowed")
SLOWER = 4


def run_browser(name: str, situations: list[str], starts: int, limit_s: float, root: Path) -> list[Tally]:
    """Start the app in one browser, the starts shared out among the situations."""
    found = []
    with tempfile.TemporaryDirectory() as folder, engines.opened(name) as engine:
        server = ServerProcess(Path(folder) / "data", root).start()
        try:
            wait_until_kept(engine, server.url)
            # The dead server comes last: everything before it needs the living one.
            for place, situation in enumerate(sorted(situations, key=lambda s: s == "server dead")):
                if situation == "server dead":
                    server.kill()
                if name == "chromium":
                    engine.slow(SLOWER if situation == "processor slowed" else 1)
                share = starts // len(situations) + (place < starts % len(situations))
                tally = start_again(engine, server.url, share, limit_s)
                found.append(tally)
                print(f"{name}, {situation}: {tally.line()}", flush=True)
                for line in tally.hung + tally.reloaded:
                    print(f"  {line}")
        finally:
            server.kill()
    return found


def main() -> int:
    """Run what was asked for and say what could not be run."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--browser", choices=[*STARTS, "all"], default="all")
    parser.add_argument("--situation", choices=[s.replace(" ", "-") for s in SITUATIONS], action="append")
    parser.add_argument("--starts", type=int, help="how many in all; shared out among the situations")
    parser.add_argument("--limit", type=float, default=10.0, help="seconds until a start counts as hung")
    parser.add_argument("--root", type=Path, default=ROOT, help="the checkout whose app is served")
    args = parser.parse_args()
    requested = [s.replace("-", " ") for s in args.situation or ()] or list(SITUATIONS)
    missing, bad = [], 0
    for name in STARTS if args.browser == "all" else [args.browser]:
        if reason := engines.why_not(name):
            missing.append(f"{name} was not run: {reason}")
            continue
        situations = [s for s in requested if name == "chromium" or s != "processor slowed"]
        if not situations:
            continue
        tallies = run_browser(name, situations, args.starts or STARTS[name], args.limit, args.root.resolve())
        bad += sum(len(t.hung) + len(t.reloaded) for t in tallies)
    print("\n".join([*missing, f"{bad} starts hung or were loaded twice."]))
    return 1 if bad else 2 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
