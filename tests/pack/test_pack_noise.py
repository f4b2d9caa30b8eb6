"""No number carries the noise of binary arithmetic, in any file or JSON of any job."""

import json
import re

import pytest
from click.testing import CliRunner
from generated_jobs import jobs
from hypothesis import given, settings
from pack_jobs import SAMPLES, sample

from webapp import tables
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.commands.run.figures import figure_lines
from webapp.pack import csv_text, manifest_json
from webapp.pack.write import EXPORTS
from webapp.report_model import plain_values
from webapp.survey.wording import recorded

NOISE = re.compile(r"\d\.\d{10,}")
TEXTS = [one for one in EXPORTS if one.FILENAME != "report.pdf"]


def noisy(job):
    """The numbers with more than nine decimals, file by file."""
    contents = assemble(job)
    texts = {one.FILENAME: one.render(contents).decode("utf-8-sig") for one in TEXTS}
    texts["manifest.json"] = manifest_json.dumps(manifest_json.manifest(contents, [], [])).decode()
    texts["figures"] = "\n".join(figure_lines(contents))
    texts["figures --json"] = figures_json(job)
    found = {name: NOISE.findall(text) for name, text in texts.items()}
    return {name: some for name, some in found.items() if some}


def figures_json(job):
    """What ``fallbook figures --json`` prints, by the command itself."""
    done = CliRunner().invoke(main, ["figures", "--json", "-"], input=json.dumps(job))
    assert done.exit_code == 0, done.output
    return done.stdout


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_are_free_of_it(name):
    assert noisy(sample(name)[0]) == {}


@settings(max_examples=25, deadline=None)
@given(jobs())
def test_and_so_is_any_job(maker):
    assert noisy(maker.job_file()) == {}


@pytest.mark.parametrize(
    ("value", "reported"),
    [
        (0.009000000000000001, 0.009),
        (1000.3 - 1000.2, 0.1),
        (-1e-12, 0.0),
        (51.234567891, 51.234567891),
        (1e300, 1e300),
    ],
)
def test_noise_goes_and_the_number_stays(value, reported):
    assert plain_values.noise_free(value) == reported
    assert repr(plain_values.noise_free(value)) == repr(reported)


def test_it_goes_from_cells_and_from_whatever_is_nested():
    assert b"0.3,end" in csv_text.render_rows(("a", "b"), [(0.1 + 0.2, "end")])
    found = plain_values.plain_values({"a": [{"b": (0.1 + 0.2, None, True, "0.30000000000000004")}], "c": 3})
    assert json.dumps(found) == '{"a": [{"b": [0.3, null, true, "0.30000000000000004"]}], "c": 3}'


@pytest.mark.parametrize(
    ("value", "reported"),
    [
        (1234567.25, "1234567.25"),
        (30, "30"),
        (0.1 + 0.2, "0.3"),
        (-2.5, "−2.5"),
        (1e-7, "0.0000001"),
        (5e-324, "0"),
    ],
)
def test_people_read_every_digit_and_no_exponent(value, reported):
    assert recorded.short_text(tables.messages(), value) == reported
