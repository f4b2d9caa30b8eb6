"""Reads every file of a pack as a stranger would, and says in which shared values they differ.

``fallbook figures --json`` of the same job is the yardstick; the texts are read from the PDF itself.
"""

import csv
import io
import json
import re
import zipfile
from collections import Counter
from pathlib import Path

import pdf_facts
from click.testing import CliRunner
from exchange_reader import read_file

from webapp.cli import main

CODES = Path(__file__).resolve().parents[2] / "webapp" / "tables" / "observation_codes.json"
DEFECTS = {
    row["code"] for row in json.loads(CODES.read_text(encoding="utf-8"))["rows"]
    if row["group"] in ("fabric", "operation")
}  # fmt: skip
GOALS = ("tightness", "stability", "operation")
SHARED_LEVEL = ("level_m", "sd_m", "low_m", "high_m")
MARKED = ("A", "B", "C", "D", "E", "G/H", "I", "J", "K")


class Pack:
    """The files of a pack, opened, beside the figures of the same job."""

    def __init__(self, data, job):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            self.files = {name: archive.read(name) for name in archive.namelist()}
        done = CliRunner().invoke(main, ["figures", "--json", "-"], input=json.dumps(job))
        assert done.exit_code == 0, done.output
        self.figures = json.loads(done.stdout)
        self.told = flat(CliRunner().invoke(main, ["figures", "-"], input=json.dumps(job)).stdout)
        self.runs = {run["run_id"]: run for run in self.figures["runs"]}
        self.refs = [run["run_ref"] for run in self.figures["runs"]]
        self.manifest = json.loads(self.files["manifest.json"])
        self.places = json.loads(self.files["plan.geojson"])["features"]
        pages = pdf_facts.text(self.files["report.pdf"]) if "report.pdf" in self.files else []
        self.pages = [flat(page) for page in pages]
        self.report = " ".join(self.pages)
        self.one = self.pages[0] + (" " + self.pages[1] if len(pages) > 1 else "") if pages else ""

    def rows(self, name):
        """The rows of a CSV."""
        text = self.files[name].decode("utf-8-sig")
        return list(csv.DictReader(io.StringIO(text, newline="")))


def flat(text):
    """Text on one line."""
    return " ".join(text.split())


def shown(value, places):
    """A number as people read it, rounded half away from zero."""
    whole = int(abs(value) * 10**places + 0.5 + 1e-9)
    text = f"{whole / 10**places:.{places}f}"
    return f"−{text}" if value < 0 and whole else text


def digits_of(sd_m):
    """With how many decimals a value stands beside its spread."""
    return 3 if sd_m < 0.1 else 2 if sd_m < 1 else 1


def same(told, value, digits=4):
    """Whether a cell holds a number of the figures, to so many decimals."""
    if value is None or told == "":
        return value is None and told == ""
    return abs(float(told) - value) <= 0.51 * 10**-digits


def disagreements(data, job):
    """Return, in words, every value that two files of a pack do not share."""
    pack = Pack(data, job)
    checks = (
        readings, observations, levels, falls, condition, plan, exchange, sight, capacity, page_one, photos,
        drawing, contents_of_the_manifest, disputes,
    )  # fmt: skip
    return [f"{check.__name__}: {one}" for check in checks for one in check(pack)]


def _cells(row, pairs):
    for name, value, digits in pairs:
        if not same(row[name], value, digits):
            yield f"{row['run']} {name} {row[name]!r}, figures {value}"


def _level(level, prefix="level_"):
    values = [None] * 4 if level is None else [level[name] for name in SHARED_LEVEL]
    names = (prefix + "m", prefix + "sd_m", prefix + "low_m", prefix + "high_m")
    return [(name, value, 4) for name, value in zip(names, values, strict=True)]


def _by_id(pack, kind):
    return {one["record_id"]: one for run in pack.figures["runs"] for one in run[kind]}


