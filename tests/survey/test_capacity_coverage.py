"""Bands of capacities hold what other models say, and a band too narrow is found out."""

from webapp.figures import coverage_capacity
from webapp.survey import capacity_band


def test_the_bands_hold_by_condition():
    shares = coverage_capacity.capacity_shares(2000)
    assert [one.ok for one in shares] == [True] * len(shares), shares
    asked = [one for one in shares if not one.broken]
    assert len(asked) == 4 and all(one.count >= 200 for one in asked)
    assert min(one.share for one in shares if one.broken) < 0.93


def test_a_wall_always_new_is_found_out(monkeypatch):
    """As it was: the roughness of a clean new pipe, known exactly."""
    monkeypatch.setattr(
        "webapp.survey.capacity_limits.wall_roughness",
        lambda *_: {"low_mm": 0.15, "mm": 0.15, "high_mm": 0.15, "value": ""},
    )
    shares = [one for one in coverage_capacity.capacity_shares(100) if not one.broken]
    assert not any(one.ok for one in shares) and max(one.share for one in shares) < 0.75


def test_levels_taken_as_exact_are_found_out(monkeypatch):
    monkeypatch.setattr("webapp.survey.run_backwater.SIGMAS_95", 0.0)
    monkeypatch.setattr(capacity_band, "EVEN", 3.0)
    assert not all(one.ok for one in coverage_capacity.capacity_shares(100) if not one.broken)
