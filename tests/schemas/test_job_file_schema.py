"""The JSON Schema of the job file: it takes what is sound, refuses what is not, says what each part is."""

import copy
import json

import jsonschema
import pytest

from webapp import paths, tables
from webapp.errors import AppError
from webapp.records import job_file
from webapp.schemas import KINDS, check_entry, examples, schema_for
from webapp.schemas.wire import job_file_example
from webapp.survey.coding.codes import check_observation

SCHEMA = job_file.job_file_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA, format_checker=jsonschema.FormatChecker())
ROWS = tables.load("observation_codes")["rows"]
SAMPLES = sorted(paths.SAMPLE_JOBS.glob("*/job.json"))


def with_entries():
    """A small job with its entries."""
    return json.loads(job_file.dumps(job_file.build(examples.JOB_ID, examples.entries(), {}, [])))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.parent.name)
def test_the_sample_jobs_are_of_the_form(path):
    assert len(SAMPLES) == 2
    VALIDATOR.validate(json.loads(path.read_bytes()))


def test_the_examples_are_of_the_form_and_are_taken():
    for good in (job_file_example(), with_entries()):
        VALIDATOR.validate(good)
        assert job_file.check(good).aside == {}
    assert set(examples.FIELDS) == set(KINDS)
    for entry in examples.entries():
        assert check_entry(entry) == {}


def test_the_example_of_an_observation_asks_for_nothing_more():
    assert check_observation(ROWS, examples.FIELDS["observation"]) == []


def changed(path, value, base=with_entries):
    """A job file in which one place was changed; ``...`` takes it out."""
    found = copy.deepcopy(base())
    *way, last = path
    place = found
    for step in way:
        place = place[step]
    if value is ...:
        del place[last]
    else:
        place[last] = value
    return found


def at(kind):
    return next(n for n, e in enumerate(with_entries()["entries"]) if e["kind"] == kind)


READING, OBSERVATION = at("reading"), at("observation")
WRONG = {
    "another format": (["format"], "fallbook"),
    "a later version": (["version"], 2),
    "version as text": (["version"], "1"),
    "no job": (["job_id"], ...),
    "job id in capitals": (["job_id"], examples.JOB_ID.upper()),
    "job id with more behind it": (["job_id"], f"{examples.JOB_ID}0"),
    "an unknown part": (["photo"], []),
    "records that are no list": (["records"], {}),
    "a record without a kind": (["records", 0, "kind"], ...),
    "a record of an unknown kind": (["records", 0, "kind"], "pipe"),
    "a record of another kind's fields": (["records", 0, "kind"], "remark"),
    "a record with an unknown part": (["records", 0, "title"], "x"),
    "removed as text": (["records", 0, "removed"], "yes"),
    "conflicts that are no pairs": (["records", 0, "conflicts"], {"title": [["a:1"]]}),
    "a writer of seven characters": (["entries", 0, "writer"], "seven77"),
    "number nought": (["entries", 0, "number"], 0),
    "an entry without fields": (["entries", 0, "fields"], {}),
    "an entry without a device": (["entries", 0, "device_id"], ...),
    "an entry without a moment": (["entries", 0, "recorded_at"], ...),
    "a moment without its offset": (["entries", 0, "recorded_at"], "2026-11-25T10:31:07"),
    "an entry with an unknown part": (["entries", 0, "by"], "x"),
    "an unknown field": (["entries", READING, "fields", "depth_m"], 1),
    "text for a number": (["entries", READING, "fields", "counter_m"], "12.3"),
    "a counter below nought": (["entries", READING, "fields", "counter_m"], -0.1),
    "an inclination without its unit": (["entries", READING, "fields", "inclination", "unit"], ...),
    "an unknown sense": (["entries", READING, "fields", "inclination", "sense"], "down"),
    "beyond the range with a size": (["entries", READING, "fields", "inclination", "over_range"], True),
    "a code in small letters": (["entries", OBSERVATION, "fields", "code"], "bba"),
    "thirteen o'clock": (["entries", OBSERVATION, "fields", "clock", "hour_to"], 13),
    "half past ten": (["entries", OBSERVATION, "fields", "clock", "hour_to"], 10.5),
    "a run that is no id": (["entries", OBSERVATION, "fields", "run_id"], "R1"),
    "seen that names no entry": (["entries", 0, "seen"], {"title": ["nobody"]}),
    "aside that names no entry": (["aside"], {"nobody": {"code": "x"}}),
    "a photo without its size": (["photos"], [{"sha256": "0" * 64, "media_type": "image/png"}]),
    "a photo of half a name": (
        ["photos"],
        [{"sha256": "0" * 32, "size_bytes": 1, "media_type": "image/png"}],
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_not_of_the_form(name):
    wrong = changed(*WRONG[name])
    assert not VALIDATOR.is_valid(wrong)
    try:  # nor does the reader take it as it is: it refuses the file, or sets the entry aside
        assert job_file.check(wrong).aside != {}
    except AppError:
        pass


def test_an_entry_set_aside_needs_an_identity_only():
    odd = changed(["entries", READING, "fields"], {"counter_m": "text"})
    assert not VALIDATOR.is_valid(odd)
    entry = odd["entries"][READING]
    odd["aside"] = {f"{entry['writer']}:{entry['number']}": {"code": "entry_refused", "reasons": {}}}
    VALIDATOR.validate(odd)


def parts(value, path=()):
    """Yield every named part of the schema with where it is."""
    if isinstance(value, dict):
        for name, inner in value.get("properties", {}).items():
            if isinstance(inner, dict):
                yield (*path, name), inner
        for key, inner in value.items():
            if key not in ("anyOf", "oneOf") or "const" not in json.dumps(inner):
                yield from parts(inner, (*path, key))
    elif isinstance(value, list):
        for inner in value:
            yield from parts(inner, path)


def test_every_part_says_what_it_is():
    found = [(path, one) for path, one in parts(SCHEMA) if path[0] not in ("if", "else")]
    assert len(found) > 100
    silent = [path for path, one in found if not {"title", "description", "const", "$ref"} & set(one)]
    assert silent == []
    for name, schema in SCHEMA["$defs"].items():
        assert schema.get("title") and (
            name.endswith(("entry", "record", "identified")) or schema["description"]
        )


def test_every_number_with_a_unit_says_it():
    for kind in KINDS:
        for name, field in schema_for(kind).fields.items():
            if unit := getattr(field, "unit", ""):
                found = SCHEMA["$defs"][f"{kind}_fields"]["properties"][name]
                assert found["x-unit"] == unit and unit in found["description"]


def test_every_code_is_listed_with_its_title_letters_and_units():
    rows = {row["code"]: row for row in ROWS}
    listed = {one["const"]: one for one in SCHEMA["$defs"]["observation_code"]["oneOf"]}
    assert listed.keys() == rows.keys()
    for code, row in rows.items():
        assert listed[code]["title"] == row["title"]
        for quantity in (row["quantification_1"], row["quantification_2"]):
            if quantity:
                assert quantity["label"] in listed[code]["description"]
                assert (quantity["unit"] or "") in listed[code]["description"]
        for letter in (*row["characterisation_1"], *row["characterisation_2"]):
            assert f"{letter['value']} {letter['label']}" in listed[code]["description"]


def test_a_client_s_own_code_is_of_the_form():
    VALIDATOR.validate(
        changed(["records"], [], lambda: changed(["entries", OBSERVATION, "fields", "code"], "XLA"))
    )
