"""Units and decimal marks of a file: read where they are sure, asked for where they are not."""

import pytest
from readings_files import RISING
from test_readings_csv import WORDS, left, places, read

from webapp.survey.errors import SurveyError
from webapp.survey.readings_file.csv_columns import csv_sentence


@pytest.mark.parametrize(
    ("header", "unit", "metres"),
    [
        ("Weg [m]", "m", 12.5),
        ("Weg in m", "m", 12.5),
        ("Dist (ft)", "ft", 3.81),
        ("dist_ft", "ft", 3.81),
        ("Dist (in)", "in", 0.3175),
        ("Distance, inches", "in", 0.3175),
        ("Weg/cm", "cm", 0.125),
        ("distanceMm", "mm", 0.0125),
        ("Vzdálenost (mm)", "mm", 0.0125),
    ],
)
def test_units_of_distances(header, unit, metres):
    found = read(f"{header};Slope %\n0;1\n12,5;1\n", **RISING)
    assert found["choices"]["counter_unit"] == unit and found["known"]["counter_unit"] == "file"
    assert places(found)[1:] == [metres]


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("Neigung [%]", "pct"),
        ("Neigung in ‰", "permille"),
        ("slope 1:n", "one_in"),
        ("Slope 1 in N", "one_in"),
        ("incl_deg", "deg"),
        ("Pitch°", "deg"),
        ("pitchDeg", "deg"),
        ("Gefälle mm/m", "permille"),
        ("Slope cm/m", "pct"),
        ("Pente (m/m)", "m_per_m"),
        ("Neigung [Grad]", "deg"),
        ("Gradient [gon]", None),
        ("Neigung % / ‰", None),
        ("Neigung", None),
    ],
)
def test_units_of_inclinations(header, unit):
    assert (
        read(f"Distance;{header}\n0;1\n12,5;1,5\n", inclination_column=1)["choices"]["inclination_unit"]
        == unit
    )


def test_a_slope_over_length_is_kept_as_typed():
    row = read("Distance;Slope [m/m]\n1.5;-0.007\n", **RISING)["taken"][0]["inclination"]
    assert row == {"size": 0.7, "unit": "pct", "typed": "-0.007", "sense": "falling"}


@pytest.mark.parametrize("units", ["[m];[%];", "m;1:n;°C", "mm;‰;-", "(ft);(deg);V", "in;%;s"])
def test_units_in_a_row_of_their_own(units):
    found = read(f"Weg;Neigung;Temp\n{units}\n1,5;2;3\n2,5;2;3\n", **RISING)
    assert found["asks"] == [] and left(found) == [] and len(found["taken"]) == 2
    assert found["known"]["counter_unit"] == "file"


def test_a_row_without_numbers_below_the_names_is_not_lost():
    found = read("Weg;Neigung %\nAnfang;-\n1,5;2\n3;2\n", **RISING)
    assert left(found) == [(2, "csv_counter")]


@pytest.mark.parametrize(
    "text",
    [
        "Distance;Slope %\n0;1\n500;2\n1000;1\n",
        "Distance;Slope %\n0;1\n25;2\n50;1\n",
        "Units: ft\nDistance;Slope %\n0;1\n5;2\n10;1\n",
        "Distance;Depth (in);Slope %\n0;1;1\n5;2;2\n10;1;1\n",
        "Distance;Slope %\n0;1\n1.5 ft;2\n3;1\n",
        "Distance m / ft;Slope %\n0;1\n5;2\n10;1\n",
    ],
)
def test_a_unit_in_doubt_is_asked_for(text):
    assert read(text, **RISING)["asks"] == ["counter_unit"]
    assert read(text, counter_unit="ft", **RISING)["asks"] == []


@pytest.mark.parametrize(
    ("text", "decimal", "metres"),
    [
        ("1,5;2\n", ",", [1.5]),
        ("1.5;2\n", ".", [1.5]),
        ("1.234,5;2\n", ",", [1234.5]),
        ("1'234.5;2\n", ".", [1234.5]),
        ("1\u202f234,5;2\n", ",", [1234.5]),
        ("0,123;1\n1,234;2\n", ",", [0.123, 1.234]),
        ("1.234;2\n1.250,5;1\n", ",", [1234.0, 1250.5]),
    ],
)
def test_the_decimal_mark_is_found_first(text, decimal, metres):
    found = read("Distance [m];Slope %\n" + text, **RISING)
    assert found["asks"] == [] and found["choices"]["decimal"] == decimal and places(found) == metres


@pytest.mark.parametrize("cell", ["1,234", "1.234"])
def test_a_number_that_can_be_read_two_ways_is_asked_about(cell):
    text = f"Distance [m];Slope %\n{cell};2\n2;1\n"
    assert read(text, **RISING)["asks"] == ["decimal"]
    mark = cell[1]
    assert places(read(text, decimal=mark, **RISING)) == [1.234, 2.0]
    assert places(read(text, decimal={",": ".", ".": ","}[mark], **RISING)) == [1234.0, 2.0]


def test_one_odd_number_is_told_and_not_read_as_thousands():
    assert left(read("Distance [m];Slope %\n0.5;2\n1,234;1\n", **RISING)) == [(3, "csv_decimal")]


def test_commas_that_part_cells_and_numbers_alike_are_refused():
    with pytest.raises(SurveyError) as refused:
        read("Distance,Pitch,Temp,Note\n0,50,-0,7\n2,00,-0,7\n3,25,1,5\n", **RISING)
    assert (refused.value.code, refused.value.field) == ("csv_kind", "commas")
    assert csv_sentence(WORDS, "csv_kind", {"kind": "commas"}).endswith(".")


def test_a_fall_that_is_mostly_below_zero_is_asked_about():
    assert read("Distance;Fall %\n0;-3.1\n5;-1.5\n10;2.1\n")["asks"] == ["plus"]
    assert read("Distance;Fall %\n0;3.1\n5;1.5\n10;-2.1\n")["choices"]["plus"] == "falling"
