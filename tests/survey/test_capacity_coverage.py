"""Bands of capacities: the command asks whether they hold, a band too narrow is found out here."""

import pytest

from webapp.selfcheck import coverage_capacity
from webapp.survey.flow import capacity_band


@pytest.fixture(autouse=True)
def few(monkeypatch):
    monkeypatch.setattr(coverage_capacity, "MIN_PIPES", 80)
    monkeypatch.setattr(coverage_capacity, "BROKEN", ())


def test_a_wall_always_new_is_found_out(monkeypatch):
    """As it was: the roughness of a clean new pipe, known exactly."""
    monkeypatch.setattr(
        "webapp.survey.flow.capacity_limits.wall_roughness",
        lambda *_: {"low_mm": 0.15, "mm": 0.15, "high_mm": 0.15, "value": ""},
    )
    shares = coverage_capacity.capacity_shares(100)
    assert not any(one.ok for one in shares) and max(one.share for one in shares) < 0.75


def test_levels_taken_as_exact_are_found_out(monkeypatch):
    monkeypatch.setattr("webapp.survey.flow.run_backwater.SIGMAS_95", 0.0)
    monkeypatch.setattr(capacity_band, "EVEN", 3.0)
    assert not any(one.ok for one in coverage_capacity.capacity_shares(100))
