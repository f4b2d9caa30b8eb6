"""Which column is which: the right one, or a question; never a wrong one in silence."""

import time

import pytest
from hypothesis import strategies as st
from parity import parity
from readings_files import RISING, draw
from test_readings_csv import WORDS, left, places, read
from twins import agree

from webapp.survey.errors import SurveyError
from webapp.survey.readings_file.csv_columns import find_columns
from webapp.survey.readings_file.csv_numbers import (
    count_marks,
    find_decimal,
    grouping_of,
    is_long,
    plain_cell,
    plain_number,
)
from webapp.survey.readings_file.csv_profile import answers_of, header_signature
from webapp.survey.readings_file.csv_table import decode_text, split_table
from webapp.survey.readings_file.readings_csv import read_readings

THROUGH = ("readings_file/csv_choices", "readings_file/csv_fit", "readings_file/csv_numbers")


def wrong(made, result):
    """What a reader took for certain and is not so."""
    used, found = result["choices"], []
    for name in ("counter_column", "inclination_column"):
        if used[name] not in (None, getattr(made, name)):
            found.append(f"{name}: {result['header'][used[name]]!r}")
    if not result["asks"]:
        taken = result["taken"]
        found += ["metres"] * ([row["counter_m"] for row in taken] != made.metres)
        found += ["sizes"] * ([row["inclination"].get("size") for row in taken] != made.sizes)
        found += ["unit"] * ({row["inclination"].get("unit") for row in taken} != {made.unit})
    return found


@parity(
    "readings_file/csv_table",
    "readings_file/csv_columns",
    "readings_file/readings_csv",
    "readings_file/csv_profile",
    st.integers(0, 10**9),
    through=THROUGH,
    keep=(WORDS,),
)
def test_a_column_is_right_or_asked_for(twin, seed):
    made = draw(seed)
    table = agree(twin, "survey/readings_file/csv_table", "split_table", split_table, made.text, "")
    agree(twin, "survey/readings_file/csv_columns", "find_columns", find_columns, table["rows"], WORDS)
    result = agree(
        twin, "survey/readings_file/readings_csv", "read_readings", read_readings, table, WORDS, RISING
    )
    assert wrong(made, result) == [], made.text
    chosen = {**RISING, "counter_column": made.counter_column, "inclination_column": made.inclination_column}
    reported = agree(
        twin, "survey/readings_file/readings_csv", "read_readings", read_readings, table, WORDS, chosen
    )
    assert "counter_column" not in reported["asks"] and wrong(made, reported) == [], made.text
    agree(
        twin,
        "survey/readings_file/csv_profile",
        "header_signature",
        header_signature,
        reported["header"],
        reported["header_line"],
    )
    kept = agree(twin, "survey/readings_file/csv_profile", "answers_of", answers_of, reported)
    again = agree(
        twin,
        "survey/readings_file/readings_csv",
        "read_readings",
        read_readings,
        table,
        WORDS,
        {"remembered": kept},
    )
    assert again["choices"] == reported["choices"] and again["asks"] == reported["asks"]


def test_a_good_part_of_the_files_needs_no_question_about_columns():
    requested = 0
    for seed in range(400):
        table = split_table(draw(seed).text, "")
        requested += bool(
            {"counter_column", "inclination_column"} & {*read_readings(table, WORDS, RISING)["asks"]}
        )
    assert requested < 220, "a reader that always asks would be right too"


def test_a_running_number_is_not_the_distance():
    found = read("Station;Weg [m];Neigung [%]\n1;0,00;1,2\n2;1,50;1,3\n3;3,00;-0,4\n", **RISING)
    assert found["header"][found["choices"]["counter_column"]] == "Weg [m]" and places(found) == [
        0.0,
        1.5,
        3.0,
    ]
    assert found["unused"] == ["Station"] and found["may_be"]["counter_column"] == [1, 0]


