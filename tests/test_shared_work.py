"""What one test process has worked out is not worked out by the next; another question still is."""

import threading

from shared_work import answers_in, remembered


class Counted:
    __name__ = "doubled"

    def __init__(self):
        self.asked = []

    def __call__(self, value):
        self.asked.append(value)
        return 2 * value


def asked_of(path, *values):
    """Return what a process that asks so much works out itself, and what it is told."""
    function = Counted()
    with answers_in(path) as answers:
        doubled = remembered(function, answers)
        told = [doubled(value) for value in values]
    return function.asked, told


def test_the_second_process_reads_what_the_first_has_found(tmp_path):
    path = tmp_path / "answers"
    assert asked_of(path, 3, 4, 3) == ([3, 4], [6, 8, 6])
    assert asked_of(path, 4, 3) == ([], [8, 6])
    assert asked_of(path, 5) == ([5], [10]), "a source that was changed is read anew"


def test_without_a_file_each_has_its_own():
    assert asked_of(None, 3) == asked_of(None, 3) == ([3], [6])


def test_whoever_comes_meanwhile_waits(tmp_path):
    path, found = tmp_path / "answers", []
    with answers_in(path) as answers:
        other = threading.Thread(target=lambda: found.append(asked_of(path, 3)))
        other.start()
        assert remembered(Counted(), answers)(3) == 6
        other.join(0.3)
        assert found == []
    other.join(10)
    assert found == [([], [6])]
