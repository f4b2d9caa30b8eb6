"""Condition classes of both sample jobs, worked by hand."""

import json
import math
from pathlib import Path

import pytest
from run_made import figures_of

from webapp.figures.run_records import RunRecords
from webapp.survey.grading.grading import GOALS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_jobs"


def sample(name, ref):
    """Condition of one run of a sample job, by the product's own composition."""
    job = json.loads((SAMPLES / name / "job.json").read_text(encoding="utf-8"))
    records = sorted((r for r in job["records"] if not r.get("removed")), key=lambda r: r["id"])
    run = next(r for r in records if r["fields"].get("run_ref") == ref)

    def of(kind, mine=True):
        own = [{"id": r["id"], "fields": r["fields"]} for r in records if r["kind"] == kind]
        return [r for r in own if r["fields"].get("run_id") == run["id"]] if mine else own

    head = next(r["fields"] for r in records if r["kind"] == "job")
    own = RunRecords(of("node", False), of("check", False), of("reading"), of("level_tie"), of("stretch"),
                     of("observation"))  # fmt: skip
    found = figures_of(run["id"], run["fields"], head, own)
    return {"grading": found.grading, "suggested": found.suggested}


def classes(found):
    """Class of each goal of each graded piece: code -> (tightness, stability, operation)."""
    table = {}
    for one in found["grading"]["graded"]:
        row = tuple(c and (c["low"] if c["low"] == c["high"] else (c["low"], c["high"]))
                    for c in one["classes"].values())  # fmt: skip
        table[one["code"]] = row
    return table


def left(found, code):
    one = next(g for g in found["grading"]["graded"] if g["code"] == code)
    return one["classes"]["operation"]["left_low_pct"]


def steps(found, code, goal):
    one = next(g for g in found["grading"]["graded"] if g["code"] == code)
    return one["numbers"][goal]


def test_the_school_drain_by_hand():
    """Run F1: 150 mm vitrified clay, a rigid pipe; scale of the counter 0.99602 (25.0 m by 25.1 m)."""
    found = sample("school_foul_drain", "F1")
    # BBB grease, 5 % of the area all round: a bore smaller in height by sqrt(0.95) = 0.97468. Velocity
    # grows nearly with the 2/3 power of the size, so about 0.95 * 0.97468^(2/3) = 0.934 is left: <= 95,
    # > 80: class 2. Grease is not scale (A), so nothing is said of tightness.
    # BBA C mass of roots, 25 %: 0.75 * 0.866^(2/3) = 0.681 left: <= 80, > 65: class 3; tightness flat 3.
    # BBC 10 % deep: the segment of a tenth of the height takes 5.2 % of the area; about 92.4 % is left: 2.
    # BAJ B step of 18 mm in 150 mm: tightness >= 10, < 20: 3; stability >= 10, < 20: 2; the two circles
    # overlap in 2/pi * (acos 0.12 - 0.12 * sqrt(1 - 0.12^2)) = 0.8476 of the area, which leaves 80.3: 2.
    # BAB C fracture 3 mm: tightness >= 2, < 5: 3; stability of a rigid pipe, open: >= 1, < 4: 3.
    # BAF A rougher surface: 1, 1, 1. BDE without its second letter is no wrong connection: no class.
    assert classes(found) == {
        "BBB": (None, None, 2), "BBA": (3, None, 3), "BBC": (None, None, 2), "BAJ": (3, 2, 2),
        "BAB": (3, 3, None), "BAF": (1, 1, 1),
    }  # fmt: skip
    assert left(found, "BBB") == pytest.approx(93.4, abs=0.2)
    assert left(found, "BBA") == pytest.approx(100 * 0.75 * 0.75 ** (1 / 3), abs=0.3)
    overlap = 2 / math.pi * (math.acos(0.12) - 0.12 * math.sqrt(1 - 0.12**2))
    assert left(found, "BAJ") == pytest.approx(100 * overlap ** (4 / 3), abs=0.3)
    # Roots: class 3 is number 200; upper half (9 to 2): 0, 10, 0; at a joint: +10 for tightness: 210.
    assert steps(found, "BBA", "tightness") == {
        # what is not recorded: water -50 to 150, zone 0 to 400, groundwater 0 to 10, soil 0 to 30
        "recorded_low": 210, "recorded_high": 210, "low": 160, "high": 800,
    }  # fmt: skip
    # Step at 6 o'clock: 200 + 10 (lower half) + 10 (joint) = 220, the greatest of the run: class 3.
    run = found["grading"]["run"]
    assert (run["number_low"], run["number_high"], run["class_low"], run["class_high"]) == (220, 220, 3, 3)
    # Damage-length: 0.3 m each: BBB 100 + 20, BBA 210, BAJ 220, BAB 10 + 200, BAF 10 + 20; the deposit
    # 120 over 7.5 m by the counter.
    points = 0.3 * (120 + 210 + 220 + 210 + 30) + 120 * 7.5 * 25.0 / 25.1
    assert run["length_number_low"] == pytest.approx(points) == run["length_number_high"]
    assert {goal: run["goals"][goal]["low"] for goal in GOALS} == dict.fromkeys(GOALS, 3)
    causes = [found["grading"]["graded"][run["goals"][goal]["cause"]]["code"] for goal in GOALS]
    assert causes == ["BBA", "BAB", "BBA"]
    # Roots, grease and gravel are cleaned, the worst of them class 3; three places of class 3 for
    # tightness are fewer than four and 0.9 m of 38.15 m is less than a quarter: repair, not renew.
    actions = found["suggested"][0]["actions"]
    assert [(a["action"], a["urgency"]) for a in actions] == [
        ("clean", "medium_term"), ("repair_point", "medium_term"),
    ]  # fmt: skip
    assert [len(a["reasons"]) for a in actions] == [3, 3]


