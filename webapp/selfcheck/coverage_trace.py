"""Coverage of the trace by simulation: runs laid by another model than the product's, judged by the product.

A pipe is walked along joint by joint, each joint turned by an angle that nobody recorded; bends are recorded
with errors, the bearing is read by a compass, positions come from a phone.  The records of it go through
``run_figures`` like any other run.  Nothing is linear and nothing of the product draws the truth.
"""

import itertools
import math
import random
from dataclasses import dataclass

from .. import tables
from ..figures.run_figures import TABLES, run_figures
from ..figures.run_records import RunRecords
from ..survey.plan.ellipse import Ellipse
from ..survey.plan.geodesy import geodetic_of_local
from ..survey.records import (
    CheckFields,
    JobFields,
    NodeRecord,
    ObservationRecord,
    Position,
    RunFields,
    StretchFields,
)
from .coverage_share import Share
from .inside_ellipse import inside

PIPE_M = 2.0
START: Position = {"lat_deg": 52.0, "lon_deg": -1.5}
SEED = 20261129
RAYLEIGH_63 = math.sqrt(-2 * math.log(1 - 0.63))


@dataclass(frozen=True)
class Truth:
    """How a run really is: what each of its joints turns, what the phone states, how the counter errs.

    ``joint_deg``: root mean square of a joint's angle [deg]; ``law``: how it is drawn; ``drift``: how much of
    one angle the next one takes over; ``stated``: what the phone states over what it should; ``tail``: how
    often in 100 an error of the phone is three times as large; ``start_m``, ``bearing_deg``: between which
    the standard deviations of the start [m] and of the bearing [deg] lie.
    """

    what: str
    joint_deg: float = 1.0
    law: str = "normal"
    drift: float = 0.0
    stated: float = 1.0
    tail: float = 0.0
    scale: float = 1.0
    tied: bool = False
    recorded: bool = True
    start_m: tuple[float, float] = (0.3, 4.0)
    bearing_deg: tuple[float, float] = (0.5, 3.0)


# Within what the product states: its ellipse must hold them.
ASKED = (
    Truth("far ends with 1 degree unrecorded at each joint of 2 m pipes"),
    Truth("the same, with the length of the pipes not recorded", recorded=False),
    Truth("the same, each angle 1 degree left or right", law="flip"),
    Truth("the same, angles evenly between limits", law="even"),
    Truth("the same, most joints straight and a few turned far", law="few"),
    Truth("the same, tied to a position of the far end", tied=True),
    Truth(
        "the same, start known to 0.1 m and bearing to 5 degrees", start_m=(0.05, 0.1), bearing_deg=(4.0, 5.0)
    ),
)
# Beyond it, on purpose: what becomes of the ellipse is reported.
BROKEN = (
    Truth("2 degrees at each joint", joint_deg=2.0),
    Truth("joints that drift to one side: each takes over half of the one before", drift=0.5),
    Truth("joints that drift, 0.8 of the one before", drift=0.8),
    Truth("a phone that states half its error", stated=0.5),
    Truth("a phone that errs three times as far, 1 time in 5", tail=20.0),
    Truth("bearing, bends and counter twice as bad as stated", scale=2.0),
    Truth("joints without any angle", joint_deg=0.0),
)


HELD = (0.93, 0.97)


def trace_shares(surveys: int) -> list[Share]:
    """Return how often the true ends of simulated runs lay inside their ellipses.

    The first with so many runs, variations of it with half as many; those beyond what the product states with
    a quarter, reported only.
    """
    found = []
    for place, truth in enumerate(ASKED):
        runs = surveys if place == 0 else surveys // 2
        found.append(Share(truth.what, runs, share_inside(truth, runs), *HELD))
    for truth in BROKEN:
        runs = surveys // 4
        found.append(Share(truth.what, runs, share_inside(truth, runs), 0.0, 1.0, True))
    return found


def share_inside(truth: Truth, runs: int) -> float:
    """Return how often the true end of so many runs lay inside the product's ellipse."""
    draw = random.Random(f"{SEED} {truth.what}")  # noqa: S311 a simulation, not a secret
    return sum(_one(draw, truth) for _ in range(runs)) / max(runs, 1)


