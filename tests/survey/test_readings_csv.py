"""Readings by CSV: what is found in the file, what is asked, what is left and why."""

import io

import pytest

from webapp import tables
from webapp.survey.errors import SurveyError
from webapp.survey.readings_file.csv_columns import csv_sentence
from webapp.survey.readings_file.csv_table import decode_text, split_table
from webapp.survey.readings_file.readings_csv import read_readings
from webapp.survey.readings_file.readings_taken import reading_id

WORDS = tables.load("readings_csv")
PLAIN = "Distance (m);Pitch (deg);Temp\n0,00;-0,7;12\n1,50;-0,8;12\n3,00;+0,2;12\n"
RISING = {"plus": "rising"}


def read(text, **choices):
    data = text if isinstance(text, bytes) else text.encode()
    return read_readings(split_table(decode_text(data)["text"], ""), WORDS, choices)


def left(result):
    return [(row["line"], row["code"]) for row in result["left"]]


def places(result):
    return [row["counter_m"] for row in result["taken"]]


def test_columns_units_and_decimal_mark_are_found_by_name():
    requested = read(PLAIN)
    assert requested["asks"] == ["plus"] and requested["taken"] == [], "a sign convention is never guessed"
    found = read(PLAIN, **RISING)
    assert places(found) == [0.0, 1.5, 3.0] and left(found) == []
    assert [r["inclination"]["sense"] for r in found["taken"]] == ["falling", "falling", "rising"]
    assert found["taken"][0]["inclination"] == {
        "size": 0.7,
        "unit": "deg",
        "typed": "-0,7",
        "sense": "falling",
    }
    assert found["choices"]["decimal"] == "," and found["known"]["counter_unit"] == "file"
    assert found["unused"] == ["Temp"]


@pytest.mark.parametrize(
    ("header", "unit", "slope", "plus"),
    [
        ("Chainage [mm],Slope (%)", "mm", "pct", None),
        ("dist ft,Gradient 1 in N", "ft", "one_in", None),
        ("Station (cm),Gefälle (‰)", "cm", "permille", "falling"),
        ("counter,rise mm/m", "m", "permille", "rising"),
        ("Position / m,Tilt °", "m", "deg", None),
    ],
)
def test_units_and_signs_that_a_header_tells(header, unit, slope, plus):
    chosen = read(f"{header}\n1,2\n", plus="rising")["choices"]
    assert (chosen["counter_unit"], chosen["inclination_unit"]) == (unit, slope)
    assert read(f"{header}\n1,2\n")["choices"]["plus"] == plus


def test_a_line_of_units_below_the_header():
    found = read("distance;inclination\nmm;%\n1500;2\n", **RISING)
    assert places(found) == [1.5] and found["taken"][0]["inclination"]["unit"] == "pct" and left(found) == []


def test_without_names_the_columns_are_asked():
    text = "7;1,5;0,8\n8;3,0;0,9\n"
    assert read(text)["asks"] == ["counter_column", "inclination_column"]
    requested = read(text, counter_column=1, inclination_column=2)
    assert requested["asks"] == ["inclination_unit", "plus"] and requested["header"][1] == "Column 2"
    found = read(text, counter_column=1, inclination_column=2, inclination_unit="pct", plus="falling")
    assert places(found) == [1.5, 3.0]
    assert {r["inclination"]["sense"] for r in found["taken"]} == {"falling"}
    with pytest.raises(SurveyError) as refused:
        read(text, counter_column=3, inclination_column=2)
    assert (refused.value.code, refused.value.field) == ("csv_column", "counter_column")


def test_feet_and_a_zero_of_its_own():
    found = read("Distance (ft),Pitch (deg)\n10,1\n", plus="falling", zero_m=2.0)
    assert places(found) == [pytest.approx(5.048)] and found["known"]["zero_m"] == "chosen"


def test_beyond_the_range_needs_its_sense():
    rows = "> 15\n< -15\n-over\nover range\n>+15,0\n"
    found = read("m;deg\n" + "".join(f"{n};{row}\n" for n, row in enumerate(rows.splitlines())), **CHOSEN)
    assert [(r["counter_m"], r["inclination"]["sense"]) for r in found["taken"]] == [
        (0.0, "rising"),
        (1.0, "falling"),
        (2.0, "falling"),
        (4.0, "rising"),
    ]
    assert all(r["inclination"]["over_range"] for r in found["taken"])
    assert left(found)[-1] == (5, "csv_over_no_sense")


CHOSEN = {"counter_column": 0, "inclination_column": 1, "inclination_unit": "deg", "plus": "rising"}


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("three;1", "csv_counter"),
        ("=1+2;1", "csv_counter"),
        ("-4;1", "csv_counter_negative"),
        ("5001;1", "csv_counter_far"),
        ("9" * 400 + ";1", "csv_counter_far"),
        ("1.5;1", "csv_decimal"),
        (";1", "csv_no_counter"),
        ("1", "csv_short"),
        ("1;", "csv_no_inclination"),
        ("1;steep", "csv_inclination"),
        ("1;=HYPERLINK(1)", "csv_inclination"),
        ("1;91", "csv_beyond_vertical"),
        ("1;1:0", "csv_one_in_zero"),
        ("1;over", "csv_over_no_sense"),
        ('1;"2', "csv_quote"),
        ("1;2;3;4", "csv_wide"),
        ("nan;1", "csv_counter"),
        ("1e3;1", "csv_counter"),
        ("٣;1", "csv_counter"),
    ],
)
def test_a_line_that_cannot_be_taken_is_told_and_the_others_are(row, code):
    found = read(f"Distance;Pitch (deg);Remark\n0,5;1\n{row}\n2,5;1\n", **RISING)
    assert left(found) == [(3, code)] and places(found) == [0.5, 2.5]
    words = csv_sentence(WORDS, code, found["left"][0]["values"])
    assert words.endswith((".", "?")) and "{" not in words


