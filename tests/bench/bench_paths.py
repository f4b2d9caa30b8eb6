"""Where a benchmark, started as a script, finds the app and the tests' modules: imported before them."""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests"

sys.path[:0] = [str(ROOT), str(TESTS), str(TESTS / "browser")]
