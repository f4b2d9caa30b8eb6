"""fallbook import-readings: shown first, made on demand, all or nothing, and never twice."""

import tracemalloc

import pytest
from click.testing import CliRunner

from webapp import paths
from webapp.cli import main
from webapp.commands.run.opening import opened
from webapp.errors import AppError
from webapp.intake.import_readings import find_run, job_of, load, preview

FILE = "Distance (m);Pitch (deg);Note\n50,25;-0,7;=1+1\n51,50;steep;\n52,75;> 15;\n"
WANTED = ("--run", "F1", "--plus", "rising")


@pytest.fixture
def data(tmp_path):
    folder = tmp_path / "data"
    call("import", "--create", paths.SAMPLE_JOBS / "school_foul_drain", "--data", folder)
    return folder


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(FILE, encoding="latin-1")
    return path


def call(*words, code=0):
    found = CliRunner().invoke(main, [str(w) for w in words])
    assert found.exit_code == code, found.output
    return found.output


def readings(data, run=WANTED[1]):
    with opened(data, LOCK_FOLDER=False):
        return {r.id: r for r in find_run(run, None)[2]}


def test_it_is_shown_first_and_made_on_demand(data, log):
    before = readings(data)
    printed = call("import-readings", log, "--data", data, *WANTED)
    assert "line 3: The inclination “steep” cannot be read." in printed
    assert "line 2: reading at 50.250 m, 0.7 degrees, falling" in printed and "nothing was made" in printed
    assert (
        "beyond the range, rising" in printed
        and "2 readings new, 0 here already, 1 line not taken" in printed
    )
    assert readings(data).keys() == before.keys()
    assert "2 entries made in run F1" in call("import-readings", log, "--data", data, *WANTED, "--take")
    made = [r.fields for i, r in readings(data).items() if i not in before]
    assert [m["counter_m"] for m in made] == [50.25, 52.75] and made[0]["remark"] == "=1+1"
    again = call("import-readings", log, "--data", data, *WANTED, "--take")
    assert "0 readings new, 2 here already" in again and "0 entries made" in again
    assert len(readings(data)) == len(before) + 2


def test_what_was_changed_or_removed_here_is_changed_back_only_when_told(data, log):
    call("import-readings", log, "--data", data, *WANTED, "--take")
    falling = ("--run", "F1", "--plus", "falling", "--take")
    printed = call("import-readings", log, "--data", data, *falling)
    assert "2 readings here with other values, left as they are" in printed and "0 entries made" in printed
    printed = call("import-readings", log, "--data", data, *falling, "--overwrite")
    assert "changed to the file’s" in printed and "2 entries made" in printed
    assert [r.fields["inclination"]["sense"] for r in readings(data).values()][-1] in ("rising", "falling")
    ours = [r for r in readings(data).values() if r.fields["counter_m"] in (50.25, 52.75)]
    assert [r.fields["inclination"]["sense"] for r in ours] == ["rising", "falling"]
    assert all(r.conflicts == {} for r in ours)


def test_what_the_file_does_not_tell_is_asked(data, log):
    printed = call("import-readings", log, "--data", data, "--run", "F1", "--take", code=2)
    assert "[readings_asked]" in printed and "--plus" in printed
    log.write_text("1;2\n3;4\n")
    printed = call("import-readings", log, "--data", data, "--run", "F1", "--take", code=2)
    assert "--distance" in printed and "--inclination" in printed
    words = ("--distance", "1", "--inclination", "2", "--inclination-unit", "pct", "--zero-m", "40")
    printed = call("import-readings", log, "--data", data, *WANTED, *words)
    assert "'Column 1' (as you said)" in printed and "line 1: reading at 41.000 m, 2 %, rising" in printed
    assert "[readings_file]" in call(
        "import-readings", log, "--data", data, *WANTED, "--distance", "9", code=2
    )


def test_a_run_that_is_not_here(data, log):
    assert "[run_not_found]" in call("import-readings", log, "--data", data, "--run", "Q9", code=2)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04", "a zip or an office document"),
        (b"\xff\xd8\xff\xe0", "a picture"),
        (b"#A1=UTF-8\n", "exchange file"),
        (b"", "no text"),
    ],
)
def test_a_file_of_the_wrong_kind_changes_nothing(data, log, content, words):
    log.write_bytes(content)
    printed = call("import-readings", log, "--data", data, *WANTED, "--take", code=2)
    assert words in printed and "[readings_file]" in printed