def readings(pack):
    """readings.csv."""
    found, rows = _by_id(pack, "readings"), pack.rows("readings.csv")
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
    found, rows = _by_id(pack, "observations"), pack.rows("observations.csv")
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
                if line not in pack.told:
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
            said = f"{way} {size} m, sd {spread} m ({known})"
            if float(size) and said not in pack.told:
                yield f"{run['run_ref']}: the text does not say that it {said}"


def condition(pack):
    """condition.csv: the worst of its rows is the class of the run, wherever that is said."""
    rows = pack.rows("condition.csv")
    graded = {
        id(one) for run in pack.figures["runs"] for one in (run["condition"] or {"graded": []})["graded"]
    }
    if len(rows) != len(graded):
        yield f"{len(rows)} classes, figures {len(graded)}"
    for run in pack.figures["runs"]:
        found = run["condition"]
        if found is None or pack.refs.count(run["run_ref"]) > 1:
            continue
        mine = [r for r in rows if r["run"] == run["run_ref"]]
        for row, one in zip(mine, found["graded"], strict=True):
            if (row["record_id"], row["goal"], row["class_least"], row["class_most"], row["why"]) != (
                one["record_id"], one["goal"], str(one["low"]), str(one["high"]), one["why"],
            ):  # fmt: skip
                yield f"{row['run']}: {row} is not {one}"
        for goal, told in zip(GOALS, found["classes"], strict=True):
            each = [r for r in mine if r["goal"] == goal]
            low = max((int(r["class_least"]) for r in each), default=0)
            high = max((int(r["class_most"]) for r in each), default=0)
            if (told["goal"], told["low"], told["high"]) != (goal, low, high):
                yield f"{run['run_ref']}: {goal} {told['low']} to {told['high']}, the rows {low} to {high}"
        if pack.report:
            for told in found["classes"]:
                if told["words"] not in pack.report:
                    yield f"{run['run_ref']}: the report does not say {told['words']!r}"


def plan(pack):
    """plan.geojson: lengths, ellipse, places."""
    traced = {f["properties"]["record_id"]: f for f in pack.places if f["properties"]["kind"] == "trace"}
    placed = {
        f["properties"]["record_id"]: f for f in pack.places if f["properties"]["kind"] == "observation"
    }
    seen = _by_id(pack, "observations")
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
        for told, end in zip(line["geometry"]["coordinates"], ends, strict=True):
            if max(abs(a - b) for a, b in zip(told, end, strict=True)) > 1e-7:
                yield f"{run['run_ref']}: {told} in the plan, figures {end}"
        end = trace["points"][-1]
        said = [shown(abs(end[name]), 6) for name in ("lat_deg", "lon_deg")]
        if not all(one in pack.told for one in said):
            yield f"{run['run_ref']}: the text has its end nowhere near {said}"
        for one in trace["placed"]:
            if one["record_id"] in seen and one["lat_deg"] is not None:
                told = placed.get(one["record_id"])
                at_m = seen[one["record_id"]]["chainage_m"]
                if told is None or abs(told["properties"]["chainage_m"] - at_m) > 0.00051:
                    yield f"{run['run_ref']}: {one} in the plan as {told}, observed at {at_m}"


def exchange(pack):
    """inspection.txt: the same observations at the same places, and what is not settled is marked."""
    if not pack.figures["runs"]:
        return
    _, inspections = read_file(pack.files["inspection.txt"])
    rows = pack.rows("observations.csv")
    recorded = _recorded(pack)
    if len(inspections) != len(recorded):
        yield f"{len(inspections)} inspections, {len(recorded)} runs"
        return
    for (run, places, turned), (_, told) in zip(recorded, inspections, strict=True):
        mine = [r for r in rows if r["record_id"] in places and r["chainage_m"] and r["code"]]
        if turned:  # what goes on starts there where it ends here, and left is right
            mine = [r for r in mine if not r["continuous_role"] and r["code"] != "BCC"]
            told = [t for t in told if not t.get("J")]
        want = Counter(_exchanged(r, places[r["record_id"]]) for r in mine)
        codes = {r["code"] for r in mine}
        have = Counter(_told(t) for t in told if t["A"] in codes)
        # A photo of the run alone is told as an observation; an observation may have the same picture.
        loose = {photo["filename"] for photo in run["photos"]}
        more = [one for one in (have - want).elements() if one[1] != "BDA" or one[-1] not in loose]
        if more or want - have:
            yield f"{run['run_ref']}: only there {more}, only here {sorted(want - have)}"


