"""The jobs of tests/pack serve here too."""

import sys
from pathlib import Path

PACK = Path(__file__).resolve().parents[1] / "pack"
if str(PACK) not in sys.path:
    sys.path.insert(0, str(PACK))
