"""The design of the eraser, played at random; each planted fault is found."""

import pytest
from sync.erasure_model import PLANTED, run

RUNS = 300


def test_an_erasure_holds_everywhere_and_everything_else_is_kept():
    wrong = [(seed, found) for seed in range(RUNS) if (found := run(seed))]
    assert not wrong, wrong[:5]


@pytest.mark.parametrize("planted", PLANTED)
def test_a_planted_fault_is_found(planted):
    assert any(run(seed, planted) for seed in range(RUNS))