def _recorded(pack):
    """The recorded runs in order: that of the figures, observations from its own start, whether turned."""
    found = {}
    for run in pack.figures["runs"]:
        length = run["length"]
        if length is None or not length["joined"]:
            places = {one["record_id"]: one["chainage_m"] for one in run["observations"]}
            found[run["run_id"]] = run, places, False
            continue
        for piece in length["runs"]:
            places, turned = {}, piece["from_other_end"]
            for one in run["observations"]:
                at_m = one["chainage_m"]
                if one["recorded_in_run"] == piece["ref"]:
                    places[one["record_id"]] = (
                        length["length_m"] - at_m if turned and at_m is not None else at_m
                    )
            found[piece["record_id"]] = run, places, turned
    return [found[name] for name in sorted(found)]


def _told(row):
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


def sight(pack):
    """What was seen adds up, is in every text, and leaves the classes open where it must."""
    for run in pack.figures["runs"]:
        found, ref = run["sight"], run["run_ref"]
        if found["total_m"] is not None:
            total = sum(found[name] for name in ("clear_m", "part_m", "hidden_m"))
            whole_m = run["surveyed_m"] + ((run["length"] or {}).get("not_surveyed_m") or 0.0)
            if abs(total - found["total_m"]) > 1e-6 or abs(found["total_m"] - whole_m) > 1e-6:
                yield f"{ref}: {total} m seen and not, {found['total_m']} m, surveyed {run['surveyed_m']}"
            parts = sum(one["length_m"] for one in found["parts"])
            if abs(parts - found["total_m"]) > 1e-6:
                yield f"{ref}: parts of {parts} m in {found['total_m']} m"
        texts = [("text", pack.told), *([("report", pack.report)] if pack.report else [])]
        for name, text in texts:
            for words in (found["words"], *(h["words"] for h in found["hazards"])):
                if flat(words) not in text:
                    yield f"{ref}: the {name} does not say {words!r}"
        unseen_m = found["hidden_m"] if found["looked"] else found["total_m"]
        if unseen_m and unseen_m > 0.005 and run["condition"]:
            for one in run["condition"]["classes"]:
                if "not known" not in one["words"]:
                    yield f"{ref}: class {one['words']!r} with {unseen_m} m not seen"


def capacity(pack):
    """The run's number is that of its table, is the least, and stands alike in every text."""
    for run in pack.figures["runs"]:
        bottleneck, rows, ref = run["bottleneck"], run["capacities"], run["run_ref"]
        for row in rows:
            band = [row[name] for name in ("low_m3_s", "mean_m3_s", "high_m3_s")]
            known = [one for one in band if one is not None]
            if known != sorted(known):
                yield f"{ref}: band {band}"
            if row["left_out"] and known:
                yield f"{ref}: {row['left_out']} and a number"
        if bottleneck is None or bottleneck["index"] is None:
            continue
        row = rows[bottleneck["index"]]
        mean = row["mean_m3_s"]
        if mean is None:
            continue
        least = min(r["mean_m3_s"] for r in rows if r["mean_m3_s"] is not None)
        if mean > least:
            yield f"{ref}: carries {mean}, a stretch of it {least}"
        whole = run["whole_run"] or row
        if whole["mean_m3_s"] is not None and whole["mean_m3_s"] > least * (1 + 1e-9):
            yield f"{ref}: the whole carries {whole['mean_m3_s']}, a stretch of it {least}"
        for name, text, one in (("text", pack.told, row), ("page one", pack.one or pack.told, whole)):
            if band_text(one) not in text and len(rows) < 9:
                yield f"{ref}: the {name} does not say {band_text(one)!r}"


