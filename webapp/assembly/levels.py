"""The levels of a run with their ties and gaps, as the pack prints them."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from typing import Any

from ..figures.run_figures import RunFigures
from ..records.fold import Record
from ..report_model.levels import Gap, Level, Rise, Tie
from ..schemas import pipe
from ..survey.instruments.counter_resets import shown_m
from ..survey.levels.at import level_at
from ..survey.levels.band import band_95
from ..survey.levels.input import NOT_READ
from ..survey.levels.levels import LevelProfile, LevelStation
from ..survey.records import LevelTieFields
from ..survey.wording.messages import Words, message


def level_of(station: LevelStation, sense: str, tied_m: Sequence[float] = ()) -> Level:
    """Return a station as the pack prints it; ``tied_m``: the levels measured there."""
    band = band_95(station)
    low, high = band if band else (None, None)
    sd = station.sd_m
    return Level(
        station.chainage_m,
        station.level_m,
        sd,
        station.low_m,
        station.high_m,
        low,
        high,
        station.known,
        sense,
        tuple(tied_m),
    )


def levels_of(found: RunFigures) -> list[Level]:
    """Return all stations."""
    if found.profile is None or not found.senses:
        return []
    tied = _tied(found)
    return [
        level_of(s, sense, tied.get(s.chainage_m, ()))
        for s, sense in zip(found.profile.stations, found.senses, strict=True)
    ]


def level_there(found: RunFigures, chainage_m: float | None) -> Level | None:
    """Return the level at a place; None where there is none."""
    if found.profile is None or not found.senses or chainage_m is None:
        return None
    station = level_at(found.profile, chainage_m)
    if station is None:
        return None
    tied_m = _tied(found).get(station.chainage_m, ()) if station.known == "adjusted" else ()
    return level_of(station, _sense_there(found, found.profile, station), tied_m)


def _tied(found: RunFigures) -> dict[float, list[float]]:
    """The levels measured at each station that has a tie, by its chainage."""
    levels: dict[float, list[float]] = {}
    if found.profile is not None:
        for check in found.profile.ties:
            place = found.profile.stations[check.station].chainage_m
            levels.setdefault(place, []).append(found.model.ties[check.tie].level_m)
    return levels


def _sense_there(found: RunFigures, profile: LevelProfile, station: LevelStation) -> str:
    if station.level_m is not None:
        return ""
    ahead = bisect_left(profile.stations, station.chainage_m - 1e-9, key=lambda s: s.chainage_m)
    return found.senses[ahead] or found.senses[ahead - 1] or "between"


def rise_of(found: RunFigures) -> Rise | None:
    """Return how the invert changes from the start of a run to its end."""
    value, provenance = found.rise, found.rise_known
    if value is None:
        return None
    if not value.settled:
        return Rise(None, None, value.low_m, value.high_m, provenance)
    return Rise(value.value_m, value.sd_m, value.value_m, value.value_m, provenance)


def ties_of(
    words: Words, found: RunFigures, raw: Sequence[Record[LevelTieFields]], nodes: Mapping[str, str]
) -> list[Tie]:
    """Return the level ties by chainage, then those that do not count."""
    model, profile = found.model, found.profile
    records = {r.id: r.fields for r in raw}
    checks = {c.tie: c for c in profile.ties} if profile else {}
    suspects = {b.index for b in profile.blunders if b.kind == "tie"} if profile else set()
    rows = []
    for place, (tie, identity) in enumerate(zip(model.ties, model.tie_ids, strict=True)):
        f, check = records.get(identity, {}), checks.get(place)
        method = _method(words, f)
        if identity not in records:
            node = nodes.get(identity) or message(words, "pack.tie.node", {})
            method = message(words, "pack.tie.cover_less_dip", {"node": node})
        # with an unknown start the first tie is carried by itself: nothing is before it
        before = check.before_m if check and place != _first(model.ties) else None
        there = profile.stations[check.station] if profile and check else None
        rows.append(
            Tie(
                identity, shown_m(f, "counter_m"), tie.chainage_m, tie.level_m, tie.sd_m,
                model.tie_known[place], method, f.get("remark") or "", before,
                check.after_m if check else None, check.rest_m if check else None,
                check.rest_sd_m if check else None, check.standardised if check else None,
                place in suspects, "", there.level_m if there else None, there.sd_m if there else None,
            )
        )  # fmt: skip
    rows.sort(key=lambda t: t.chainage_m or 0.0)
    left_out = {one["id"]: one["code"] for one in model.left_out if one["id"] in records}
    for identity, code in left_out.items():
        f = records[identity]
        method = _method(words, f)
        rows.append(
            Tie(
                identity, shown_m(f, "counter_m"), None, f.get("invert_level_m"), f.get("sd_m"), "measured",
                method, f.get("remark") or "", None, None, None, None, None, False, code, None, None,
            )
        )  # fmt: skip
    return rows


def _method(words: Words, f: Mapping[str, Any]) -> str:
    return pipe.TIE_METHODS.get(f.get("method") or "") or message(words, "pack.not_recorded_label", {})


def _first(ties: Sequence[Any]) -> int:
    return min(range(len(ties)), key=lambda k: ties[k].chainage_m)


def gaps_of(found: RunFigures) -> list[Gap]:
    """Return the readings beyond the range."""
    if found.profile is None:
        return []
    rows = []
    for gap in found.profile.gaps:
        reading = found.model.readings[gap.reading]
        if gap.own_m <= 0 and reading.over != NOT_READ:
            continue  # beside where it was read, behind a level taken
        rows.append(
            Gap(
                found.model.reading_ids[gap.reading], reading.chainage_m, *_extent(found, gap.reading),
                reading.over, gap.length_m,
                gap.status, gap.consistent, gap.low_m, gap.high_m, gap.low_deg, gap.high_deg, gap.rise_m,
                gap.sd_m, gap.deg, gap.sd_deg,
            )
        )  # fmt: skip
    return rows


def _extent(found: RunFigures, k: int) -> tuple[float, float]:
    """From where the reading before ends to where the next one stands, or to the end of the levels."""
    readings, begin_m = found.model.readings, 0.0
    if k:
        before = readings[k - 1]
        begin_m = before.chainage_m if before.to_m is None else before.to_m
    if k + 1 < len(readings) or found.profile is None:
        return begin_m, readings[min(k + 1, len(readings) - 1)].chainage_m
    return begin_m, found.profile.stations[-1].chainage_m
