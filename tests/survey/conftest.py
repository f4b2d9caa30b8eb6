import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
from twin import Twin


@pytest.fixture(scope="session")
def twin():
    one = Twin()
    yield one
    one.close()
