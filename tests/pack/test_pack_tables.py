"""The CSV files, read again by the csv module; raw and computed beside each other."""

import csv
import io
import time

import pytest
from pack_jobs import SAMPLES, Maker, sample

from webapp.assembly.job import assemble
from webapp.pack import csv_text, falls_csv, levels_csv, observations_csv, readings_csv, texts
from webapp.pack.write import EXPORTS
from webapp.survey.instruments import gradient
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.falls import length_table
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model

KNOWN_COLUMNS = ("level_how_known", "levels_above", "falls_towards")


def rows(module, contents):
    data = module.render(contents)
    assert data.startswith(b"\xef\xbb\xbf") and data.endswith(b"\r\n")
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


@pytest.fixture(scope="module", params=SAMPLES)
def contents(request):
    return assemble(sample(request.param)[0])


def profiles(contents):
    """The survey functions called by hand on the records of the job, run by run."""
    job = sample("tidal_creek_drain" if contents.runs[0].ref == "D1" else "school_foul_drain")[0]
    standing = [r for r in job["records"] if not r.get("removed")]

    def of(kind, run_id=None):
        mine = [r for r in standing if r["kind"] == kind]
        return [r for r in mine if run_id is None or r["fields"].get("run_id") == run_id]

    for run in contents.runs:
        fields = next(r["fields"] for r in of("run") if r["id"] == run.record_id)
        instruments = instruments_of(of("check"), run.record_id)
        own = [of(kind, run.record_id) for kind in ("reading", "level_tie", "stretch")]
        model = run_model(fields, *own, of("node"), instruments)
        yield run, level_profile(model.readings, model.ties, model.setup)


def near(text, value, digits=4):
    return text == "" if value is None else float(text) == pytest.approx(value, abs=0.6 * 10**-digits)


def test_levels_are_those_of_the_survey_arithmetic(contents):
    found = rows(levels_csv, contents)
    for run, profile in profiles(contents):
        mine = [r for r in found if r["run"] == run.ref and r["meaning"] != "level tie"]
        assert len(mine) == len(profile.stations)
        for row, station in zip(mine, profile.stations, strict=True):
            for name in ("chainage_m", "level_m", "sd_m", "low_m", "high_m"):
                assert near(row[name], getattr(station, name)), (name, row)
            sigmas = 3.0 if station.level_m is None else 1.96  # a bound must not be false
            assert near(row["band_95_low_m"], station.low_m - sigmas * station.low_sd_m)
            assert row["known"] == station.known
            assert (row["meaning"] == "value") == (station.level_m is not None)
        ties = [r for r in found if r["run"] == run.ref and r["meaning"] == "level tie"]
        assert len(ties) == len(profile.ties) == 2
        for row, check in zip(ties, sorted(profile.ties, key=lambda t: t.station), strict=True):
            assert near(row["tie_less_adjusted_m"], check.after_m)
            assert near(row["tie_standardised"], check.standardised, 2)
            assert row["tie_suspect"] == "no"


def test_falls_are_those_of_the_survey_arithmetic(contents):
    found = rows(falls_csv, contents)
    for run, profile in profiles(contents):
        mine = [r for r in found if r["run"] == run.ref]
        table = length_table(profile)
        assert len(mine) == len(table) == len(profile.stations) - 1
        for row, length in zip(mine, table, strict=True):
            assert near(row["fall_m"], length.fall_m) and near(row["fall_sd_m"], length.sd_m)
            assert near(row["fall_low_m"], length.low_fall_m) and near(row["one_in"], length.one_in, 2)
            assert (row["known"], row["direction"]) == (length.known, length.direction or "")
    assert {r["known"] for r in found} >= {"computed"}


def test_readings_keep_what_was_typed_beside_what_follows(contents):
    found = rows(readings_csv, contents)
    for row in found:
        if row["level_how_known"]:
            assert (row["level_m"] == "") == (row["level_how_known"] == "bounded")
    job = sample("tidal_creek_drain" if contents.runs[0].ref == "D1" else "school_foul_drain")[0]
    raw = {r["id"]: r["fields"] for r in job["records"] if r["kind"] == "reading" and not r.get("removed")}
    assert {r["record_id"] for r in found} == set(raw)
    for row in found:
        fields = raw[row["record_id"]]
        assert float(row["counter_m"]) == fields["counter_m"]
        assert row["inclination_typed"] == fields["inclination"].get("typed", "")
        deg = gradient.inclination_deg(fields["inclination"])
        if deg is None:
            assert row["inclination_deg"] == row["gradient_pct"] == row["one_in"] == ""
            assert row["how_known"] == "bounded" and row["beyond_range"] == "yes"
        else:
            assert float(row["inclination_deg"]) == pytest.approx(deg, abs=6e-6)