def band_text(one):
    """A capacity with its band, as people read it."""
    low, mean, high = (
        None if one[n] is None else litres(one[n]) for n in ("low_m3_s", "mean_m3_s", "high_m3_s")
    )
    return f"between {low} and {high} l/s" if mean is None else f"{mean} l/s, 95 % band {low} to {high} l/s"


def litres(m3_s):
    """A flow in litres a second, to three figures or whole litres."""
    value = m3_s * 1000
    return shown(value, 0 if value >= 99.95 else 1 if value >= 9.995 else 2)


def page_one(pack):
    """Tiles and lists of page one."""
    if not pack.one:
        return
    rows = pack.rows("observations.csv")
    for run in pack.figures["runs"]:
        if len(pack.figures["runs"]) > 3 or pack.refs.count(run["run_ref"]) > 1:
            continue
        ref = run["run_ref"]
        surveyed = "not known" if run["surveyed_m"] is None else f"{shown(run['surveyed_m'], 2)} m"
        if f"Surveyed {surveyed}" not in pack.one:
            yield f"{ref}: page one does not say surveyed {surveyed}"
        count = sum(1 for r in rows if r["run"] == ref)
        seen = {o["record_id"]: o for o in run["observations"]}
        own = [r for r in rows if r["run"] == ref and r["code"] in DEFECTS and not r["same_as"]]
        defects = sum(1 for r in own if not seen[r["record_id"]]["part_of"])
        if f"Observations {count} {defects} of them defects" not in pack.one:
            yield f"{ref}: page one does not count {count} observations, {defects} defects"
        if defects and "o defect was seen" in run["sight"]["words"]:
            yield f"{ref}: {defects} defects, and {run['sight']['words']!r}"
    open_items = len([one for one in pack.figures["not_closed_on_site"] if one["severity"] == "site"])
    if open_items and f"cannot be mended later ({open_items};" not in pack.one:
        hidden = "more; see the runs" in pack.one
        if not hidden:
            yield f"page one does not say {open_items} open items"


def photos(pack):
    """Photos lie where their observation lies, in the zip or named as left out."""
    left_out = {one["sha256"] for one in pack.manifest["photos_left_out"]}
    found = _by_id(pack, "observations")
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


def joined(text):
    """A text without what a line break may put into a word."""
    return re.sub(r"[-\u00ad\s]", "", text)


def disputes(pack):
    """What two people recorded differently of a pipe: no number picks one, every file says so."""
    _, inspections = read_file(pack.files["inspection.txt"]) if pack.figures["runs"] else (None, [])
    marked, report = {}, joined(pack.report or "")
    for (run, _, _), (header, told) in zip(_recorded(pack), inspections, strict=True):
        marked.setdefault(run["run_id"], []).extend([header.get("ADE", ""), *(t.get("F", "") for t in told)])
    for run in pack.figures["runs"]:
        rows = {row["record_id"]: row for row in run["capacities"]}
        for one in run["stretches"]:
            unsettled = "; ".join(one["disputed"])
            words = [joined(word) for word in ("Not settled", *unsettled.split())]  # a page may end in it
            if unsettled and pack.report and not all(word in report for word in words):
                yield f"{run['run_ref']}: the report does not say {unsettled!r}"
            pipe = [
                text for text in one["disputed"] if text.startswith(("Shape", "Height", "Width", "Material"))
            ]
            row = rows.get(one["record_id"])
            if pipe and row and row["mean_m3_s"] is not None:
                yield f"{run['run_ref']}: {pipe} and {row['mean_m3_s']} m3/s"
            loud = any("NOT SETTLED" in text for text in marked[run["run_id"]])
            if pipe and one["from_m"] is not None and not loud:
                yield f"{run['run_ref']}: the exchange file does not mark {pipe}"
        if run["limits"] and run["whole_run"] is not None:
            yield f"{run['run_ref']}: {run['limits']} and a number for the whole"


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
    told = [(one["code"], one["record_id"], one["sentence"]) for one in pack.manifest["not_closed_on_site"]]
    want = [(one["code"], one["record_id"], one["sentence"]) for one in pack.figures["not_closed_on_site"]]
    if told != want:
        yield f"not closed: {told} and {want}"
