"""Coverage of capacities by simulation: do their bands hold what made-up pipes really carry?

The truth is not the product's model. Friction is Haaland's factor and not Colebrook's, every joint costs
head, the water stands by a sum over the joints and not by the energy equation, the invert settles at the
joints, and the wall is drawn from what is published for pipes in such a condition.
"""

import itertools
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

from .. import tables
from ..survey.coding.continuous import continuous_items
from ..survey.coding.visibility import Visibility
from ..survey.flow.capacity_limits import CapacityFacts, limited_capacity
from ..survey.flow.run_capacity import run_capacity
from ..survey.flow.types import Capacity
from ..survey.instruments.instruments import Instruments, instruments_of
from ..survey.levels.input import LevelReading, LevelSetup, LevelTie
from ..survey.levels.levels import LevelProfile, level_profile
from ..survey.records import (
    ContinuousRole,
    Material,
    ObservationFields,
    ObservationRecord,
    RunFields,
    SizeKnown,
    StretchFields,
    StretchRecord,
    WaterCarried,
)
from .coverage_share import Share

SEED = 20261130
BANDS = (0.93, 0.97)
EACH, MIN_PIPES = 5, 200  # one simulated pipe for so many surveys asked for, and how many at least
FEWER = 4  # times fewer where nothing is asked of the share
LENGTH_M, JOINT_M, VISCOSITY, GRAVITY = 40.0, 2.0, 1.31e-6, 9.80665
SIZES: dict[SizeKnown, float] = {"measured": 0.01, "drawing": 0.02, "assumed": 0.04}
LIMIT_DEG = 30.0
TOUCHES_M = 0.005  # above the crown of a joint: less is within what an invert is known to
FULL_ENOUGH = 0.82  # of the diameter: as much runs there as full


@dataclass(frozen=True)
class Condition:
    """A condition of pipes: what is recorded of it, and from where to where its wall's roughness lies [mm].

    Nineteen in twenty lie there, evenly in the logarithm; one in twenty lies beyond by up to a factor of 2.
    ``scale``: how many times as bad as stated the instruments are.
    """

    what: str
    material: Material
    water: WaterCarried
    codes: tuple[ObservationFields, ...]
    low_mm: float
    high_mm: float
    deposit: bool = False
    scale: float = 1.0


CONDITIONS = (
    # clean concrete, good to normal with years of use, and the value for the design of surface water drains
    Condition("surface water, nothing seen on the wall", "concrete", "surface_water", (), 0.06, 1.5),
    # slimed to half depth: from new plastics at high velocity to concrete at 0.75 m/s
    Condition("foul water, nothing seen on the wall", "concrete", "foul", (), 0.06, 3.0),
    # the surface worn, aggregate showing: concrete to old brick
    Condition(
        "foul water, wall worn", "concrete", "foul",
        ({"code": "BAF", "characterisation_1": "C", "counter_m": 9.0},), 0.3, 6.0,
    ),
    Condition("foul water, deposit all along", "concrete", "foul", (), 0.06, 3.0, True),
)  # fmt: skip
# Beyond what the product states, on purpose: what becomes of the band is reported.
BROKEN = (
    Condition(
        "foul water, instruments twice as bad as stated", "concrete", "foul", (), 0.06, 3.0, False, 2.0
    ),
    Condition("surface water, walls as in foul sewers", "concrete", "surface_water", (), 0.06, 3.0),
    Condition("foul water, walls worn and nothing of it recorded", "concrete", "foul", (), 0.3, 6.0),
)