def test_a_file_of_200_mb_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    tracemalloc.start()
    with pytest.raises(AppError) as refused:
        load(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert refused.value.code == "readings_file" and "5 MB" in refused.value.sentence and peak < 1_000_000


def test_a_broken_take_makes_nothing(data, log, monkeypatch):
    before = readings(data).keys()
    monkeypatch.setattr("webapp.commands.run.import_readings.job_of", _spoilt)
    found = CliRunner().invoke(main, ["import-readings", str(log), "--data", str(data), *WANTED, "--take"])
    assert found.exit_code != 0 and readings(data).keys() == before


def _spoilt(*given):
    """A disk that fails at the last entry."""
    job = job_of(*given)
    job.entries[-1]["recorded_at"] = object()
    return job


def test_formulas_come_out_of_the_pack_as_text(data, log):
    from webapp.pack import csv_text

    call("import-readings", log, "--data", data, *WANTED, "--take")
    (made,) = [r for r in readings(data).values() if r.fields.get("remark") == "=1+1"]
    assert b"'=1+1" in csv_text.render_rows(["remark"], [[made.fields["remark"]]])


def test_the_preview_reads_no_more_than_it_is_given(data):
    with opened(data, LOCK_FOLDER=False):
        _, run, here = find_run("F1", None)
    found = preview(FILE.encode(), {"plus": "rising"}, run, here)
    assert found.charset == "UTF-8" and len(found.lines()) == 1


DOUBT = "Station;Weg;Neigung\n50,4;50,00;1\n52,1;51,50;-2\n53,3;53,00;2\n"
SAID = ("--run", "F1", "--distance", "Weg", "--inclination-unit", "pct", "--plus", "rising")


def test_a_column_in_doubt_is_asked_for_and_the_answer_is_kept(data, log):
    log.write_text(DOUBT)
    printed = call("import-readings", log, "--data", data, *WANTED, "--take", code=2)
    assert "[readings_asked]" in printed and "--distance" in printed
    assert (
        "the distance may be column 2, 'Weg': 50,00, 51,50, 53,00" in printed
        and "column 1, 'Station'" in printed
    )
    call("import-readings", log, "--data", data, *SAID)
    assert "--distance" in call("import-readings", log, "--data", data, "--run", "F1", code=2), (
        "shown, not kept"
    )
    printed = call("import-readings", log, "--data", data, *SAID, "--take")
    assert "3 entries made" in printed and "readings_profiles.json" in printed
    log.write_text(DOUBT.replace("53,00", "54,00"))
    printed = call("import-readings", log, "--data", data, "--run", "F1")
    assert "column 'Weg' (as said for a file with these columns before), in m (assumed)" in printed
    assert "line 4: reading at 54.000 m" in printed
    printed = call("import-readings", log, "--data", data, "--run", "F1", "--distance", "Station")
    assert "column 'Station' (as you said)" in printed and "line 4: reading at 53.300 m" in printed
    assert "[readings_asked]" in call(
        "import-readings", log, "--data", data, "--run", "F1", "--forget", code=2
    )


def test_a_profile_of_ones_own(data, log, tmp_path):
    log.write_text(DOUBT)
    own = tmp_path / "instrument.json"
    call("import-readings", log, "--data", data, *SAID, "--take", "--profile", own)
    assert not (data / "readings_profiles.json").exists()
    assert "--distance" in call("import-readings", log, "--data", data, "--run", "F1", code=2)
    assert "nothing was made" in call("import-readings", log, "--data", data, "--run", "F1", "--profile", own)


@pytest.mark.parametrize(
    "content", ["[]", "{", '{"format": "x"}', '{"format": "fallbook-readings-profiles"}']
)
def test_a_profile_that_is_none_is_refused(data, log, tmp_path, content):
    own = tmp_path / "instrument.json"
    own.write_text(content)
    printed = call("import-readings", log, "--data", data, *WANTED, "--take", "--profile", own, code=2)
    assert "[readings_profile]" in printed and own.read_text() == content
    answers = '{"a": {"plus": "up"}}'
    own.write_text(f'{{"format": "fallbook-readings-profiles", "profiles": {answers}}}')
    assert "[readings_profile]" in call(
        "import-readings", log, "--data", data, *WANTED, "--profile", own, code=2
    )


def test_a_name_that_stands_twice_is_not_enough(data, log):
    log.write_text("Dist;Dist;Slope %\n50.5;51;1\n52;52.5;2\n")
    printed = call("import-readings", log, "--data", data, *WANTED, "--distance", "Dist", code=2)
    assert "Several columns have that name." in printed
    assert "reading at 51.000 m" in call("import-readings", log, "--data", data, *WANTED, "--distance", "2")


def test_another_column_for_a_file_that_was_taken_doubles_and_mixes_nothing(data, log):
    log.write_text(
        "Station;Weg;Neigung %\n50,4;x;1\n52,1;51,50;-2\n53,3;53,00;2\n54,3;54,00;2\n55,9;55,00;1\n"
    )
    call("import-readings", log, "--data", data, *WANTED, "--distance", "Station", "--take")
    before = {i: r.fields for i, r in readings(data).items()}
    other = (*WANTED, "--distance", "Weg", "--take")
    printed = call("import-readings", log, "--data", data, *other)
    assert "this file was taken with other answers before" in printed and "0 entries made" in printed
    assert (
        "4 readings here with other values" in printed
        and "1 reading here that the file no longer gives" in printed
    )
    assert {i: r.fields for i, r in readings(data).items()} == before
    assert "5 entries made" in call("import-readings", log, "--data", data, *other, "--overwrite")
    now = readings(data)
    ours = [r.fields["counter_m"] for i, r in now.items() if not r.removed and r.fields != before[i]]
    assert ours == [51.5, 53.0, 54.0, 55.0] and sum(r.removed for r in now.values()) == 1


def test_new_lines_of_another_reading_of_the_file_do_not_stand_among_the_old(data, log):
    log.write_text(
        "Station;Weg;Neigung %\nx;50,00;1\n52,1;51,50;-2\n53,3;53,00;2\n54,3;54,00;2\n55,9;55,00;1\n"
    )
    call("import-readings", log, "--data", data, *WANTED, "--distance", "Station", "--take")
    count = len(readings(data))
    printed = call("import-readings", log, "--data", data, *WANTED, "--distance", "Weg", "--take")
    assert "1 reading new" in printed and "0 entries made" in printed and len(readings(data)) == count


def test_feet_come_out_without_noise(data, log):
    log.write_text("Dist (ft),Slope %\n164.1,1\n164.2,2\n164.3,1.5\n")
    call("import-readings", log, "--data", data, *WANTED, "--take")
    made = [r.fields["counter_m"] for r in readings(data).values()][-3:]
    assert {50.01768, 50.04816, 50.07864} <= {r.fields["counter_m"] for r in readings(data).values()}, made
