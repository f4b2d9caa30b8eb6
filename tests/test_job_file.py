"""The job file: written, read, refused."""

import json

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from servers import entry

from webapp import paths
from webapp.errors import AppError
from webapp.records import job_file
from webapp.records.fold import fold
from webapp.timesource import new_id

A, B = "writer-aaaa", "writer-bbbb"
JOB, RUN, NODE = new_id(), new_id(), new_id()
SAMPLES = sorted(paths.SAMPLE_JOBS.glob("*/job.json"))
VALIDATOR = jsonschema.Draft202012Validator(job_file.job_file_schema())


def conflicting():
    """A job with a conflict, a removal, a cleared field and a removal that had not seen a change."""
    return [
        entry(JOB, A, 1, "job", {"title": "Weir", "site": "Here"}),
        entry(JOB, B, 1, "job", {"title": "Sluice"}),
        entry(JOB, A, 2, "run", {"run_ref": "R1"}, RUN),
        entry(JOB, A, 3, "run", {"removed": True}, RUN, seen={"*": [f"{A}:2"]}),
        entry(JOB, A, 4, "node", {"node_ref": "N1"}, NODE),
        entry(JOB, B, 2, "node", {"node_ref": "N2"}, NODE, seen={"node_ref": [f"{A}:4"]}),
        entry(JOB, A, 5, "node", {"removed": True}, NODE, seen={"*": [f"{A}:4"]}),
        entry(JOB, A, 6, "job", {"site": None}, seen={"site": [f"{A}:1"]}),
    ]


def plain(records):
    """Records without the names of the entries behind them."""
    rows = [job_file.record_json(r) for r in records]
    for row in rows:
        row["conflicts"] = {
            n: sorted(json.dumps(v) for _, v in vs) for n, vs in row.get("conflicts", {}).items()
        }
    return rows


def test_what_is_written_is_read_again():
    sent = conflicting()
    built = job_file.build(JOB, reversed(sent), {}, [])
    found = job_file.read(job_file.dumps(built))
    assert found.entries == sorted(sent, key=lambda e: (e["writer"], e["number"]))
    assert found.records == fold(sent) and found.job_id == JOB
    VALIDATOR.validate(json.loads(job_file.dumps(built)))


def test_the_same_job_gives_the_same_bytes_whatever_the_order():
    sent = conflicting()
    photos = [
        {"sha256": s * 64, "size_bytes": 1, "media_type": "image/png", "received_at": "x"} for s in "ba"
    ]
    one = job_file.dumps(job_file.build(JOB, sent, {}, photos))
    shuffled = [dict(reversed(e.items())) for e in reversed(sent)]
    assert job_file.dumps(job_file.build(JOB, shuffled, {}, reversed(photos))) == one
    assert "received_at" not in one.decode()


def test_one_record_or_entry_a_line():
    text = job_file.dumps(job_file.build(JOB, conflicting(), {}, [])).decode()
    assert sum(line.startswith("  {") for line in text.splitlines()) == 3 + 8


def test_a_file_of_records_alone_makes_the_same_records_and_taking_it_twice_the_same_entries():
    whole = job_file.build(JOB, conflicting(), {}, [])
    records_only = {k: v for k, v in whole.items() if k not in ("entries", "aside")}
    one, other = (job_file.check(json.loads(json.dumps(records_only))) for _ in range(2))
    assert one.entries == other.entries
    assert {e["writer"] for e in one.entries} == {one.entries[0]["writer"]}
    assert one.entries[0]["writer"].startswith("file-") and len(one.entries[0]["writer"]) == 29
    assert [e["number"] for e in one.entries] == list(range(1, len(one.entries) + 1))
    assert plain(one.records) == plain(fold(conflicting()))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.parent.name)
def test_the_samples_are_of_the_form(path):
    data = path.read_bytes()
    VALIDATOR.validate(json.loads(data))
    job = job_file.read(data)
    assert job.aside == {} and job.records
    again = job_file.read(job_file.dumps(job_file.build(job.job_id, job.entries, job.aside, job.photos)))
    assert again == job


def test_an_entry_that_breaks_a_rule_is_set_aside_on_reading():
    sent = [entry(JOB, A, 1, "job", {"title": "x"}), entry(JOB, A, 2, fields={"counter_m": -1})]
    found = job_file.check(job_file.build(JOB, sent, {}, []))
    assert list(found.aside) == [f"{A}:2"] and found.aside[f"{A}:2"]["code"] == "entry_refused"
    assert [r.kind for r in found.records] == ["job"]


def test_the_schema_takes_a_file_with_entries_set_aside_and_refuses_such_entries_elsewhere():
    broken = entry(JOB, A, 2) | {"kind": "of-a-later-version", "fields": []}
    reasons = {f"{A}:2": {"code": "entry_refused", "reasons": {"kind": ["No."]}}}
    sent = [entry(JOB, A, 1, "job", {"title": "x"}), broken]
    whole = json.loads(job_file.dumps(job_file.build(JOB, sent, reasons, [])))
    VALIDATOR.validate(whole)
    assert job_file.check(whole).aside == reasons
    assert not VALIDATOR.is_valid(whole | {"aside": {}})
    assert not VALIDATOR.is_valid(whole | {"entries": [{}]})


@pytest.mark.parametrize(
    "aside",
    [[], 7, None, {"x": 1}, {f"{A}:1": 1}, {f"{A}:1": {"code": 7}}, {f"{A}:1": {"code": "x", "reasons": []}}],
)
def test_a_malformed_aside_refuses_the_file_whole(aside):
    whole = json.loads(job_file.dumps(job_file.build(JOB, [entry(JOB, A, 1, "job", {"title": "x"})], {}, [])))
    with pytest.raises(AppError) as refused:
        job_file.read(json.dumps(whole | {"aside": aside}).encode())
    assert refused.value.code == "job_file_invalid"


