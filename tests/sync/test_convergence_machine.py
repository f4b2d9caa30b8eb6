"""Days in the field, played at random: nothing lost or doubled; each of the planted faults is found."""

import os

import pytest
from convergence_world import World
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test
from machine_faults import PLANTED, planted_in_server
from sync.convergence import machine

EXAMPLES = int(os.environ.get("FALLBOOK_MACHINE_EXAMPLES", "60"))
STEPS = 40


def played(examples):
    return settings(
        max_examples=examples, stateful_step_count=STEPS, deadline=None, derandomize=True, database=None,
        phases=[Phase.generate], report_multiple_bugs=False,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
    )  # fmt: skip


def test_whatever_happens_all_end_with_everything_that_was_written(tmp_path):
    world = World(tmp_path / "data")
    try:
        run_state_machine_as_test(machine(world), settings=played(EXAMPLES))
    finally:
        world.close()


@pytest.mark.parametrize("fault", PLANTED)
def test_a_planted_fault_is_found_in_as_many_examples(tmp_path, fault, monkeypatch):
    world = World(tmp_path / "data", fault)
    try:
        with planted_in_server(fault, monkeypatch), pytest.raises(AssertionError):
            run_state_machine_as_test(machine(world, fault), settings=played(EXAMPLES))
    finally:
        world.close()