@pytest.mark.parametrize(
    "text",
    [
        "Station;Weg [m];Neigung [%]\n0,4;0,00;1\n2,1;1,50;2\n3,3;3,00;3\n",  # both are distances
        "Cable counter [m];Chainage [m];Slope %\n0.4;0.00;1\n2.1;1.50;2\n",
        "Dist (ft);Dist (m);Slope %\n10.1;3.1;1\n20;6.1;2\n",
        "Dist;Dist;Slope %\n10.1;3.1;1\n20;6.1;2\n",
        "Station;Neigung [%]\n1;1,2\n2;1,3\n3;0,4\n",  # it may count the rows
        "Zähler;Neigung [%]\n5;1,2\n10;1,3\n15;0,4\n",
        "Foo [m];Slope %\n0.1;1\n1.2;2\n",
        "Distance [m];Slope %\n2.5;1\n2.5;2\n2.5;1\n",  # it never moves
        "Time;Slope %\n0.5;1\n1.0;2\n1.5;1\n",
        "Distance [°C];Slope %\n0.5;1\n1.0;2\n1.5;1\n",
        "0.5;1\n1.0;2\n1.5;1\n",
    ],
)
def test_a_distance_in_doubt_is_asked_for(text):
    requested = read(text, **RISING)
    assert (
        "counter_column" in requested["asks"]
        and requested["taken"] == []
        and requested["choices"]["counter_column"] is None
    )


@pytest.mark.parametrize(
    "text",
    [
        "Distance;Slope [%];Pitch [°]\n0.5;1;2\n1;2;3\n",
        "Distance;Inclination X [°];Inclination Y [°]\n0.5;1;2\n1;2;3\n",
        "Distance;Roll [°]\n0.5;1\n1;2\n",
        "Distance;Querneigung [%]\n0.5;1\n1;2\n",
        "Distance;Battery [%]\n0.5;1\n1;2\n",
        "Distance;Slope [%];Wank [%]\n0.5;1;2\n1;2;3\n",
        "Distance;Angle\n0.5;1\n1;2\n",
        "Distance;Slope [m]\n0.5;1\n1;2\n",
        "Distance;Slope %\n0.5;0\n1;0\n2;0\n3;0\n4;0\n",
    ],
)
def test_an_inclination_in_doubt_is_asked_for(text):
    assert "inclination_column" in read(text, **RISING)["asks"]


def test_another_column_brings_its_own_unit_and_sign():
    text = "Distance;Pitch (deg);Fall (%)\n0.5;1;2\n1;2;3\n"
    assert read(text)["asks"] == ["inclination_column"]
    chosen = read(text, inclination_column=2)["choices"]
    assert (chosen["inclination_unit"], chosen["plus"]) == ("pct", "falling")
    chosen = read(text, inclination_column=1)["choices"]
    assert (chosen["inclination_unit"], chosen["plus"]) == ("deg", None)


def test_what_was_said_before_is_used_shown_and_can_be_changed():
    text = "Station;Weg;Neigung\n0,4;0,00;1\n2,1;1,50;2\n"
    answers = {"counter_column": 1, "inclination_unit": "pct", "plus": "falling"}
    kept = answers_of(read(text, **answers))
    assert kept == answers
    found = read(text, remembered=kept)
    assert found["asks"] == [] and found["known"]["plus"] == "remembered" and places(found) == [0.0, 1.5]
    changed = read(text, remembered=kept, counter_column=0, plus="rising")
    assert changed["known"]["plus"] == "chosen" and places(changed) == [0.4, 2.1]
    assert answers_of(changed) == {**answers, "counter_column": 0, "plus": "rising"}


def test_what_was_said_before_does_not_outlive_a_column_without_numbers():
    found = read(
        "Station;Weg [m];Neigung [%]\na;0,00;1\nb;1,50;2\n", remembered={"counter_column": 0}, **RISING
    )
    assert found["choices"]["counter_column"] == 1 and found["known"]["counter_column"] == "file"