def _one(draw: random.Random, truth: Truth) -> bool:
    """Lay a run, survey it, and see whether its true end lies inside the ellipse."""
    length = draw.uniform(15, 70)
    sds = {
        "bearing": draw.uniform(*truth.bearing_deg), "declination": draw.uniform(0.3, 0.5),
        "start": draw.uniform(*truth.start_m),
    }  # fmt: skip
    bearing, declination = draw.uniform(0, 360), draw.uniform(-5, 5)
    bends = [(draw.uniform(2, length - 2), draw.uniform(10, 60) * draw.choice((-1, 1)))
             for _ in range(draw.choice((0, 0, 1, 2)))]  # fmt: skip
    bends.sort()
    wide = truth.scale
    true_bearing = (
        bearing + declination + wide * draw.gauss(0, sds["bearing"]) + draw.gauss(0, sds["declination"])
    )
    tape = draw.uniform(0.001, 0.005)
    e, n = _walked(draw, truth, (length, true_bearing, 1 + wide * draw.gauss(0, tape)), bends)
    start_e, start_n = _phone(draw, truth, sds["start"])
    end = (start_e + e, start_n + n)  # from where the phone put the start
    records = _records(draw, truth, bends, tape, sds["start"], end)
    run: RunFields = {
        "start_node_id": "a", "finish_node_id": "b", "end_counter_m": length,
        "end_reason": "node_reached" if truth.tied else "obstruction",
        "start_bearing": {"bearing_deg": bearing % 360, "north": "magnetic", "sd_deg": sds["bearing"]},
    }  # fmt: skip
    job: JobFields = {"declination_deg": declination, "declination_sd_deg": sds["declination"]}
    own = tables.by_name(*TABLES)
    found = run_figures({"id": "r", "fields": run}, records, job, own).trace
    if found is None or found["trace"] is None:
        raise RuntimeError("the product gave no trace of a sound run")
    last = found["trace"]["points"][-1]
    return inside(Ellipse(**last["ellipse"]), end[0] - last["e_m"], end[1] - last["n_m"])


def _walked(
    draw: random.Random, truth: Truth, laid: tuple[float, float, float], bends: list[tuple[float, float]]
) -> tuple[float, float]:
    """Where the end of a run lies from its start, pipe by pipe."""
    length, bearing, scale = laid
    joints = list(itertools.takewhile(lambda c: c < length - 1e-9, itertools.count(PIPE_M, PIPE_M)))
    before, turns = 0.0, {}
    for place in joints:
        before = truth.drift * before + _angle(draw, truth) * math.sqrt(1 - truth.drift**2)
        turns[place] = before
    for place, turned in bends:
        turns[place] = turns.get(place, 0.0) + turned + truth.scale * draw.gauss(0, 5.0)
    e = n = at = 0.0
    for place in [*sorted(turns), length]:
        step, phi = (place - at) * scale, math.radians(bearing)
        e, n, at = e + step * math.sin(phi), n + step * math.cos(phi), place
        bearing += turns.get(place, 0.0)
    return e, n


def _angle(draw: random.Random, truth: Truth) -> float:
    """One joint's angle in plan [deg], of the root mean square asked."""
    size = truth.joint_deg
    if truth.law == "flip":
        return size * draw.choice((-1, 1))
    if truth.law == "even":
        return draw.uniform(-size, size) * math.sqrt(3)
    if truth.law == "few":  # 1 in 10, and then far
        return draw.gauss(0, size * math.sqrt(10)) if draw.random() < 0.1 else 0.0
    return draw.gauss(0, size)


def _phone(draw: random.Random, truth: Truth, sd_m: float) -> tuple[float, float]:
    """How far the true place lies from where a phone puts it [m]."""
    wide = sd_m * (3.0 if draw.random() * 100 < truth.tail else 1.0)
    return draw.gauss(0, wide), draw.gauss(0, wide)


def _records(
    draw: random.Random,
    truth: Truth,
    bends: list[tuple[float, float]],
    tape: float,
    sd_m: float,
    end_m: tuple[float, float],
) -> RunRecords:
    """What the surveyor recorded; the phone states a radius that holds the place 63 times in 100."""
    stated = sd_m * RAYLEIGH_63 * truth.stated
    place: Position = {**START, "accuracy_m": stated, "source": "phone"}
    nodes: list[NodeRecord] = [{"id": "a", "fields": {"position": place}}]
    if truth.tied:
        off_e, off_n = _phone(draw, truth, sd_m)
        there = geodetic_of_local(START["lat_deg"], START["lon_deg"], end_m[0] + off_e, end_m[1] + off_n)
        far: Position = {
            "lat_deg": there.lat_deg,
            "lon_deg": there.lon_deg,
            "accuracy_m": stated,
            "source": "phone",
        }
        nodes.append({"id": "b", "fields": {"position": far}})
    pipe: StretchFields = {"from_counter_m": 0.0, "material": "vitrified_clay"}
    if truth.recorded:
        pipe["pipe_unit_length_m"] = PIPE_M
    # a tape check whose one length is known to the counter's own spread
    check: CheckFields = {
        "check_type": "counter_tape", "counter_from_m": 0.0, "counter_to_m": 100.0, "taped_length_m": 100.0,
        "taped_length_sd_m": 100.0 * tape,
    }  # fmt: skip
    seen: list[ObservationRecord] = [
        {"id": f"o{k}", "fields": {
            "code": "BCC", "counter_m": place_m, "characterisation_1": "B" if turned > 0 else "A",
            "quantification_1": abs(turned)}}
        for k, (place_m, turned) in enumerate(bends)
    ]  # fmt: skip
    return RunRecords(
        nodes=nodes,
        checks=[{"id": "c", "fields": check}],
        stretches=[{"id": "s", "fields": pipe}],
        observations=seen,
    )
