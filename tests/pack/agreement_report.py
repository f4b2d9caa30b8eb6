"""What a pack says of condition, sight, capacity and disputes, against the figures."""

from exchange_reader import read_file
from open_pack import DEFECTS, flat, joined, recorded_runs, shown

GOALS = ("tightness", "stability", "operation")


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
        for goal, reported in zip(GOALS, found["classes"], strict=True):
            each = [r for r in mine if r["goal"] == goal]
            low = max((int(r["class_least"]) for r in each), default=0)
            high = max((int(r["class_most"]) for r in each), default=0)
            if (reported["goal"], reported["low"], reported["high"]) != (goal, low, high):
                classes = f"{reported['low']} to {reported['high']}"
                yield f"{run['run_ref']}: {goal} {classes}, the rows {low} to {high}"
        if pack.report:
            for reported in found["classes"]:
                if reported["words"] not in pack.report:
                    yield f"{run['run_ref']}: the report does not say {reported['words']!r}"


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
        texts = [("text", pack.printed), *([("report", pack.report)] if pack.report else [])]
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
        bottleneck, rows, ref = run["choke"], run["capacities"], run["run_ref"]
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
        for name, text, one in (("text", pack.printed, row), ("page one", pack.one or pack.printed, whole)):
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
    if open_items and f"cannot be fixed later ({open_items};" not in pack.one:
        hidden = "more; see the runs" in pack.one
        if not hidden:
            yield f"page one does not say {open_items} open items"


def disputes(pack):
    """What two people recorded differently of a pipe: no number picks one, every file says so."""
    _, inspections = read_file(pack.files["inspection.txt"]) if pack.figures["runs"] else (None, [])
    marked, report = {}, joined(pack.report or "")
    for (run, _, _), (header, reported) in zip(recorded_runs(pack), inspections, strict=True):
        marked.setdefault(run["run_id"], []).extend(
            [header.get("ADE", ""), *(t.get("F", "") for t in reported)]
        )
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