def test_one_column_cannot_be_both():
    assert read("Distance;Pitch %\n1;2\n2;2\n", inclination_column=0)["asks"] == ["inclination_column"]


def test_a_block_above_and_lines_below_the_table():
    head = "".join(f"Key {n}: value, {n}\n" for n in range(60))
    found = read(
        f"{head}Total distance;41.5\n\nDistance (m);Pitch (deg)\n0.5;1\n1.5;2\n2.5;1\nMean;1.3\nEnd\n",
        **RISING,
    )
    assert places(found) == [0.5, 1.5, 2.5] and found["header_line"] == 63
    assert left(found)[-2:] == [(67, "csv_counter"), (68, "csv_short")]


def test_a_line_that_says_the_separator():
    found = read("sep=,\nDistance,Pitch (deg)\n0.5,1\n1.5,2\n", **RISING)
    assert places(found) == [0.5, 1.5] and found["header_line"] == 2


@pytest.mark.parametrize("charset", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_its_mark(charset):
    data = "Distance;Pitch (deg)\n0.5;1\n1.5;2\n".encode(charset)
    assert decode_text(data)["charset"] == "UTF-16" and places(read(data, **RISING)) == [0.5, 1.5]


def test_a_quoted_separator_parts_nothing():
    assert split_table('"a;b;c",1\n"d;e;f",2\n', "")["separator"] == ","


NUMBERS = st.from_regex(
    r"[-+]?[0-9]{1,4}[.,' ][0-9]{1,3}([.,][0-9]{1,3})?( m|°|%)?", fullmatch=True
) | st.text(max_size=9)


@parity(
    "readings_file/csv_numbers",
    st.lists(NUMBERS, max_size=6),
    st.sampled_from([",", "."]),
    st.sampled_from([";", ","]),
)
def test_numbers(twin, cells, decimal, separator):
    marks = agree(twin, "survey/readings_file/csv_numbers", "count_marks", count_marks, cells)
    agree(twin, "survey/readings_file/csv_numbers", "find_decimal", find_decimal, marks, marks, separator)
    group = agree(
        twin, "survey/readings_file/csv_numbers", "grouping_of", grouping_of, decimal, marks, len(cells) > 3
    )
    for cell in cells:
        agree(twin, "survey/readings_file/csv_numbers", "is_long", is_long, cell * 12)
        agree(twin, "survey/readings_file/csv_numbers", "plain_cell", plain_cell, cell)
        agree(twin, "survey/readings_file/csv_numbers", "plain_number", plain_number, cell, decimal, group)


def _seconds(rows):
    text = "Distance;Pitch (deg);Note\n" + "".join(f'{k / 10:.1f};1.5;"a ""b"\n' for k in range(rows))
    begun = time.process_time()
    try:
        read_readings(split_table(decode_text(text.encode())["text"], ""), WORDS, RISING)
    except SurveyError as error:
        assert error.field == "rows"
    return time.process_time() - begun


def test_a_long_file_takes_its_time_in_proportion():
    _seconds(500)
    short, long = min(_seconds(4_000) for _ in range(3)), min(_seconds(16_000) for _ in range(2))
    assert long < 4 * 1.6 * short + 0.05, (short, long)
    assert _seconds(200_000) < 20 * short + 1.0


def test_words_are_folded_and_stand_for_one_thing():
    kinds = {}
    for row in WORDS["columns"]:
        for word in row["words"]:
            assert word == word.lower() and word.isascii(), word
            kinds.setdefault(word, set()).add((row["column"], row.get("strength")))
    assert [word for word, found in kinds.items() if len(found) > 1] == []
    languages = {row["language"] for row in WORDS["columns"] if row["column"] == "counter"}
    assert languages >= {"en", "de", "fr", "nl", "es", "it", "pl", "cs", "sv", "da", "no", "fi", "pt"}
