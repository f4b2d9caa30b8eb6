"""Faults planted in sound job files, and the codes that must be told of each."""

import copy
import json

import pytest

from webapp import jobcheck, paths

SAMPLES = sorted(paths.SAMPLE_JOBS.glob("*/job.json"))
SAMPLE = json.loads(SAMPLES[0].read_text(encoding="utf-8"))
STRANGER = "00000000-0000-7000-8000-000000000000"


def photo_of(sha256):
    found = list((SAMPLES[0].parent / "photos").glob(f"{sha256}*"))
    return found[0].read_bytes() if found else None


def bare(sample=SAMPLE):
    """The sample as a script would write it: records, no entries."""
    whole = copy.deepcopy(sample)
    del whole["entries"], whole["aside"]
    return whole


def found_in(value, *, carried=True, photo=photo_of):
    return jobcheck.check_text(json.dumps(value, indent=1).encode(), photo, carried=carried)[1]


def codes(value, severity="fault", **more):
    return sorted({one.code for one in found_in(value, **more) if one.severity == severity})


def of(value, kind, number=0):
    return [r for r in value["records"] if r["kind"] == kind and not r.get("removed")][number]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.parent.name)
def test_the_samples_are_sound(path):
    def photo(sha256):
        (found,) = (path.parent / "photos").glob(f"{sha256}*")
        return found.read_bytes()

    value, faults = jobcheck.check_text(path.read_bytes(), photo, carried=True)
    assert faults == [] and len(value["records"]) > 50
    assert found_in(bare(value), photo=photo) == []


def drop(value, kind, name):
    del of(value, kind)["fields"][name]


def set_field(value, kind, name, to, number=0):
    of(value, kind, number)["fields"][name] = to


def remove(value, kind):
    of(value, kind)["removed"] = True


def twice(value, kind):
    value["records"].append(copy.deepcopy(of(value, kind)))


def continuous(value, *marks):
    for number, (role, counter_m) in enumerate(marks):
        own = copy.deepcopy(of(value, "observation"))
        own["id"] = f"ffffffff-0000-7000-8000-00000000000{number}"
        own["fields"] |= {"code": "BBC", "counter_m": counter_m, "continuous": {"role": role, "number": 77}}
        value["records"].append(own)


def shared_id(value):
    own = copy.deepcopy(of(value, "remark"))
    own["id"] = of(value, "reading")["id"]
    value["records"].append(own)


def other_owner(value):
    run, other = of(value, "run"), of(value, "run", 1)
    owner = next(
        r for r in value["records"] if r["kind"] == "observation" and r["fields"]["run_id"] == run["id"]
    )
    of(value, "photo")["fields"] |= {"run_id": other["id"], "belongs_to": owner["id"]}


def conflict(value, shown, *standing):
    record = of(value, "reading")
    record["fields"]["counter_m"] = shown
    record["conflicts"] = {"counter_m": [[f"writer-aaaa:{n + 1}", v] for n, v in enumerate(standing)]}


