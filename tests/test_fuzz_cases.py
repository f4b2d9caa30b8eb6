"""Inputs that a coverage-guided fuzzer kept: strangers’ files are refused or taken, and break nothing."""

import json
from pathlib import Path

import pytest

from webapp import exchange, tables
from webapp.errors import AppError
from webapp.schemas import check_entry
from webapp.survey.errors import SurveyError
from webapp.survey.readings_file.csv_columns import csv_sentence
from webapp.survey.readings_file.csv_table import decode_text, split_table
from webapp.survey.readings_file.readings_csv import read_readings

CASES = json.loads((Path(__file__).parent / "fuzz_cases.json").read_text())
WORDS = tables.load("readings_csv")
UNITS, LENGTHS = ("deg", "pct", "permille", "one_in"), ("m", "cm", "mm", "ft")


def choices(first, second):
    """The first two bytes of a case are what a person chose."""
    found = {}
    if first & 1:
        found["counter_column"] = (first >> 1) % 4
    if first & 8:
        found["inclination_column"] = (first >> 4) % 4
    if first & 64:
        found["plus"] = "rising" if first & 128 else "falling"
    if second & 1:
        found["inclination_unit"] = UNITS[(second >> 1) % 4]
    if second & 8:
        found["counter_unit"] = LENGTHS[(second >> 4) % 4]
    if second & 64:
        found["decimal"] = ",."[second >> 7]
    return found


def test_readings_of_any_bytes():
    made = refused = 0
    for case in CASES["readings"]:
        first, second, *_ = data = bytes.fromhex(case)
        try:
            table = split_table(decode_text(data[2:])["text"], "")
            result = read_readings(table, WORDS, choices(first, second))
        except SurveyError as error:
            refused += 1
            assert csv_sentence(
                WORDS, error.code, {"kind": "" if error.code == "csv_column" else error.field}
            )
            continue
        made += 1
        for row in (*result["left"], *result["notes"]):
            assert csv_sentence(WORDS, row["code"], row["values"])
        json.dumps(result, allow_nan=False)
    assert made > 20 and refused > 5, (made, refused)


@pytest.mark.parametrize("part", range(3))
def test_exchange_files_of_any_bytes(part):
    for case in CASES["exchange"][part::3]:
        try:
            report = exchange.read(bytes.fromhex(case))
        except AppError as error:
            assert error.code.startswith("exchange_")
            continue
        assert all(check_entry(entry) == {} for entry in report.entries)
        assert report.lines()
