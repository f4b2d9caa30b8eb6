"""Levels of a length surveyed from both ends: the 95 % band holds the truth as often as it says."""

import math
import random
import sys
from dataclasses import replace

import pytest

from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.lengths.length_of_runs import PieceRun, length_of_runs
from webapp.survey.lengths.levels_both_ends import with_unsurveyed
from webapp.survey.levels.band import band_95
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model

SIGHT = {"view_lost_codes": [], "node_codes": [], "water_code": "BDD", "deposit_code": "BBC"}
LENGTH_M, JOINT_M = 46.0, 2.0
RUNS = 400


def pipe(chance):
    """Inclination of every 2 m pipe, in degrees, falling with bumps."""
    return [-0.6 + chance.gauss(0, 0.3) for _ in range(int(LENGTH_M / JOINT_M))]


def level_m(angles, at_m):
    whole = int(at_m / JOINT_M)
    done = sum(JOINT_M * math.sin(math.radians(a)) for a in angles[:whole])
    rest = at_m - whole * JOINT_M
    return 10.0 + done + (rest * math.sin(math.radians(angles[whole])) if rest > 1e-9 else 0.0)


def read(name, places, angles, sign, zero_deg, chance, sd_deg):
    """Readings in the middle of each pipe, as the crawler sees them, with its zero error."""
    found = []
    for counter_m, at_m in places:
        deg = sign * angles[int(at_m / JOINT_M)] + zero_deg + chance.gauss(0, sd_deg)
        sense = "rising" if deg > 0 else "falling"
        shown = {"size": abs(deg), "unit": "deg", "sense": sense}
        found.append({"id": f"{name}{counter_m}", "fields": {"counter_m": counter_m, "inclination": shown}})
    return found


def surveyed(chance, end_a_m, end_b_m, tied):
    """One survey from both ends with one instrument; the truth, and the profile."""
    angles, instruments = pipe(chance), instruments_of([], "a")
    zero_deg, sd_deg = chance.gauss(0, instruments.zero_sd_deg), instruments.sd_deg
    middles = [JOINT_M * (k + 0.5) for k in range(len(angles))]
    here = [(m, m) for m in middles if m <= end_a_m]
    there = [(LENGTH_M - m, m) for m in middles if m >= LENGTH_M - end_b_m]
    ends = {"end_reason": "obstruction", "counter_zero_m": 0.0}
    pipes = [{"id": "s", "fields": {"from_counter_m": 0.0, "pipe_unit_length_m": JOINT_M}}]
    runs = [
        PieceRun("a", {**ends, "start_node_id": "1", "end_counter_m": end_a_m, "expected_length_m": LENGTH_M},
                 read("a", here, angles, 1, zero_deg, chance, sd_deg), [], pipes, []),
        PieceRun("b", {**ends, "start_node_id": "2", "end_counter_m": end_b_m},
                 read("b", there, angles, -1, zero_deg, chance, sd_deg), [], pipes, []),
    ]  # fmt: skip
    ties = [(0, 0.0)] + ([(1, 0.0)] if tied else [])
    for k, counter_m in ties:
        at_m = LENGTH_M if k else 0.0
        seen = {
            "counter_m": counter_m,
            "invert_level_m": level_m(angles, at_m) + chance.gauss(0, 0.005),
            "sd_m": 0.005,
        }
        runs[k].level_ties.append({"id": f"t{k}", "fields": seen})
    whole = length_of_runs(runs, [], SIGHT, [])
    model = run_model(whole.run, whole.readings, whole.level_ties, whole.stretches, [], instruments)
    model, _ = with_unsurveyed(model, whole.join.between)
    return angles, level_profile(model.readings, model.ties, model.setup)


def held_shares(end_a_m, end_b_m, tied):
    """How often the band holds the true level: in all, at the worst station; how many are only bounded."""
    chance = random.Random(f"{end_a_m} {end_b_m} {tied}")
    held, requested, bounded = {}, {}, 0
    for _ in range(RUNS):
        angles, profile = surveyed(chance, end_a_m, end_b_m, tied)
        for station in profile.stations:
            band = band_95(station)
            if station.known == "bounded" or band is None:
                bounded += 1
                continue
            key = round(station.chainage_m)
            requested[key] = requested.get(key, 0) + 1
            truth = level_m(angles, min(station.chainage_m, LENGTH_M - 1e-9))
            held[key] = held.get(key, 0) + (band[0] <= truth <= band[1])
    return (
        sum(held.values()) / sum(requested.values()),
        min(held[k] / requested[k] for k in requested),
        bounded,
    )


@pytest.mark.parametrize(
    ("end_a_m", "end_b_m", "tied"),
    [(28.0, 18.0, True), (28.0, 18.0, False), (24.0, 12.0, True), (24.0, 12.0, False), (30.0, 20.0, True)],
)
def test_the_band_of_a_length_holds_the_true_level(end_a_m, end_b_m, tied):
    whole, least, bounded = held_shares(end_a_m, end_b_m, tied)
    assert 0.93 <= whole <= 0.98 and least >= 0.90
    assert bool(bounded) == (not tied and end_a_m + end_b_m < LENGTH_M)


def test_with_one_sign_of_the_zero_error_it_would_not(monkeypatch):
    def one_way(model, between, surveyed_so=with_unsurveyed):
        model, assumed = surveyed_so(model, between)
        return replace(model, readings=[replace(one, turned=False) for one in model.readings]), assumed

    monkeypatch.setattr(sys.modules[__name__], "with_unsurveyed", one_way)
    whole, least, _ = held_shares(28.0, 18.0, True)
    assert whole < 0.8 and least < 0.6
