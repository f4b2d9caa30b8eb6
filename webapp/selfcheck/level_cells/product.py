"""A simulated survey as records, and what the product says of it, called as phone and pack call it."""

from collections.abc import Sequence
from dataclasses import dataclass

from ... import tables
from ...figures.findings import findings_of
from ...figures.run_figures import TABLES, RunFigures, run_figures
from ...figures.run_records import RunRecords
from ...survey.instruments.counter import chainage_m
from ...survey.levels.at import level_at
from ...survey.levels.band import band_95
from ...survey.records import (
    CheckFields,
    CheckRecord,
    Inclination,
    LevelTieRecord,
    ReadingRecord,
    RunFields,
    StretchFields,
)
from .survey import SD_DEG, TAPE_SD_M, TAPED_M, Survey


@dataclass(frozen=True)
class Stated:
    """A level as the product states it [m]: with a value or between bounds; None where it says nothing."""

    level_m: float | None
    low_m: float | None
    high_m: float | None


def figures_of(survey: Survey) -> RunFigures:
    """Return the product's figures of a survey."""
    run: RunFields = {
        "direction": "with_flow", "end_counter_m": survey.end_m, "end_reason": "node_reached",
    }  # fmt: skip
    pipe: StretchFields = {"from_counter_m": 0.0, "to_counter_m": survey.end_m, "shape": "circular"}
    if survey.pipe_m is not None:
        pipe["pipe_unit_length_m"] = survey.pipe_m
    records = RunRecords(
        checks=_checks(survey), readings=_readings(survey), level_ties=_ties(survey),
        stretches=[{"id": "s", "fields": pipe}],
    )  # fmt: skip
    return run_figures({"id": "r", "fields": run}, records, {}, tables.by_name(*TABLES))


def stated(found: RunFigures, counter_m: float) -> Stated:
    """Return the level that the product states where the counter shows so much."""
    station = None
    if found.profile is not None:
        station = level_at(found.profile, chainage_m(counter_m, 0.0, found.instruments.scale))
    if station is None:
        return Stated(None, None, None)
    band = band_95(station)
    low, high = band if band else (None, None)
    return Stated(station.level_m, low, high)


def said(found: RunFigures) -> set[str]:
    """Return the codes of what the product says of readings, levels and instruments."""
    codes = {one["code"] for one in findings_of(found.source, found.tables["observation_codes"]["rows"])}
    codes |= {one["code"] for one in found.level_findings}
    if found.profile is not None:
        codes |= {f"suspect_{one.kind}" for one in found.profile.blunders}
        codes |= {"gap_contradicted" for gap in found.profile.gaps if not gap.consistent}
    return codes


def _checks(survey: Survey) -> Sequence[CheckRecord]:
    ahead, back, taped = survey.checked
    checks: list[CheckFields] = [
        {"check_type": "inclinometer_limit", "limit_deg": survey.limit_deg, "sd_deg": SD_DEG},
        {"check_type": "counter_tape", "counter_from_m": 0.0, "counter_to_m": TAPED_M,
         "taped_length_m": taped, "taped_length_sd_m": TAPE_SD_M},
        _reversed(ahead, back),
    ]  # fmt: skip
    if survey.after is not None:
        checks.append(_reversed(*survey.after))
    return [{"id": f"c{k}", "fields": one} for k, one in enumerate(checks)]


def _reversed(ahead: float, back: float) -> CheckFields:
    one, other = _inclination(ahead), _inclination(back)
    return {"check_type": "inclinometer_reversed", "reading_forward": one, "reading_reversed": other}


def _readings(survey: Survey) -> Sequence[ReadingRecord]:
    return [
        {"id": f"r{k}", "fields": {
            "counter_m": one.counter_m,
            "inclination": {"sense": "rising" if one.rises else "falling", "over_range": True}
            if one.deg is None else _inclination(one.deg)}}
        for k, one in enumerate(survey.readings)
    ]  # fmt: skip


def _ties(survey: Survey) -> Sequence[LevelTieRecord]:
    return [
        {"id": f"t{k}", "fields": {
            "counter_m": place, "invert_level_m": level, "sd_m": sd, "method": "levelled"}}
        for k, (place, level, sd) in enumerate(survey.levels)
    ]  # fmt: skip


def _inclination(deg: float) -> Inclination:
    return {
        "size": abs(deg), "unit": "deg", "sense": "rising" if deg > 0 else "falling" if deg < 0 else "level",
    }  # fmt: skip
