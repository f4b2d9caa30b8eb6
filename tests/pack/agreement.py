"""Says in which shared values the files of a pack differ.

``fallbook figures --json`` of the same job is the yardstick; the texts are read from the PDF itself.
"""

import re
from collections import Counter

from agreement_report import capacity, condition, disputes, page_one, sight
from agreement_tables import falls, levels, observations, readings
from exchange_reader import read_file
from open_pack import Pack, by_id, recorded_runs, shown

MARKED = ("A", "B", "C", "D", "E", "G/H", "I", "J", "K")


def disagreements(data, job):
    """Return, in words, every value that two files of a pack do not share."""
    pack = Pack(data, job)
    checks = (
        readings, observations, levels, falls, condition, plan, exchange, sight, capacity, page_one, photos,
        drawing, contents_of_the_manifest, disputes,
    )  # fmt: skip
    return [f"{check.__name__}: {one}" for check in checks for one in check(pack)]


def plan(pack):
    """plan.geojson: lengths, ellipse, places."""
    traced = {f["properties"]["record_id"]: f for f in pack.places if f["properties"]["kind"] == "trace"}
    placed = {
        f["properties"]["record_id"]: f for f in pack.places if f["properties"]["kind"] == "observation"
    }
    seen = by_id(pack, "observations")
    for run_id, run in pack.runs.items():
        trace = run["trace"]
        on_ground = bool(trace and trace["points"] and trace["points"][0]["lat_deg"] is not None)
        if on_ground != (run_id in traced):
            yield f"{run['run_ref']}: on the ground {on_ground}, in the plan {run_id in traced}"
        if not on_ground or run_id not in traced:
            continue
        line = traced[run_id]
        if abs(line["properties"]["length_m"] - trace["length_m"]) > 0.00051:
            yield f"{run['run_ref']}: length {line['properties']['length_m']}, figures {trace['length_m']}"
        ends = [[one["lon_deg"], one["lat_deg"]] for one in trace["points"]]
        for reported, end in zip(line["geometry"]["coordinates"], ends, strict=True):
            if max(abs(a - b) for a, b in zip(reported, end, strict=True)) > 1e-7:
                yield f"{run['run_ref']}: {reported} in the plan, figures {end}"
        end = trace["points"][-1]
        output = [shown(abs(end[name]), 6) for name in ("lat_deg", "lon_deg")]
        if not all(one in pack.printed for one in output):
            yield f"{run['run_ref']}: the text has its end nowhere near {output}"
        for one in trace["placed"]:
            if one["record_id"] in seen and one["lat_deg"] is not None:
                reported = placed.get(one["record_id"])
                at_m = seen[one["record_id"]]["chainage_m"]
                if reported is None or abs(reported["properties"]["chainage_m"] - at_m) > 0.00051:
                    yield f"{run['run_ref']}: {one} in the plan as {reported}, observed at {at_m}"


def exchange(pack):
    """inspection.txt: the same observations at the same places, and what is not settled is marked."""
    if not pack.figures["runs"]:
        return
    _, inspections = read_file(pack.files["inspection.txt"])
    rows = pack.rows("observations.csv")
    recorded = recorded_runs(pack)
    if len(inspections) != len(recorded):
        yield f"{len(inspections)} inspections, {len(recorded)} runs"
        return
    for (run, places, turned), (_, reported) in zip(recorded, inspections, strict=True):
        mine = [r for r in rows if r["record_id"] in places and r["chainage_m"] and r["code"]]
        if turned:  # what goes on starts there where it ends here, and left is right
            mine = [r for r in mine if not r["continuous_role"] and r["code"] != "BCC"]
            reported = [t for t in reported if not t.get("J")]
        want = Counter(_exchanged(r, places[r["record_id"]]) for r in mine)
        codes = {r["code"] for r in mine}
        have = Counter(_reported(t) for t in reported if t["A"] in codes)
        # A photo of the run alone is told as an observation; an observation may have the same picture.
        loose = {photo["filename"] for photo in run["photos"]}
        more = [one for one in (have - want).elements() if one[1] != "BDA" or one[-1] not in loose]
        if more or want - have:
            yield f"{run['run_ref']}: only there {more}, only here {sorted(want - have)}"


def _reported(row):
    sizes = [row.get(name, "") for name in "BCDE"]
    marked = row.get("F", "").startswith("NOT SETTLED")
    return (row["I"], row["A"], *sizes, row.get("J", "")[:1], marked, row.get("M", ""))


def _exchanged(row, at_m):
    role = {"start": "A", "finish": "B", "change": "C"}.get(row["continuous_role"], "")
    sizes = [f"{float(row[n]):g}" if row[n] else "" for n in ("quantification_1", "quantification_2")]
    return (
        shown(at_m, 2).replace("−", "-"), row["code"], row["characterisation_1"],
        row["characterisation_2"], *sizes, role, row["disputed"] == "yes", row["photos"].split(" ")[0],
    )  # fmt: skip


def photos(pack):
    """Photos lie where their observation lies, in the zip or named as left out."""
    left_out = {one["sha256"] for one in pack.manifest["photos_left_out"]}
    found = by_id(pack, "observations")
    for row in pack.rows("observations.csv"):
        times = [photo["taken_at"] or "unknown" for photo in found[row["record_id"]]["photos"]]
        if row["photos_taken_at"].split() != times:
            yield f"{row['run']}: photos taken at {row['photos_taken_at']}, figures {times}"
        for name in row["photos"].split():
            if name not in pack.files and name.removeprefix("photos/").split(".")[0] not in left_out:
                yield f"{row['run']}: {name} is nowhere"
    for run in pack.figures["runs"]:
        for one in run["observations"]:
            for photo in one["photos"]:
                if one["chainage_m"] is None or photo["chainage_m"] == one["chainage_m"]:
                    continue
                ends = one["chainage_m"], one["finish_m"]  # of a length it may begin there where it ends here
                if not run["length"] or None in ends or not ends[0] <= photo["chainage_m"] <= ends[1]:
                    yield f"{run['run_ref']}: a photo at {photo['chainage_m']} of {one['chainage_m']}"


def drawing(pack):
    """levels.svg names every tie and both ends."""
    drawn = sorted(re.findall(r">tie ([−\d.]+)<", pack.files["levels.svg"].decode()))
    want = sorted(
        shown(tie["invert_level_m"], 3) for run in pack.figures["runs"] if len(run["levels"]) > 1
        for tie in run["ties"] if tie["chainage_m"] is not None and not tie["left_out"]
    )  # fmt: skip
    if drawn != want:
        yield f"ties {drawn}, figures {want}"


def contents_of_the_manifest(pack):
    """What is not closed, and what is in dispute."""
    reported = [
        (one["code"], one["record_id"], one["sentence"]) for one in pack.manifest["not_closed_on_site"]
    ]
    want = [(one["code"], one["record_id"], one["sentence"]) for one in pack.figures["not_closed_on_site"]]
    if reported != want:
        yield f"not closed: {reported} and {want}"
