"""``fallbook figures``: every figure of a job, for people and for scripts."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from pack_jobs import SAMPLES, Maker, sample

from webapp import tables
from webapp.assembly.job import assemble
from webapp.cli import main
from webapp.pack.figure_tables import sections
from webapp.records import job_file

ROOT = Path(__file__).resolve().parents[2]
WORDS = tables.messages()


def run(*words, code=0):
    found = CliRunner().invoke(main, ["figures", *(str(w) for w in words)])
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exc_info
    assert found.exit_code == code, found.output
    return found


@pytest.fixture(params=SAMPLES)
def name(request):
    return request.param


def test_it_prints_every_table_of_every_run(name):
    text = run(ROOT / "sample_jobs" / name).stdout
    contents = assemble(sample(name)[0])
    for one in contents.runs:
        assert f"Run {one.ref}" in text
        for section in sections(WORDS, one):
            assert section.title in text or not (section.rows or section.lines)
            for words in section.lines:
                assert words in text
            for row in section.rows:
                assert all(cell in text for cell in row)
        for level in one.figures.levels:
            assert f"{level.chainage_m:.2f}" in text
    assert "an indication, no proof of a gradient" in text and "competent engineer" in text
    assert not re.search(r"\bnan\b|\bNone\b|\binf\b|\bsafe\b", text)


def test_every_row_says_how_it_is_known(name):
    words = ("measured", "adjusted", "computed", "bounded", "assumed", "not known", "contradicted")
    for one in assemble(sample(name)[0]).runs:
        for section in sections(WORDS, one):
            for row in section.rows:
                whole = " ".join(row)
                assert any(word in whole for word in words) or section.key == "capacity", (section.key, row)
                if section.key == "falls":
                    assert row[-1] in words and row[2].endswith((" m", " m rising", "(0.000 m)"))


def near(values):
    """The same numbers, but for the noise of binary arithmetic that is left out of what is printed."""
    return [value if value is None else pytest.approx(value, rel=0, abs=1e-9) for value in values]


def test_it_prints_one_json_object_with_all_digits(name):
    found = json.loads(run(ROOT / "sample_jobs" / name, "--json").stdout, parse_constant=pytest.fail)
    assert (found["format"], found["version"]) == ("fallbook-figures", 1)
    contents = assemble(sample(name)[0])
    assert [r["run_ref"] for r in found["runs"]] == [r.ref for r in contents.runs]
    for plain, one in zip(found["runs"], contents.runs, strict=True):
        assert [v["level_m"] for v in plain["levels"]] == near(v.level_m for v in one.figures.levels)
        assert [v["fall_m"] for v in plain["lengths"]] == near(v.fall_m for v in one.figures.lengths)
        assert plain["instruments"]["sd_known"] == "measured"
        assert plain["choke"]["index"] == one.figures.bottleneck.index
        assert [plain["trace"]["far_end"]["distance_m"]] == near([one.figures.trace.far_end.distance_m])
        assert len(plain["ties"]) == len(one.figures.ties) == 2
        for level in plain["levels"]:
            assert level["known"] in ("measured", "adjusted", "computed", "bounded", "assumed")
            assert (level["level_m"] is None) == (level["known"] == "bounded")


def test_a_pack_says_the_same_as_the_job_behind_it(name, tmp_path):
    from pack_jobs import built

    path = tmp_path / "job.zip"
    path.write_bytes(built(*sample(name))[0])
    assert run(path).stdout == run(ROOT / "sample_jobs" / name).stdout


def test_a_job_without_runs_and_a_file_that_is_none(tmp_path):
    path = tmp_path / "job.json"
    path.write_bytes(job_file.dumps(Maker().job_file()))
    assert "No run has been recorded yet." in run(path).stdout
    assert json.loads(run(path, "--json").stdout)["runs"] == []
    path.write_text("{")
    assert "[file_not_json]" in run(path, code=2).stderr
    assert "[file_unreadable]" in run(tmp_path / "gone.json", code=2).stderr


def test_a_number_that_is_none_is_refused(tmp_path):
    job = sample(SAMPLES[0])[0]
    text = job_file.dumps(job).decode().replace('"counter_m":0.5', '"counter_m":NaN')
    assert "NaN" in text
    path = tmp_path / "job.json"
    path.write_text(text)
    last = run(path, code=2).stderr.strip().splitlines()
    assert len(last) == 1 and last[0].startswith("fallbook: ")
