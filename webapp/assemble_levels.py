"""Where a run's readings lie, what levels they make, and how level ties compare."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from .pack.contents import Level, Node, Tie
from .schemas import pipe
from .survey import counter, gradient, profile
from .sync.fold import Record

NEAR_START_M = 0.5


@dataclass(frozen=True)
class Frame:
    """Turns counter readings of a run into chainages."""

    zero_m: float
    scale: float

    def place(self, counter_m: float | None) -> float | None:
        """Return the chainage of a counter reading, None for None."""
        return None if counter_m is None else counter.chainage_m(counter_m, self.zero_m, self.scale)


def over_of(inclination: dict[str, Any]) -> int:
    if not inclination.get("over_range"):
        return 0
    return 1 if inclination["sense"] == "rising" else -1


def placed_readings(raw: Sequence[Record], frame: Frame) -> list[profile.Reading]:
    """The complete readings in order of chainage; at one place the one made later comes later."""
    found = []
    for record in raw:
        where, inclination = frame.place(record.fields.get("counter_m")), record.fields.get("inclination")
        if where is not None and inclination:
            found.append(profile.Reading(where, gradient.inclination_deg(inclination), over_of(inclination)))
    return sorted(found, key=lambda r: r.chainage_m)


def levels_along(
    placed: Sequence[profile.Reading], start_level_m: float, limit_deg: float, end_m: float | None
) -> list[Level]:
    stations = profile.integrate(placed, start_level_m, limit_deg, 0.0, end_m)
    senses = {r.chainage_m: r.over for r in placed if r.over}
    rising = falling = False
    found, before = [], 0
    for station in stations:
        over = senses.get(station.chainage_m, 0)
        rising, falling = rising or 1 in (over, before), falling or -1 in (over, before)
        before = over
        found.append(
            Level(station.chainage_m, station.low_m, station.high_m, station.known,
                  _sense(station.low_m, station.high_m, rising, falling))
        )  # fmt: skip
    return found


def _sense(low_m: float, high_m: float, rising: bool, falling: bool) -> str:
    if low_m == high_m:
        return ""
    if rising and falling:
        return "between"
    return "at_least" if rising else "at_most"


def level_at(levels: Sequence[Level], chainage_m: float | None) -> Level | None:
    """Return the level at a chainage, straight between the stations; None outside them."""
    if chainage_m is None or not levels:
        return None
    if not levels[0].chainage_m <= chainage_m <= levels[-1].chainage_m:
        return None
    before = levels[0]
    for here in levels:
        if here.chainage_m >= chainage_m:
            step = here.chainage_m - before.chainage_m
            share = (chainage_m - before.chainage_m) / step if step > 0 else 1.0
            worse = here if share > 0 else before
            return Level(
                chainage_m,
                before.low_m + share * (here.low_m - before.low_m),
                before.high_m + share * (here.high_m - before.high_m),
                worse.known,
                worse.sense,
            )
        before = here
    return None


def start_level(
    ties: Sequence[Record], start: Node | None, frame: Frame, relative: Sequence[Level]
) -> tuple[float | None, str, str]:
    """Where the levels begin: a tie at the start, else the start node's dip, else the nearest tie."""
    usable = []
    for tie in ties:
        where, level_m = frame.place(tie.fields.get("counter_m")), tie.fields.get("invert_level_m")
        here = level_at(relative, where)
        if where is not None and level_m is not None and here and not here.sense:
            usable.append((abs(where), tie.id, level_m - here.low_m))
    usable.sort()
    if usable and usable[0][0] <= NEAR_START_M:
        return usable[0][2], "measured: level tie at the start", usable[0][1]
    if start and start.invert_m is not None:
        return start.invert_m, "measured: cover level less dip of the start node", ""
    if usable:
        return usable[0][2], f"computed back from the level tie at {usable[0][0]:.2f} m", usable[0][1]
    return None, "not known: levels are relative to the start", ""


def ties_of(
    raw: Sequence[Record], frame: Frame, levels: Sequence[Level], start_tie: str, absolute: bool
) -> list[Tie]:
    found = []
    for record in raw:
        f = record.fields
        where, level_m = frame.place(f.get("counter_m")), f.get("invert_level_m")
        here = level_at(levels, where) if absolute else None
        misclosure = contradicts = None
        if here and level_m is not None and record.id != start_tie:
            if here.sense:
                contradicts = not here.low_m <= level_m <= here.high_m
            else:
                misclosure = here.low_m - level_m
        method = pipe.TIE_METHODS.get(f.get("method") or "", "Not recorded")
        found.append(
            Tie(record.id, f.get("counter_m"), where, level_m, f.get("sd_m"), method, f.get("remark") or "",
                here, misclosure, record.id == start_tie, bool(contradicts))
        )  # fmt: skip
    return sorted(found, key=lambda t: t.chainage_m or 0.0)