# What is done to a sound file of records, and the codes that must be told, all of them and no other.
PLANTED = {
    "part": (lambda v: v.update(extra=1), ["part_unknown"]),
    "job id": (lambda v: v.update(job_id="x"), ["id_of_job", "job_missing", "part_malformed"]),
    "records": (lambda v: v.update(records={}), ["job_missing", "part_malformed"]),
    "photos": (lambda v: v.update(photos=1), ["part_malformed"]),
    "no record": (lambda v: v["records"].append(7), ["record_malformed"]),
    "no fields": (lambda v: v["records"].append({"kind": "run", "id": STRANGER}), ["record_malformed"]),
    "holds nothing": (
        lambda v: v["records"].append({"kind": "remark", "id": STRANGER, "fields": {}}),
        ["field_missing", "record_empty"],
    ),
    "twice": (lambda v: twice(v, "reading"), ["record_twice"]),
    "kind": (lambda v: of(v, "remark").update(kind="hint"), ["kind_unknown"]),
    "shared id": (shared_id, ["id_shared"]),
    "job of another": (lambda v: of(v, "job").update(id=STRANGER), ["id_of_job", "job_missing"]),
    "field unknown": (lambda v: set_field(v, "run", "colour", "red"), ["value_refused"]),
    "value": (lambda v: set_field(v, "reading", "counter_m", "far"), ["value_refused"]),
    "inside a value": (
        lambda v: set_field(v, "reading", "inclination", {"size": 99, "unit": "deg", "sense": "rising"}),
        ["value_refused"],
    ),
    "shown is not last": (lambda v: conflict(v, 1.0, 1.0, 2.0), ["conflict_shown"]),
    "conflict of a bad value": (lambda v: conflict(v, 1.0, -5, 1.0), ["value_refused"]),
    "no job": (lambda v: v["records"].remove(of(v, "job")), ["job_missing"]),
    "no title": (lambda v: drop(v, "job", "title"), ["field_missing"]),
    "blank title": (lambda v: set_field(v, "job", "title", "  "), ["field_missing"]),
    "no title any more": (lambda v: set_field(v, "job", "title", None), ["field_missing"]),
    "reading of an unknown run": (
        lambda v: set_field(v, "reading", "run_id", STRANGER),
        ["reference_dangling"],
    ),
    "reading of a node": (
        lambda v: set_field(v, "reading", "run_id", of(v, "node")["id"]),
        ["reference_kind"],
    ),
    "reading of no run": (lambda v: drop(v, "reading", "run_id"), ["field_missing"]),
    "run removed": (lambda v: remove(v, "run"), ["reference_removed"]),
    "node removed": (lambda v: remove(v, "node"), ["reference_removed"]),
    "run of an unknown node": (
        lambda v: set_field(v, "run", "finish_node_id", STRANGER),
        ["reference_dangling"],
    ),
    "run that goes on from itself": (
        lambda v: set_field(v, "run", "continues_run_id", of(v, "run")["id"]),
        ["reference_circle"],
    ),
    "the same as itself": (
        lambda v: set_field(v, "observation", "same_as", of(v, "observation")["id"]),
        ["reference_circle"],
    ),
    "photo of nothing": (lambda v: set_field(v, "photo", "belongs_to", STRANGER), ["reference_dangling"]),
    "photo of another run": (other_owner, ["photo_other_run"]),
    "reading without a counter": (lambda v: drop(v, "reading", "counter_m"), ["field_missing"]),
    "question": (lambda v: set_field(v, "check", "question_id", "nosuch"), ["question_unknown"]),
    "code": (lambda v: set_field(v, "observation", "code", "ZZZ"), ["code_not_in_table"]),
    "finish without start": (lambda v: continuous(v, ("finish", 3.0)), ["continuous_odd"]),
    "finish before start": (lambda v: continuous(v, ("start", 5.0), ("finish", 3.0)), ["continuous_odd"]),
    "photo row": (lambda v: v["photos"].append({"sha256": "x"}), ["photo_malformed"]),
    "photo row twice": (lambda v: v["photos"].append(copy.deepcopy(v["photos"][0])), ["photo_twice"]),
    "photo size": (lambda v: set_field(v, "photo", "size_bytes", 5), ["photo_size"]),
    "photo gone": (lambda v: set_field(v, "photo", "sha256", "0" * 64), ["photo_missing"]),
}


def in_entries(value, change):
    change(value["entries"])


# The same for a file with entries.
PLANTED_ENTRIES = {
    "aside": (lambda v: v.update(aside=[]), ["part_malformed"]),
    "aside stray": (
        lambda v: v["aside"].update({"writer-none:1": {"code": "entry_refused"}}),
        ["aside_stray"],
    ),
    "aside malformed": (
        lambda v: v["aside"].update({"writer-none:1": 1}),
        ["aside_stray", "part_malformed"],
    ),
    "unsound": (lambda v: v["entries"].append({"writer": "x"}), ["entry_unsound"]),
    "other job": (
        lambda v: v["entries"].append({**v["entries"][-1], "job_id": STRANGER}),
        ["entry_of_other_job"],
    ),
    "twice": (lambda v: v["entries"].append(v["entries"][-1]), ["entry_twice"]),
    "gap": (lambda v: v["entries"][-1].update(number=999), ["entry_missing"]),
    "record nobody made": (
        lambda v: v["records"].append({"kind": "remark", "id": STRANGER, "fields": {"text": "x"}}),
        ["record_not_made"],
    ),
    "record left out": (lambda v: v["records"].remove(of(v, "remark")), ["record_left_out"]),
    "record differs": (lambda v: set_field(v, "remark", "text", "other"), ["record_differs"]),
    "no kind": (
        lambda v: v["entries"].append(
            {k: v["entries"][-1][k] for k in ("job_id", "writer")}
            | {"number": v["entries"][-1]["number"] + 1}
        ),
        ["entry_unsound"],
    ),
}
