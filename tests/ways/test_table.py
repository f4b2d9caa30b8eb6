"""The table of ways of losing: all of them, each with a test of its number that is there."""

import ast
import re
from pathlib import Path

HERE = Path(__file__).resolve().parent
GUIDE = (HERE / "README.md").read_text(encoding="utf-8")


def rows():
    return re.findall(r"^\| (\d+) [^|]+ \| ([^|]+) \| `(\w+)` \|$", GUIDE, re.M)


def names():
    for path in HERE.glob("test_*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_way_"):
                yield node.name


def test_every_way_has_its_guard_and_its_test():
    found = rows()
    assert [int(number) for number, _, _ in found] == list(range(1, 24))
    there = set(names())
    for number, guard, name in found:
        assert name.startswith(f"test_way_{int(number):02d}_"), name
        assert name in there and guard.strip()


def test_every_test_belongs_to_a_way_of_the_table():
    numbers = {f"{int(number):02d}" for number, _, _ in rows()}
    assert all(name[9:11] in numbers for name in names())
