"""The CSV files, read again by the csv module; raw and computed beside each other."""

import csv
import io

import pytest
from pack_jobs import SAMPLES, Maker, sample

from webapp.assemble import assemble
from webapp.pack import csv_text, levels_csv, observations_csv, readings_csv
from webapp.survey import gradient, profile

KNOWN_COLUMNS = ("level_how_known", "start_level_how_known", "rise_how_known")


def rows(module, contents):
    data = module.render(contents)
    assert data.startswith(b"\xef\xbb\xbf") and data.endswith(b"\r\n")
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


@pytest.fixture(scope="module", params=SAMPLES)
def contents(request):
    return assemble(sample(request.param)[0])


def test_levels_are_those_of_the_survey_arithmetic(contents):
    found = rows(levels_csv, contents)
    for run in contents.runs:
        readings = [profile.Reading(r.chainage_m, r.deg, r.over) for r in run.readings]
        stations = profile.integrate(readings, run.start_level_m or 0.0, run.limit_deg, 0.0, run.surveyed_m)
        mine = [r for r in found if r["run"] == run.ref and not r["tie_level_m"]]
        assert len(mine) == len(stations)
        for row, station in zip(mine, stations, strict=True):
            assert float(row["chainage_m"]) == pytest.approx(station.chainage_m, abs=6e-5)
            assert float(row["level_low_m"]) == pytest.approx(station.low_m, abs=6e-5)
            assert float(row["level_high_m"]) == pytest.approx(station.high_m, abs=6e-5)
            assert row["how_known"] == station.known
            assert (row["meaning"] == "value") == (station.low_m == station.high_m)


def test_readings_keep_what_was_typed_beside_what_follows(contents):
    found = rows(readings_csv, contents)
    for row in found:
        if row["rise_how_known"]:
            same = row["rise_since_last_low_m"] == row["rise_since_last_high_m"]
            assert same == (row["rise_how_known"] != "bounded")
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
            assert row["rise_how_known"] == "bounded"
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
    for module in (readings_csv, levels_csv, observations_csv):
        for name in module.HEADER:
            if any(
                word in name for word in ("chainage", "counter", "level_low", "level_high", "rise", "length")
            ):
                ok = name.endswith(("_m", "_scale")) or name in KNOWN_COLUMNS
                assert ok, name


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@A1", "=cmd|' /C calc'!A0", "\t=1", "  =1", "\n=1", "\r=1"]
)
def test_text_that_a_spreadsheet_would_run_is_quoted_with_an_apostrophe(text):
    data = csv_text.render_rows(("a",), [(text,)])
    cell = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))[1][0]
    assert cell == "'" + text


@pytest.mark.parametrize(
    "value", [-1.5, 0.1 + 0.2, 1e-7, 12, True, None, "A-1", "ü – שלום", 'say "so", he\nsaid']
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