def capacity_shares(surveys: int) -> list[Share]:
    """Return how often the bands of capacities held the truth, by the condition of the pipe."""
    draw = random.Random(SEED)  # noqa: S311 a simulation, not a secret
    shares = []
    for condition in (*CONDITIONS, *BROKEN):
        count = held = 0
        wanted = max(MIN_PIPES, surveys // EACH) // (FEWER if condition in BROKEN else 1)
        while count < wanted:
            found = _held(draw, condition)
            if found is not None:
                count, held = count + 1, held + found
        what = f"capacities inside their 95 % band: {condition.what}"
        shares.append(Share(what, count, held / count, *BANDS, condition in BROKEN))
    return shares


def _held(draw: random.Random, condition: Condition) -> bool | None:
    """One pipe: whether its band holds what it carries; None where the survey gives no number."""
    provenance = draw.choice(list(SIZES))
    nominal = draw.choice((0.15, 0.225, 0.3, 0.45, 0.6))
    true_m = nominal * (1 + draw.gauss(0, SIZES[provenance]))
    falls = _falls(draw, draw.uniform(0.006, 0.03))
    deposit = draw.choice((10, 15, 20, 30)) if condition.deposit else None
    truth = _carries(draw, true_m, falls, _wall_m(draw, condition), deposit)
    found = _surveyed(draw, condition, (nominal, provenance), falls, deposit)
    if truth is None or found is None or found["mean_m3_s"] is None:
        return None
    low, high = found["low_m3_s"], found["high_m3_s"]
    return low is not None and high is not None and low <= truth <= high


def _falls(draw: random.Random, gradient: float) -> list[float]:
    """Falls from joint to joint with the flow: settled by millimetres at each, and sagging as a whole."""
    joints = round(LENGTH_M / JOINT_M)
    sag, at = draw.gauss(0, 0.01), [k / joints for k in range(joints + 1)]
    level = [
        -gradient * LENGTH_M * u + 4 * sag * u * (1 - u) + draw.gauss(0, 0.002) * (0 < u < 1) for u in at
    ]
    return [a - b for a, b in itertools.pairwise(level)]


def _wall_m(draw: random.Random, condition: Condition) -> float:
    low, high = math.log(condition.low_mm), math.log(condition.high_mm)
    if draw.random() < 0.05:
        beyond = draw.uniform(0, math.log(2))
        return math.exp(high + beyond if draw.random() < 0.5 else low - beyond) / 1000
    return math.exp(draw.uniform(low, high)) / 1000


def _carries(
    draw: random.Random, size_m: float, falls: Sequence[float], wall_m: float, deposit: int | None
) -> float | None:
    """What the pipe really carries: the flow at which the water first reaches the crown at a joint."""
    area, wetted = math.pi * size_m**2 / 4, math.pi * size_m
    if deposit is not None:
        area, wetted = _silted(size_m, deposit / 100 + draw.gauss(0, 0.05 / 1.96))
    offsets = [abs(draw.gauss(0, 0.003)) / size_m for _ in falls]
    low, high = 0.0, 40 * area
    for _ in range(40):
        flow = (low + high) / 2
        speed = flow / area
        slope = _haaland(speed, 4 * area / wetted, wall_m)
        head, over = 0.0, False  # against the crown
        for fall, offset in zip(reversed(falls), offsets, strict=True):
            head += slope * JOINT_M + offset * speed * speed / (2 * GRAVITY) - fall
            over = over or head > TOUCHES_M
            head = max(head, -(1 - FULL_ENOUGH) * size_m)
        low, high = (low, flow) if over else (flow, high)
    return low if low > 1e-5 else None


def _haaland(speed: float, across: float, wall_m: float) -> float:
    """Head lost per length by Haaland's factor (J. Fluids Eng. 105 (1983) 89, from memory)."""
    reynolds = max(speed * across / VISCOSITY, 2300.0)
    x = -1.8 * math.log10((wall_m / across / 3.7) ** 1.11 + 6.9 / reynolds)
    return speed * speed / (2 * GRAVITY * across) / (x * x)


def _silted(size_m: float, share: float) -> tuple[float, float]:
    """Area and perimeter of a circle above a level bed of a share of its height."""
    share = min(0.9, max(0.0, share))
    angle = 2 * math.acos(1 - 2 * share)
    area = math.pi * size_m**2 / 4 - size_m**2 / 8 * (angle - math.sin(angle))
    return area, size_m * (math.pi - angle / 2) + size_m * math.sin(angle / 2)


def _surveyed(
    draw: random.Random, condition: Condition, size: tuple[float, SizeKnown], falls: Sequence[float],
    deposit: int | None,
) -> Capacity | None:  # fmt: skip
    """What the product makes of a survey of it: readings, perhaps levels at both ends."""
    nominal, provenance = size
    pipe: StretchFields = {
        "from_counter_m": 0.0, "to_counter_m": LENGTH_M, "shape": "circular", "height_mm": 1000 * nominal,
        "size_known": provenance, "material": condition.material,
    }  # fmt: skip
    run: RunFields = {"direction": "with_flow", "water_carried": condition.water, "end_counter_m": LENGTH_M}
    seen: list[ObservationFields] = [{"code": "BAB", "counter_m": 1.0}, *condition.codes]
    if deposit is not None:
        marks: tuple[tuple[float, ContinuousRole], ...] = ((0.0, "start"), (LENGTH_M, "finish"))
        seen += [
            {"code": "BBC", "characterisation_1": "A", "counter_m": m, "quantification_1": deposit,
             "continuous": {"role": role, "number": 1}}
            for m, role in marks
        ]  # fmt: skip
    observations: list[ObservationRecord] = [{"id": str(k), "fields": one} for k, one in enumerate(seen)]
    stretches: list[StretchRecord] = [{"id": "s", "fields": pipe}]
    instruments = instruments_of([], "run")
    profile = _profile(draw, falls, instruments, condition.scale)
    rough = tables.load("roughness")["rows"]
    plain = run_capacity(run, stretches, observations, rough, profile, instruments)
    items = continuous_items(observations, LENGTH_M)["items"]
    sight: Visibility = {
        "looked": True, "from_counter_m": 0.0, "to_counter_m": LENGTH_M, "clear_m": LENGTH_M, "part_m": 0.0,
        "hidden_m": 0.0, "total_m": LENGTH_M, "parts": [],
    }  # fmt: skip
    facts = CapacityFacts(run, stretches, observations, items, sight, LENGTH_M, profile, instruments.scale)
    row = limited_capacity(plain, facts, rough, tables.load("narrowings"))["rows"][0]
    return row["capacity"]


def _profile(
    draw: random.Random, falls: Sequence[float], instruments: Instruments, scale: float = 1.0
) -> LevelProfile:
    zero, levels = draw.gauss(0, scale * instruments.zero_sd_deg), [0.0]
    for fall in falls:
        levels.append(levels[-1] - fall)
    places = [k * JOINT_M for k in range(len(levels))]
    readings = [
        LevelReading(
            place, -math.degrees(math.asin(fall / JOINT_M)) + zero + _noise(draw, scale * instruments.sd_deg)
        )
        for place, fall in zip(places, falls, strict=False)
    ]
    ties = []
    if draw.random() < 0.5:
        ties = [LevelTie(places[k], levels[k] + draw.gauss(0, 0.01), 0.01) for k in (0, -1)]
    setup = LevelSetup(
        "span",
        0.0,
        None if ties else 0.0,
        0.0,
        instruments.sd_deg,
        instruments.zero_sd_deg,
        instruments.scale_sd,
        0.0,
        LIMIT_DEG,
        LENGTH_M,
    )
    return level_profile(readings, ties, setup)


def _noise(draw: random.Random, sd_deg: float) -> float:
    """Errors of one reading; one in twenty is twice as wide as stated."""
    return draw.gauss(0, sd_deg * (2 if draw.random() < 0.05 else 1))
