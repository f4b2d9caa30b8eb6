"""The ellipse holds runs laid by another model than the product's; broken assumptions are reported."""

import pytest

from webapp import tables
from webapp.selfcheck import coverage_trace as laid
from webapp.selfcheck.coverage_share import Share

RUNS = 1000  # the share is known to 0.7 % of itself


def without_joints(name):
    """The tables as they were before joints that nobody observed counted."""
    table = shipped(name)
    return {**table, "rows": []} if name == "joint_deflections" else table


shipped = tables.load


@pytest.mark.parametrize("truth", laid.ASKED, ids=lambda one: one.what)
def test_the_ellipse_holds_93_to_97_in_100(truth):
    assert 0.93 <= laid.share_inside(truth, RUNS) <= 0.97


def test_without_the_joints_it_does_not(monkeypatch):
    monkeypatch.setattr(tables, "load", without_joints)
    assert laid.share_inside(laid.ASKED[0], RUNS) < 0.9


@pytest.mark.parametrize("what", ["2 degrees at each joint", "a phone that states half its error"])
def test_a_broken_assumption_is_seen_in_its_share(what):
    truth = next(one for one in laid.BROKEN if one.what == what)
    assert laid.share_inside(truth, RUNS // 2) < 0.91


def test_every_share_is_said_and_the_broken_ones_ask_nothing():
    found = laid.trace_shares(100)
    assert [one.what for one in found] == [one.what for one in (*laid.ASKED, *laid.BROKEN)]
    assert [one.broken for one in found] == [False] * len(laid.ASKED) + [True] * len(laid.BROKEN)
    assert all(one.ok for one in found if one.broken) and not Share("x", 9, 0.5, 0.93, 0.97).ok


def test_the_same_runs_are_laid_every_time():
    truth = laid.BROKEN[0]
    assert laid.share_inside(truth, 60) == laid.share_inside(truth, 60)