def test_observations_have_units_and_the_photos_of_the_pack(contents):
    found = rows(observations_csv, contents)
    names = {p.filename for p in contents.photos}
    assert len(found) == sum(len(r.observations) for r in contents.runs)
    for row in found:
        assert bool(row["quantification_1"]) == bool(row["quantification_1_unit"])
        assert set(row["photos"].split()) <= names
        assert "nan" not in row.values() and "None" not in row.values()
    assert sum(len(r["photos"].split()) for r in found) >= 6


def test_every_number_in_a_header_has_its_unit():
    for module in (readings_csv, levels_csv, observations_csv, falls_csv):
        for name in module.HEADER:
            if any(
                word in name
                for word in ("chainage", "counter", "level_", "band", "fall_", "from_m", "_low", "_high")
            ):
                ok = name.endswith(("_m", "_scale")) or name in KNOWN_COLUMNS
                assert ok, f"{name}: the unit ends the name; a column without one stands in KNOWN_COLUMNS"


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@A1", "=cmd|' /C calc'!A0", "\t=1", "  =1", "\n=1", "\r=1",
             "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff20A1", "\u00a0=1", "\u200b=1", "\ufeff\uff1d1"]
)  # fmt: skip
def test_text_that_a_spreadsheet_would_run_is_quoted_with_an_apostrophe(text):
    data = csv_text.render_rows(("a",), [(text,)])
    cell = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))[1][0]
    assert cell[0] == "'" and cell.replace("'", "") == text.replace("'", "")


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
@pytest.mark.parametrize("part", [";", "; ", ";\u3000", "\n", "\r\n", "\t", ';"', '; " ', '\t"'])
@pytest.mark.parametrize("separator", [";", "\t", ","])
def test_no_cell_is_a_formula_where_another_sign_separates(separator, part, sign):
    """Where the comma is the decimal mark, a file opens with the semicolon between its cells."""
    text = f"chamber{part}{sign}cmd|' /C calc'!A0"
    data = csv_text.render_rows(("a", "b", "c"), [("x", text, text), (text, "x", "")])
    cells = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=separator)
    found = [cell.strip().strip("\u3000") for row in cells for cell in row]
    assert not [cell for cell in found if cell.startswith(tuple("=+-@\uff1d\uff0b\uff0d\uff20"))]
    assert any("calc" in cell for cell in found)


def test_every_table_of_a_pack_is_written_by_the_one_writer():
    tables = [module for module in EXPORTS if module.FILENAME.endswith(".csv")]
    assert len(tables) >= 5
    assert all(module.render_rows is csv_text.render_rows for module in tables)


@pytest.mark.parametrize("sign", [";", "\t", '; "', "\n", " "])
def test_a_long_run_of_signs_is_read_once(sign):
    began_s = time.process_time()
    csv_text.render_rows(("a",), [(f"a{sign * 30_000}b{sign * 30_000}=1",)])
    assert time.process_time() - began_s < 2


@pytest.mark.parametrize("value", ["; and then", "a-1; b-2", "one;two", "1 m; at 3 m"])
def test_a_semicolon_alone_changes_nothing(value):
    data = csv_text.render_rows(("a",), [(value,)])
    assert list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))[1] == [value]


@pytest.mark.parametrize(
    "value", [-1.5, 0.125, 1e-7, 12, True, None, "A-1", "ü – שלום", 'say "so", he\nsaid']
)
def test_numbers_and_plain_text_stay_as_they_are(value):
    data = csv_text.render_rows(("a", "b"), [(value, "end")])
    cell = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))[1][0]
    expected = {True: "yes", None: ""}.get(value) if value is True or value is None else str(value)
    assert cell == expected


def test_a_remark_that_is_a_formula_is_guarded_in_the_file():
    maker = Maker()
    run_id = maker.add("run", run_ref="=R1")
    maker.add("reading", run_id=run_id, counter_m=1, remark="=HYPERLINK(1)",
              inclination={"size": 1, "unit": "deg", "sense": "falling", "typed": "-1"})  # fmt: skip
    row = rows(readings_csv, assemble(maker.job_file()))[0]
    assert (row["run"], row["remark"], row["inclination_typed"]) == ("'=R1", "'=HYPERLINK(1)", "'-1")
    assert float(row["inclination_deg"]) == -1.0


def test_a_quantity_that_is_only_as_last_time_says_so_in_file_and_report():
    maker = Maker()
    run_id = maker.add("run", run_ref="R1")
    seen = {"run_id": run_id, "code": "BBA", "characterisation_1": "C", "quantification_1": 30}
    maker.add("observation", counter_m=1, **seen)
    maker.add("observation", counter_m=2, as_before="quantification_1", **seen)
    contents = assemble(maker.job_file())
    looked, over = rows(observations_csv, contents)
    assert (looked["quantification_1"], over["quantification_1"]) == ("30", "30")
    assert "as last time" not in looked["how_known"]
    assert over["how_known"].endswith("Bore area lost: as last time, not looked at anew")
    output = [texts.sizes(contents.words, o) for o in contents.runs[0].observations]
    assert output == ["Bore area lost: 30 %", "Bore area lost: 30 % (as last time, not looked at anew)"]
