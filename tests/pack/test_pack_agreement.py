"""Page one, tables, CSV, GeoJSON, exchange file and figures agree on every value that they share."""

import io
import os
import zipfile

import pytest
from agreement import disagreements
from generated_jobs import jobs
from hypothesis import Phase, given, settings
from pack_jobs import SAMPLES, built, sample

EXAMPLES = int(os.environ.get("FALLBOOK_AGREEMENT_CASES", "12"))

NO_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)  # a pack takes too long to make for it


@pytest.mark.parametrize("name", SAMPLES)
def test_the_files_of_a_sample_agree(name):
    job, photo_bytes = sample(name)
    data, _ = built(job, photo_bytes)
    assert disagreements(data, job) == []


@settings(max_examples=EXAMPLES, deadline=None, phases=NO_SHRINKING)
@given(jobs())
def test_the_files_of_any_job_agree(maker):
    job = maker.job_file()
    data, _ = built(job)
    assert disagreements(data, job) == []


def tampered(data, name, change):
    """The pack with one of its files changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for one in old.namelist():
            new.writestr(one, change(old.read(one)) if one == name else old.read(one))
    return out.getvalue()


def swapped(old, new):
    def change(data):
        assert old.encode() in data
        return data.replace(old.encode(), new.encode(), 1)

    return change


@pytest.fixture(scope="module")
def school():
    job, photo_bytes = sample("school_foul_drain")
    return job, built(job, photo_bytes)[0]


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("readings.csv", ",-0.98776,", ",-0.98876,"),
        ("observations.csv", "F1,9.1,8.7649", "F1,9.1,8.7749"),
        ("levels.csv", ",99.0992,", ",99.1092,"),
        ("falls.csv", "0.0108", "0.0118"),
        ("condition.csv", ",operation,2,2,", ",operation,2,3,"),
        ("plan.geojson", '"length_m": 38.147', '"length_m": 38.157'),
        ("inspection.txt", "12.05,,BBA", "12.06,,BBA"),
        ("inspection.txt", "NOT SETTLED, ", ""),
        ("levels.svg", "tie 99.110", "tie 99.111"),
    ],
)
def test_a_value_that_differs_is_found(school, name, old, new):
    job, data = school
    assert disagreements(tampered(data, name, swapped(old, new)), job) != []