def test_a_unit_in_the_cell_that_is_not_the_columns():
    assert left(read("Distance (mm);Pitch (deg)\n1500;1\n1.5 m;1\n", **RISING)) == [(3, "csv_counter_unit")]


def test_cells_carry_their_own_units():
    found = read("Distance;Pitch\n1 m;1:80\n2;-1.25 %\n", **RISING)
    assert found["asks"] == []
    assert [r["inclination"]["unit"] for r in found["taken"]] == ["one_in", "pct"]


def test_mixed_line_ends_blank_lines_and_lines_above_the_header():
    found = read("Crawler log\r\n\r\nDistance;Pitch (deg)\n1;1\r2;1\r\n\n3;1", **RISING)
    assert places(found) == [1.0, 2.0, 3.0] and left(found) == [(1, "csv_before_header")]
    assert [(n["line"], n["code"]) for n in found["notes"]] == [(7, "csv_last_line")]


def test_quotes_may_hold_separators_line_ends_and_quotes():
    found = read('Distance,Pitch (deg),Remark\n"1,5","2,0","a ""b""\nc"\n3,1,x\n', **RISING)
    assert [(r["counter_m"], r["remark"]) for r in found["taken"]] == [(1.5, 'a "b"\nc'), (3.0, "x")]


def test_formulas_in_a_remark_stay_text():
    found = read('Distance;Pitch (deg);Remark\n1;1;"=HYPERLINK(""http://x"")"\n', **RISING)
    assert found["taken"][0]["remark"] == '=HYPERLINK("http://x")'


def test_a_long_remark_is_cut_and_told():
    found = read(f"Distance;Pitch (deg);Remark\n1;1;{'x' * 500}\n", **RISING)
    assert len(found["taken"][0]["remark"]) == 400 and found["notes"][0]["code"] == "csv_remark_cut"


@pytest.mark.parametrize(
    ("data", "charset"),
    [
        ("Distance;Neigung (°)\n1;2\n".encode(), "UTF-8"),
        ("\ufeffDistance;Neigung (°)\n1;2\n".encode(), "UTF-8"),
        ("Distance;Neigung (°)\n1;2\n".encode("latin-1"), "ISO-8859-1"),
        ("Distance;Neigung (°)\n1;2\n".encode("utf-16"), "UTF-16"),
        (b"\xfe\xff" + "Distance;Neigung (°)\n1;2\n".encode("utf-16-be"), "UTF-16"),
    ],
)
def test_character_sets(data, charset):
    assert decode_text(data)["charset"] == charset
    assert read(data, **RISING)["choices"]["inclination_unit"] == "deg"


def wrong_kinds():
    from PIL import Image

    picture = io.BytesIO()
    Image.new("RGB", (9, 9)).save(picture, "JPEG")
    return [
        (picture.getvalue(), "csv_kind", "picture"),
        (b"PK\x03\x04\x14\x00word/document.xml", "csv_kind", "zip"),
        (b"%PDF-1.7\n", "csv_kind", "pdf"),
        (b"\x1f\x8b\x08\x00", "csv_kind", "packed"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "csv_kind", "office"),
        (b"#A1=ISO-8859-1\r\n#A2=en\r\n", "csv_kind", "exchange"),
        (b"1;2\n\0\n", "csv_kind", "binary"),
        (b"\xff\xfe1", "csv_kind", "binary"),
        (b"", "csv_empty", ""),
        (b"\xef\xbb\xbf \r\n\n", "csv_empty", ""),
        (b";;;\n;\n", "csv_empty", ""),
        (b"Distance;Pitch\n", "csv_no_rows", ""),
        (b"1;2\n" * 20_001, "csv_too_large", "rows"),
        (b"1" * 5_000_001, "csv_too_large", "bytes"),
        (b"1;" * 10_001, "csv_kind", "long"),
    ]


@pytest.mark.parametrize("number", range(15))
def test_a_file_of_the_wrong_kind_is_refused_whole(number):
    data, code, field = wrong_kinds()[number]
    with pytest.raises(SurveyError) as refused:
        read(data, **RISING)
    assert (refused.value.code, refused.value.field) == (code, field)
    assert csv_sentence(WORDS, code, {"kind": field}).endswith(".")


WHOLE = (PLAIN + '"4,50";"-0,7";"a\nb"\n').encode()


@pytest.mark.parametrize("cut", range(1, len(WHOLE), 7))
def test_a_file_cut_anywhere_is_told(cut):
    try:
        found = read(WHOLE[:cut], **RISING)
    except SurveyError as error:
        assert error.code == "csv_no_rows"
        return
    whole = WHOLE[:cut].endswith(b"\n")
    assert found["asks"] or found["left"] or found["notes"] or whole


RUN = "01890000-0000-7000-8000-0000000000c1"


def test_ids_grow_with_the_line_and_differ_by_file_and_run():
    runs = ("019412f0-0000-7000-8000-00000000000f", "019412f0-0000-7000-8000-0000000000ff")
    ids = [reading_id(sha * 64, run, line) for run in runs for sha in "0f" for line in (1, 2, 9, 10, 20_000)]
    assert len(set(ids)) == len(ids) and ids[:5] == sorted(ids[:5])
