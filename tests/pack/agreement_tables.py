"""The tables of a pack against the figures: readings, observations, levels, falls."""

import re

from open_pack import by_id, digits_of, same, shown

SHARED_LEVEL = ("level_m", "sd_m", "low_m", "high_m")


def _cells(row, pairs):
    for name, value, digits in pairs:
        if not same(row[name], value, digits):
            yield f"{row['run']} {name} {row[name]!r}, figures {value}"


def _level(level, prefix="level_"):
    values = [None] * 4 if level is None else [level[name] for name in SHARED_LEVEL]
    names = (prefix + "m", prefix + "sd_m", prefix + "low_m", prefix + "high_m")
    return [(name, value, 4) for name, value in zip(names, values, strict=True)]


def readings(pack):
    """readings.csv."""
    found, rows = by_id(pack, "readings"), pack.rows("readings.csv")
    if {row["record_id"] for row in rows} != set(found):
        yield "not the same readings"
    for row in rows:
        one = found[row["record_id"]]
        yield from _cells(
            row, [("counter_m", one["counter_m"], 9), ("chainage_m", one["chainage_m"], 4),
                  ("inclination_deg", one["deg"], 5), *_level(one["level"])],
        )  # fmt: skip
        if (row["beyond_range"] == "yes") != (one["over"] != 0):
            yield f"{row['run']}: beyond the range {row['beyond_range']}"
        if row["level_how_known"] != (one["level"] or {"known": ""})["known"]:
            yield f"{row['run']}: level known {row['level_how_known']}, figures {one['level']}"


def observations(pack):
    """observations.csv, and the report where it lists them."""
    found, rows = by_id(pack, "observations"), pack.rows("observations.csv")
    if [row["record_id"] for row in rows] != list(found):
        yield "not the same observations in the same order"
    for row in rows:
        one = found[row["record_id"]]
        yield from _cells(
            row, [("counter_m", one["counter_m"], 9), ("chainage_m", one["chainage_m"], 4),
                  *_level(one["level"])],
        )  # fmt: skip
        if pack.report:
            at = "no place" if one["chainage_m"] is None else f"{shown(one['chainage_m'], 2)} m"
            if not re.search(rf"{re.escape(at)} .{{0,400}}{re.escape(one['code'])}", pack.report):
                yield f"{row['run']}: {one['code']} at {at} is not in the report"


def levels(pack):
    """levels.csv and the table of levels in text."""
    rows = pack.rows("levels.csv")
    for run in pack.figures["runs"]:
        mine = [r for r in rows if r["run"] == run["run_ref"] and r["meaning"] != "level tie"]
        if pack.refs.count(run["run_ref"]) > 1:
            continue
        if len(mine) != len(run["levels"]):
            yield f"{run['run_ref']}: {len(mine)} levels, figures {len(run['levels'])}"
            continue
        for row, one in zip(mine, run["levels"], strict=True):
            bands = [("band_95_low_m", one["band_low_m"], 4), ("band_95_high_m", one["band_high_m"], 4)]
            names = ("chainage_m", *SHARED_LEVEL)
            yield from _cells(row, [*((name, one[name], 4) for name in names), *bands])
            if row["known"] != one["known"]:
                yield f"{row['run']}: known {row['known']}, figures {one['known']}"
            if one["level_m"] is not None:
                spread = shown(one["sd_m"], digits_of(one["sd_m"]))
                line = f"{shown(one['chainage_m'], 2)} {shown(one['level_m'], 3)} {spread} m"
                if line not in pack.printed:
                    yield f"{row['run']}: {line} is not in the text"
        ties = [r for r in rows if r["run"] == run["run_ref"] and r["meaning"] == "level tie"]
        for row, tie in zip(ties, run["ties"], strict=True):
            yield from _cells(
                row, [("chainage_m", tie["chainage_m"], 4), ("tie_level_m", tie["invert_level_m"], 4),
                      ("tie_less_adjusted_m", tie["after_m"], 4)],
            )  # fmt: skip


def falls(pack):
    """falls.csv; its lengths add up to the rise of the run."""
    rows = pack.rows("falls.csv")
    for run in pack.figures["runs"]:
        mine = [r for r in rows if r["run"] == run["run_ref"]]
        if pack.refs.count(run["run_ref"]) > 1:
            continue
        if len(mine) != len(run["lengths"]):
            yield f"{run['run_ref']}: {len(mine)} lengths, figures {len(run['lengths'])}"
            continue
        for row, one in zip(mine, run["lengths"], strict=True):
            yield from _cells(
                row, [("from_m", one["from_m"], 4), ("to_m", one["to_m"], 4), ("fall_m", one["fall_m"], 4),
                      ("fall_sd_m", one["sd_m"], 4), ("inclination_deg", one["deg"], 5)],
            )  # fmt: skip
        each = [one["fall_m"] for one in run["lengths"]]
        rise = run["rise"]
        if each and None not in each and rise and abs(sum(each) + rise["value_m"]) > 1e-6:
            yield f"{run['run_ref']}: falls add up to {sum(each)}, the rise is {rise['value_m']}"
        if rise and rise["value_m"] is not None:
            way, places = "rises" if rise["value_m"] > 0 else "falls", digits_of(rise["sd_m"])
            size, spread = shown(abs(rise["value_m"]), places), shown(rise["sd_m"], places)
            known = rise["known"] + (" by the level ties" if rise["known"] == "contradicted" else "")
            output = f"{way} {size} m (sd {spread} m) ({known})"
            if float(size) and output not in pack.printed:
                yield f"{run['run_ref']}: the text does not say that it {output}"
