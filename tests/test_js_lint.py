"""Style of the JavaScript side: what ruff is to Python, Biome is here; the rules are in biome.json."""

import re
from pathlib import Path

import pytest
from js_tools import HERE, in_js, installed
from twin import node

ROOT = HERE.parents[1]
FILES = sorted([*(ROOT / "static" / "js").rglob("*.js"), *HERE.glob("*.js")])
MAX_CHARACTERS = 110
# A sentence, a pattern or a drawing's path in one string cannot be wrapped.
ONE_STRING = re.compile(r"['`/].{60,}['`/]")


@pytest.fixture(scope="session")
def biome():
    """Biome, called with words and perhaps files."""
    program = installed() / "@biomejs" / "biome" / "bin" / "biome"
    return lambda *words, folder=ROOT: in_js(node(), str(program), *words, folder=folder)


def test_biome_finds_nothing(biome):
    done = biome("lint", "--error-on-warnings", "--max-diagnostics=50")
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_code_is_formatted(biome):
    done = biome("format", "--max-diagnostics=20")
    hint = "node tests/js/node_modules/@biomejs/biome/bin/biome format --write"
    assert done.returncode == 0, f"{hint}\n{done.stdout}{done.stderr}"


def test_biome_sees_a_fault(biome, tmp_path):
    (tmp_path / "biome.json").write_text((ROOT / "biome.json").read_text(encoding="utf-8"), encoding="utf-8")
    wrong = tmp_path / "static" / "js" / "wrong.js"
    wrong.parent.mkdir(parents=True)
    wrong.write_text("export function f(length_m) {\n  return 1;\n}\n", encoding="utf-8")
    done = biome("lint", "--error-on-warnings", folder=tmp_path)
    assert done.returncode != 0 and "noUnusedFunctionParameters" in done.stdout + done.stderr


@pytest.mark.parametrize("path", FILES, ids=lambda p: Path(p).stem)
def test_no_line_is_too_long(path):
    lines = enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
    assert [n for n, line in lines if len(line) > MAX_CHARACTERS and not ONE_STRING.search(line)] == []
