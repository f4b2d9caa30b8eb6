"""The design of how wanted photos are told, played at random; each planted fault is found."""

import pytest
from sync.wants_model import PLANTED, run

RUNS = 200


def test_every_phone_knows_what_is_wanted_though_only_changes_are_told():
    wrong = [(seed, found) for seed in range(RUNS) if (found := run(seed))]
    assert not wrong, wrong[:5]


@pytest.mark.parametrize("planted", PLANTED)
def test_a_planted_fault_is_found(planted):
    assert any(run(seed, planted) for seed in range(RUNS))
