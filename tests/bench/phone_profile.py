"""The live levels of a long run on a slow phone: how long after an edit until every figure of the log is new.

    python3 tests/bench/phone_profile.py [--readings 2000] [--slower 4]

Chromium with its processor slowed down. After each edit of one reading the figures that the log shows are
computed again: levels with their spread, last length, fall since the start, standing water, what a further
level would settle. The median is printed against one frame of a 60 Hz screen (16 ms), and against the same
work on the same machine, not slowed down.
"""

import argparse
import statistics
import sys
import tempfile
from pathlib import Path

import bench_paths  # noqa: F401

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

import browser
from phone import VIEWPORT, Watched
from playwright.sync_api import sync_playwright
from server_process import ServerProcess

FRAME_MS = 16.0
WARM, COUNTED = 40, 60
WORK = """async (app, {readings, ties, times, warm}) => {
  const { figuresOf } = await import('/static/js/screens/parts/figures_of.js');
  const incl = (size) => ({size, unit: 'deg', sense: 'falling'});
  const run = {id: 'run', fields: {direction: 'with_flow'}};
  const kinds = {run: [run], reading: [], level_tie: [], check: [], node: [], stretch: [], observation: []};
  for (let i = 0; i < readings; i += 1)
    kinds.reading.push({id: `r${i}`, fields: {
      run_id: 'run', counter_m: i * 0.5, inclination: incl(0.7 + 0.5 * Math.sin(i / 50))}});
  for (let i = 0; i < ties; i += 1)
    kinds.level_tie.push({id: `t${i}`, fields: {
      run_id: 'run', counter_m: i * readings / 10, invert_level_m: -6.1 * i * readings / 5000, sd_m: 0.01}});
  const of = (kind) => kinds[kind] ?? [];
  const view = {job: {id: 'job', fields: {}}, records: of, ofRun: of, erasedIn: () => []};
  const took = [];
  for (let n = 0; n < warm + times; n += 1) {
    const k = (n * 37) % readings;
    const fields = {...kinds.reading[k].fields, inclination: incl(0.5 + (n % 10) / 20)};
    const edited = {...kinds.reading[k], fields};
    kinds.reading = kinds.reading.map((one, i) => (i === k ? edited : one));
    await new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
    const begin = performance.now();
    const figures = figuresOf(app, view, run);
    const { profile, last_length, rise, water, far_tie } = figures;
    const whole = [last_length, rise, water, far_tie].every(Boolean);
    if (!whole || profile.stations.length < readings) throw new Error('not every reading took part');
    if (n >= warm) took.push(performance.now() - begin);
  }
  return took;
}"""


def measure(readings: int, slower: float) -> dict[str, float]:
    """Return the median milliseconds, at full speed and slowed down, without ties and with two."""
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
                for ties in (0, 2):
                    about = {"readings": readings, "ties": ties, "times": COUNTED, "warm": WARM}
                    found[f"{speed} {ties}"] = statistics.median(one.app(WORK, about))
            one.check()
        finally:
            chromium.close()
            server.kill()
    return found


def main() -> int:
    """Print the medians and their ratios; 1 if a frame is missed."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--readings", type=int, default=2000)
    parser.add_argument("--slower", type=float, default=4.0)
    args = parser.parse_args()
    found = measure(args.readings, args.slower)
    worst = 0.0
    for ties in (0, 2):
        full, slowed = found[f"full {ties}"], found[f"slowed {ties}"]
        worst = max(worst, slowed / FRAME_MS)
        print(
            f"{args.readings} readings, {ties} level ties: {full:.1f} ms at full speed, "
            f"{slowed:.1f} ms at 1/{args.slower:g} "
            f"(ratio {slowed / full:.1f}); {slowed / FRAME_MS:.2f} of a 16 ms frame"
        )
    return 1 if worst > 1 else 0


if __name__ == "__main__":
    sys.exit(main())