def test_the_kitchen_branch_by_hand():
    """Run F2: a start, a bend and a finish; nothing that has a class."""
    found = sample("school_foul_drain", "F2")
    assert found["grading"]["graded"] == [] and found["grading"]["ungraded"] == []
    assert [a["action"] for a in found["suggested"][0]["actions"]] == ["none"]


def test_the_creek_drain_by_hand():
    """Run D1: 450 mm concrete, 400 mm plastic let in, 450 mm concrete."""
    found = sample("tidal_creek_drain", "D1")
    # BBC 10 % deep: 2. BAB B crack lines 2 mm: tightness >= 2: 3; stability of a rigid pipe, not open:
    # >= 1, < 3: 2. BAJ B step 25 mm of 450: tightness >= 20, < 40: 4; stability >= 20, < 40: 3; the overlap
    # is 2/pi * (acos 0.0556 - 0.0556 * 0.9985) = 0.9293, which leaves about 90.8 %: 2. BBF B dripping: 3.
    # BAF C aggregate visible: tightness 1, stability 2, operation 1. BBA B fine roots 5 %: 2 and 2.
    # BBE A 45 % of the area from below: about 42 % of the capacity: <= 50: class 5.
    assert classes(found) == {
        "BBC": (None, None, 2), "BAB": (3, 2, None), "BAJ": (4, 3, 2), "BBF": (3, None, None),
        "BAF": (1, 2, 1), "BBA": (2, None, 2), "BBE": (None, None, 5),
    }  # fmt: skip
    share = 25 / 450
    overlap = 2 / math.pi * (math.acos(share) - share * math.sqrt(1 - share**2))
    assert left(found, "BAJ") == pytest.approx(100 * overlap ** (4 / 3), abs=0.3)
    assert left(found, "BBE") == pytest.approx(42, abs=1)
    by_stretch = [
        [s["goals"][goal]["high"] for goal in GOALS] for s in found["grading"]["stretches"]
    ]  # the step at 25.0 m lies where the third stretch begins
    assert by_stretch == [[3, 2, 2], [0, 0, 0], [4, 3, 5]]
    # Masonry at 5 to 7 o'clock: 400 + 20 (lower half) = 420: the greatest.
    run = found["grading"]["run"]
    assert (run["number_low"], run["class_low"]) == (420, 5)
    # With water -50..: operation of a foul pipe would add 40; protection zone I would make the step
    # at 25.0 m 300 + 10 + 10 + 150 + 400 + 10 + 30 = 910.
    assert (run["bound_low"], run["bound_high"]) == (420, 910)
    assert [[(a["action"], a["urgency"]) for a in s["actions"]] for s in found["suggested"]] == [
        [("clean", "long_term"), ("repair_point", "medium_term")],
        [("none", "no_term")],
        [("clean", "at_once"), ("repair_point", "short_term"), ("level_far_end", "long_term")],
    ]  # fmt: skip
    why = [r["why"] for r in found["suggested"][2]["actions"][2]["reasons"]]
    assert why == ["levels_bounded", "place_loose"]
