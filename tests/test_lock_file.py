"""requirements.lock: the dependencies that were tested, each file by its hash, and no host."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "requirements.lock").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^([a-z0-9][^\s=]*)==([^\s;\\]+)([^\n]*\\\n(?:\s+--hash=[^\n]+\n)+)", TEXT, re.MULTILINE)
LOCKED = {canonicalize_name(name.split("[")[0]): number for name, number, _ in BLOCKS}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
DECLARED = [
    Requirement(text)
    for text in (
        *PROJECT["dependencies"],
        *(t for some in PROJECT["optional-dependencies"].values() for t in some),
    )
]


def test_every_line_is_a_pin_with_its_hashes_and_no_host():
    lines = [line for line in TEXT.splitlines() if line and not line.startswith(("#", " "))]
    assert len(lines) == len(BLOCKS) > 80
    hashes = re.findall(r"--hash=(\S+)", TEXT)
    assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", one) for one in hashes)
    assert "://" not in TEXT and "index" not in TEXT.replace("--no-emit-index-url", "")


@pytest.mark.parametrize("one", DECLARED, ids=str)
def test_what_the_project_needs_is_locked_as_it_asks(one):
    assert one.specifier.contains(LOCKED[canonicalize_name(one.name)])
