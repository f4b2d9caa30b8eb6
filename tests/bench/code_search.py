"""The search for a code on a slow phone: how long after a key press until the codes are found.

    python3 tests/bench/code_search.py [--slower 4]

Chromium with its processor slowed down. Every phrase of tests/survey/phrases.json is typed letter by letter;
the median and the slowest hundredth are printed against one frame of a 60 Hz screen (16 ms), and against
the same at full speed.
"""

import argparse
import json
import statistics
import sys
import tempfile
from pathlib import Path

from bench_paths import ROOT

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import browser
from phone import VIEWPORT, Watched
from playwright.sync_api import sync_playwright
from server_process import ServerProcess

FRAME_MS = 16.0
WORK = """async (app, {phrases}) => {
  const { searchCodes } = await import('/static/js/survey/coding/code_search.js');
  const table = structuredClone(app.tables.observation_codes);
  const took = [];
  for (const phrase of phrases) {
    await new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
    for (let n = 1; n <= phrase.length; n += 1) {
      const begin = performance.now();
      searchCodes(table, phrase.slice(0, n), 8);
      took.push(performance.now() - begin);
    }
  }
  return took;
}"""


def measure(slower: float) -> dict[str, list[float]]:
    """Return the milliseconds of every key press, by speed; the first makes the index."""
    halves = json.loads((ROOT / "tests" / "survey" / "phrases.json").read_text(encoding="utf-8"))
    about = {"phrases": [text for half in ("tuning", "kept_apart") for text, _ in halves[half]]}
    found = {}
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = ServerProcess(Path(folder) / "data").start()
        chromium = playwright.chromium.launch(
            executable_path=browser.find(), args=["--disable-dev-shm-usage"]
        )
        try:
            one = Watched(server.url)
            one.watch(chromium.new_context(viewport=VIEWPORT, service_workers="block"))
            one.goto("/")
            devtools = one.context.new_cdp_session(one.page)
            for speed, rate in (("full", 1), ("slowed", slower)):
                devtools.send("Emulation.setCPUThrottlingRate", {"rate": rate})
                found[speed] = one.app(WORK, about)
            one.check()
        finally:
            chromium.close()
            server.kill()
    return found


def main() -> int:
    """Print the times and their ratio; 1 if a frame is missed by more than one key press in a hundred."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--slower", type=float, default=4.0)
    args = parser.parse_args()
    found = measure(args.slower)
    worst = {speed: statistics.quantiles(took[1:], n=100)[98] for speed, took in found.items()}
    for speed, took in found.items():
        print(
            f"{speed}: {len(took)} key presses, median {statistics.median(took):.2f} ms, "
            f"slowest hundredth from {worst[speed]:.2f} ms; the first makes the index, {took[0]:.1f} ms"
        )
    print(
        f"1/{args.slower:g} of the speed takes {worst['slowed'] / worst['full']:.1f} times as long: "
        f"{worst['slowed'] / FRAME_MS:.2f} of a 16 ms frame"
    )
    return 1 if worst["slowed"] > FRAME_MS else 0


if __name__ == "__main__":
    sys.exit(main())
