"""The figures of a long run take their time in proportion: no reading is searched for from the start."""

import json
import sys
import time
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[1] / "bench"))

from growth_jobs import job

from webapp.assemble import assemble


def seconds(count):
    text = json.dumps(job(count))
    begun = time.process_time()
    assemble(json.loads(text))
    return time.process_time() - begun


def test_four_times_the_readings_take_about_four_times_as_long():
    seconds(200)
    short, long = min(seconds(1_000) for _ in range(3)), min(seconds(4_000) for _ in range(2))
    assert long < 4 * 1.7 * short, (short, long)
