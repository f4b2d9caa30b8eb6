"""The order of the tests where several processes share them (order.py)."""

import itertools
from pathlib import Path

import order
import pytest

TESTS = Path(__file__).resolve().parent


class Item:
    def __init__(self, nodeid):
        self.nodeid = nodeid


SLOW = ["survey/test_plan_parity.py", "browser/test_keeping.py", "store/test_durability.py"]


def items(files, each):
    return [Item(f"tests/{name}::test_{n}") for name in files for n in range(each)]


def test_the_table_names_files_that_are_there():
    assert [name for name in order.SECONDS if not (TESTS / name).is_file()] == []


@pytest.mark.parametrize("workers", [1, 2, 3, 4, 7])
@pytest.mark.parametrize("each", [1, 3, 40])
def test_every_test_once_and_those_of_a_file_together(workers, each):
    given = items(["api/test_a.py", *SLOW, "test_b.py", "test_c.py"], each)
    found = order.arranged(given, workers)
    assert sorted(map(id, found)) == sorted(map(id, given))
    files = [name for name, _ in itertools.groupby(found, order.file_of) if name in order.SECONDS]
    assert sorted(files) == sorted(SLOW), "no slow file is torn apart"
    for name in set(map(order.file_of, given)):
        assert [one for one in found if order.file_of(one) == name] == [
            one for one in given if order.file_of(one) == name
        ]


def test_each_process_begins_with_a_slow_file_and_ends_with_quick_tests():
    found = order.arranged(items([f"test_{n}.py" for n in range(40)] + SLOW, 5), 3)
    sizes = order.stretches(len(found), 3)
    ends = list(itertools.accumulate(sizes))
    begins = [end - size for end, size in zip(ends, sizes, strict=True)]
    assert sorted(order.file_of(found[at]) for at in begins) == sorted(SLOW)
    assert all(order.file_of(found[end - 1]) not in order.SECONDS for end in ends)


def test_the_slow_files_are_shared_evenly():
    seconds = [sum(order.SECONDS[one] for one in names) for names in order.shares(set(order.SECONDS), 4)]
    assert max(seconds) - min(seconds) <= max(order.SECONDS.values()) / 4
