"""The packs of the sample jobs stay as they were: every file to the byte, the report word for word.

A change that is meant is kept by ``python tests/pack/unchanged.py --write``, a sentence that was reworded by
one more line in ``unchanged/rewordings.json``; the difference then stands in the commit.
"""

import pytest
import unchanged

HOW = "see how: python tests/pack/unchanged.py --diff CHECKOUT"


@pytest.fixture(scope="module", params=unchanged.SAMPLES)
def sample(request):
    return request.param, unchanged.made(request.param)


def test_every_file_is_the_same_to_the_byte(sample):
    name, files = sample
    expected, _ = unchanged.kept(name)
    found = unchanged.hashes(files)
    differ = [one for one in sorted(expected.keys() | found.keys()) if expected.get(one) != found.get(one)]
    assert differ == [], HOW


def test_the_report_says_the_same_but_for_what_was_reworded(sample):
    name, files = sample
    _, text = unchanged.kept(name)
    assert unchanged.differences(text, unchanged.report_text(files)) == [], HOW


def test_each_rewording_is_of_something_that_was_said():
    before = "".join((unchanged.HERE / f"{one}.txt").read_text(encoding="utf-8") for one in unchanged.SAMPLES)
    for old, new in unchanged.rewordings():
        assert old in before and old != new, old
        before = before.replace(old, new)


def test_a_change_of_one_figure_or_word_would_be_seen(sample):
    name, files = sample
    expected, text = unchanged.kept(name)
    changed = files | {"levels.csv": files["levels.csv"].replace(b"1", b"2", 1)}
    assert [one for one, sha in unchanged.hashes(changed).items() if expected[one] != sha] == ["levels.csv"]
    assert unchanged.differences(text, unchanged.report_text(files).replace("Condition", "State", 1))
