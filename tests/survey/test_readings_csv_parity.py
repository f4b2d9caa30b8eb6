"""Readings by CSV through Python and JavaScript: 2,000 generated files each; what is made is sound."""

import json

import pytest
from hypothesis import strategies as st
from parity import parity
from test_readings_csv import WORDS, wrong_kinds
from twins import agree, refusal

from webapp.schemas import check_entry
from webapp.survey.readings_file.csv_columns import csv_sentence, find_columns
from webapp.survey.readings_file.csv_table import decode_text, split_table
from webapp.survey.readings_file.readings_csv import read_readings
from webapp.survey.readings_file.readings_taken import beside_standing, reading_id

RUN = "01890000-0000-7000-8000-0000000000c1"
ENTRY = {
    "job_id": RUN, "writer": "a-writer", "number": 1, "device_id": "d",
    "record_id": "01890000-0000-7000-8000-0000000000c2", "kind": "reading",
    "recorded_at": "2026-11-25T10:31:07.120+00:00",
}  # fmt: skip
PIECES = st.sampled_from(
    ["Distance", "Pitch (%)", "Remark", "fall °", "1", "2,5", "3.25", "-0,7", "+1:80", "1 in 0", "> 15", "é",
     "-over", '"', '""', ";", ",", "\t", "|", "\n", "\r\n", "\r", "=1+2", "@x", "m", "91", "−2", "\u00a0",
     "٣", "1e9", "9" * 30, "5 mm/m", "", " ", "\x07"]
)  # fmt: skip
TEXTS = st.lists(PIECES | st.text(max_size=3), max_size=40).map("".join)
NUMBERS = [
    "0",
    "1.5",
    "-2,25",
    "12",
    "> 15",
    "-over",
    "1:80",
    "-1 %",
    "",
    "x",
    "+3 m",
    "4,0",
    '"1,5"',
    "> 15\u2003m",
]
ROWS = st.lists(st.lists(st.sampled_from(NUMBERS), min_size=1, max_size=4), min_size=1, max_size=8)
HEADS = [
    ["Distance", "Pitch (deg)"],
    ["a", "Chainage", "Slope", "Note"],
    ["Sta mm", "Fall %"],
    ["1", "2", "3"],
]
TABLES = st.builds(
    lambda head, rows, sign, end, last: end.join([sign.join(head), *(sign.join(row) for row in rows), last]),
    st.sampled_from(HEADS), ROWS, st.sampled_from([";", ",", "\t"]), st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["", "", "5;"]),
)  # fmt: skip
CHOICES = st.fixed_dictionaries(
    {},
    optional={
        "counter_column": st.integers(-1, 3),
        "inclination_column": st.integers(-1, 3),
        "remark_column": st.integers(-1, 3),
        "counter_unit": st.sampled_from(["m", "cm", "mm", "ft", None]),
        "inclination_unit": st.sampled_from(["deg", "pct", "permille", "one_in"]),
        "plus": st.sampled_from(["rising", "falling"]),
        "decimal": st.sampled_from([".", ","]),
        "zero_m": st.sampled_from([0, 1.5, -2]),
    },
)


@parity(
    "readings_file/csv_table",
    "readings_file/csv_columns",
    "readings_file/readings_csv",
    TABLES | TABLES | TEXTS,
    CHOICES,
    keep=(WORDS,),
)
def test_a_file(twin, text, choices):
    table = agree(twin, "survey/readings_file/csv_table", "split_table", split_table, text, "")
    if table is None:
        return
    agree(twin, "survey/readings_file/csv_columns", "find_columns", find_columns, table["rows"], WORDS)
    result = agree(
        twin, "survey/readings_file/readings_csv", "read_readings", read_readings, table, WORDS, choices
    )
    if result is None:
        return
    for row in result["taken"]:  # the server takes every reading that is made
        fields = {"run_id": RUN, "counter_m": row["counter_m"], "inclination": row["inclination"]}
        remark = {"remark": row["remark"]} if row["remark"] else {}
        assert check_entry(ENTRY | {"fields": fields | remark}) == {}, row
    for row in (*result["left"], *result["notes"]):
        values = {**row["values"], "text": "{text}"}
        sentence = agree(
            twin, "survey/readings_file/csv_columns", "csv_sentence", csv_sentence, WORDS, row["code"], values
        )
        assert "{have}" not in sentence and "{need}" not in sentence
    json.dumps(result, allow_nan=False)


@parity(
    "readings_file/csv_table",
    st.binary(max_size=60)
    | st.text(max_size=30).map(lambda t: t.encode("utf-8", "replace"))
    | st.text(max_size=20).map(lambda t: b"\xff\xfe" + t.encode("utf-16-le", "replace"))
    | st.sampled_from([bytes(range(128, 256)), b"\xef\xbb\xbf", b"\xfe\xff\x00", b"#A1=x", b"\xc3\x28"]),
)
def test_any_bytes(twin, data):
    agree(
        twin,
        "survey/readings_file/csv_table",
        "decode_text",
        lambda values: decode_text(bytes(values)),
        list(data),
    )


@pytest.mark.parametrize("number", range(11))
def test_both_sides_refuse_the_same_files(twin, number):
    data = wrong_kinds()[number][0]
    theirs = refusal(lambda: twin.call("survey/readings_file/csv_table", "decode_text", list(data)))
    assert theirs == refusal(lambda: decode_text(data))


HEX = st.integers(0, 2**48 - 1).map(lambda n: f"{n:012x}" * 5 + "0000")
SLOPES = (
    {"size": 1, "unit": "deg", "sense": "rising", "typed": "1"},
    {"over_range": True, "sense": "falling", "typed": "-over"},
)
LINES = st.lists(st.integers(0, 24), min_size=8, max_size=8)


def rows_of(numbers):
    """One number a line, which says what stands in it; 0 for no such line."""
    return [
        {
            "line": line,
            "counter_m": (0, 1.5, 2.004)[number % 3],
            "inclination": SLOPES[number // 3 % 2],
            "remark": (None, "x")[number // 6 % 2],
        }
        for line, number in enumerate(numbers, start=1)
        if number
    ]


@parity("readings_file/readings_taken", LINES, HEX)
def test_what_stands_already(twin, numbers, sha):
    taken, earlier = rows_of(numbers[:4]), rows_of(numbers[4:])
    standing = [
        {
            "id": reading_id(sha, RUN, row["line"]),
            "fields": {k: v for k, v in row.items() if k != "line"},
            "removed": number > 18,
        }
        for row, number in zip(earlier, [n for n in numbers[4:] if n], strict=True)
    ]
    agree(
        twin,
        "survey/readings_file/readings_taken",
        "beside_standing",
        beside_standing,
        taken,
        sha,
        RUN,
        standing,
    )