def test_what_is_not_a_job_file_is_named(tmp_path):
    for data, code in [
        (b"\xff", "file_not_json"),
        (b"[", "file_not_json"),
        (b'{"format": "fallbook-job", "version": NaN}', "file_not_json"),
        (b"[" * 100_000, "file_not_json"),
        (b'{"format": "fallbook-job", "version": 1e999}', "file_not_json"),
        (b"[]", "job_file_kind"),
        (b'{"format": "other"}', "job_file_kind"),
        (b'{"format": "fallbook-job", "version": 2, "anything": 1}', "job_file_newer"),
        (b'{"format": "fallbook-job", "version": true}', "job_file_invalid"),
        (b'{"format": "fallbook-job"}', "job_file_invalid"),
    ]:
        with pytest.raises(AppError) as caught:
            job_file.read(data)
        assert caught.value.code == code, data


def good():
    return json.loads(job_file.dumps(job_file.build(JOB, conflicting(), {}, [])))


def without_entries():
    found = good()
    del found["entries"], found["aside"]
    return found


BREAKS = {
    "another id": (lambda f: f.update(job_id="X"), "job_file_invalid"),
    "an unknown part": (lambda f: f.update(more=1), "job_file_invalid"),
    "no records": (lambda f: f.pop("records"), "job_file_invalid"),
    "a record changed": (lambda f: f["records"][0]["fields"].update(title="y"), "job_file_inconsistent"),
    "a record left out": (lambda f: f["records"].pop(), "job_file_inconsistent"),
    "a record twice": (lambda f: f["records"].append(f["records"][0]), "job_file_invalid"),
    "a record of text": (lambda f: f["records"].append("x"), "job_file_invalid"),
    "a record with more": (lambda f: f["records"][0].update(x=1), "job_file_invalid"),
    "a record without id": (lambda f: f["records"][0].pop("id"), "job_file_invalid"),
    "fields of text": (lambda f: f["records"][0].update(fields="x"), "job_file_invalid"),
    "removed of text": (lambda f: f["records"][0].update(removed="x"), "job_file_invalid"),
    "odd conflicts": (lambda f: f["records"][0].update(conflicts={"a": [1]}), "job_file_invalid"),
    "conflicts a list": (lambda f: f["records"][0].update(conflicts=[]), "job_file_invalid"),
    "an entry left out": (lambda f: f["entries"].pop(0), "job_file_invalid"),
    "an entry twice": (lambda f: f["entries"].append(f["entries"][0]), "job_file_invalid"),
    "an entry of another job": (lambda f: f["entries"][0].update(job_id=RUN), "job_file_invalid"),
    "an entry without fields": (lambda f: f["entries"][0].pop("fields"), "job_file_invalid"),
    "an entry with odd seen": (lambda f: f["entries"][0].update(seen=["x"]), "job_file_invalid"),
    "an entry without identity": (lambda f: f["entries"][0].pop("writer"), "job_file_invalid"),
    "entries an object": (lambda f: f.update(entries={}), "job_file_invalid"),
    "aside a list": (lambda f: f.update(aside=[]), "job_file_invalid"),
    "aside of a number": (
        lambda f: f.update(aside={f"{A}:1": {"code": "x", "reasons": {"y": 7}}}),
        "job_file_invalid",
    ),
    "aside of no sentences": (
        lambda f: f.update(aside={f"{A}:1": {"code": "x", "reasons": {"y": [{"z": 1}]}}}),
        "job_file_invalid",
    ),
    "aside without entries": (
        lambda f: (f.pop("entries"), f.update(aside={f"{A}:1": {"code": "x"}})),
        "job_file_invalid",
    ),
    "aside of nobody": (lambda f: f["aside"].update({f"{A}:99": {"code": "x"}}), "job_file_invalid"),
    "photos of text": (lambda f: f.update(photos="x"), "job_file_invalid"),
    "a photo without size": (lambda f: f.update(photos=[{"sha256": "a" * 64}]), "job_file_invalid"),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_file_is_refused(name):
    change, code = BREAKS[name]
    found = good()
    change(found)
    with pytest.raises(AppError) as caught:
        job_file.check(found)
    assert caught.value.code == code


def test_a_record_that_breaks_a_rule_is_refused_when_there_are_no_entries():
    found = without_entries()
    found["records"][0]["fields"]["title"] = "x" * 500
    with pytest.raises(AppError) as caught:
        job_file.check(found)
    assert caught.value.code == "job_file_invalid" and "Job title" in caught.value.sentence


def json_values(infinity):
    """Draw a value; what is beyond any number comes only where text is parsed, which refuses it."""
    number = st.floats(allow_nan=False, allow_infinity=infinity)
    return st.recursive(
        st.none() | st.booleans() | st.integers() | number | st.text(),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
        max_leaves=8,
    )


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(job_file.PARTS), json_values(True), st.booleans())
def test_no_value_anywhere_crashes_the_reader(part, value, entries_too):
    found = good() if entries_too else without_entries()
    found[part] = value
    try:
        job_file.read(json.dumps(found).encode())
    except AppError:
        pass


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["records", "entries"]), st.integers(0, 2), st.text(max_size=8), json_values(False))
def test_no_part_of_a_row_crashes_the_reader(part, index, name, value):
    found = good()
    keys = [*found[part][index], name]
    for key in keys:
        changed = json.loads(json.dumps(found))
        changed[part][index][key] = value
        try:
            job_file.read(json.dumps(changed).encode())
        except AppError:
            pass
