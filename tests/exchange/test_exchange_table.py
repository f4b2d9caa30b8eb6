"""The table of header codes: every row whole, every mapped field there, every letter there and back."""

import re

import pytest
from exchange_files import bytes_of
from exchange_jobs import Rec

from webapp import exchange, tables
from webapp.exchange import headers
from webapp.schemas import KINDS
from webapp.schemas.base import Choice

TABLE = tables.load("exchange_headers")
CERTAINTIES = {"secondary source", "from memory, fairly sure", "inferred", "from memory, shaky", ""}
USES = {"mapped", "constant", "as_given", "held_back"}
FIELDED = [row for row in TABLE["rows"] if row["field"]]


@pytest.mark.parametrize("row", TABLE["rows"] + TABLE["changes"], ids=lambda r: r["code"])
def test_every_row_has_a_title_a_source_and_its_certainty(row):
    assert re.fullmatch("A[A-E][A-Z]", row["code"]) and row["title"] and row["source"]
    assert set(row["certainty"].values()) <= CERTAINTIES and row["certainty"]["name"]
    if row.get("values") or row.get("values_table"):
        assert row["certainty"]["values"]
        assert not re.search("shaky", row["certainty"]["values"]) or row["use"] in ("as_given", "held_back")


def test_codes_stand_once_and_uses_are_known():
    codes = [row["code"] for row in TABLE["rows"]]
    assert len(set(codes)) == len(codes) and codes == sorted(codes)
    assert {row["use"] for row in TABLE["rows"]} == USES
    assert all(bool(row["field"]) == (row["use"] in ("mapped", "held_back")) for row in TABLE["rows"])


@pytest.mark.parametrize("row", FIELDED, ids=lambda r: r["code"])
def test_every_field_is_one_of_ours_and_every_letter_means_one_thing(row):
    owner, _, name = row["field"].partition(".")
    schema = KINDS[{"start": "node", "finish": "node"}.get(owner, owner)]()
    assert name in schema.fields
    letters = headers.letters_of(row["code"])
    assert len(set(letters.values())) == len(letters)
    field = schema.fields[name]
    if letters:
        assert isinstance(field, Choice) and set(letters) <= set(field.choices)
    for value, letter in letters.items():
        assert headers.value_of(row["code"], letter) == value


@pytest.mark.parametrize("row", [r for r in FIELDED if r["use"] == "mapped" and headers.has_list(r["code"])],
                         ids=lambda r: r["code"])  # fmt: skip
def test_every_letter_survives_in_a_file(row):
    code = row["code"]
    for letter in headers.letters_of(code).values():
        header = {"AAA": "R1", code: letter, **({"ADA": "A"} if code == "ADB" else {})}
        data = bytes_of([exchange.Inspection(header, ())])
        report = exchange.read(data)
        owner, _, name = row["field"].partition(".")
        (fields,) = [e["fields"] for e in report.entries if e["kind"] == owner]
        assert fields[name] == headers.value_of(code, letter)


def test_a_checked_row_is_released_by_the_table_alone(monkeypatch):
    for code in ("ABC", "ACE", "ADC"):
        monkeypatch.setitem(headers.rows()[code], "use", "mapped")
    records = [
        Rec("j", "job", {"flow_control": "partly"}),
        Rec("r", "run", {"run_ref": "R1", "chainage_datum": "node_centre"}),
        Rec("s", "stretch", {"run_id": "r", "from_counter_m": 0, "lining": "cured_in_place"}),
    ]
    found = exchange.inspections_of(records)
    assert [found.inspections[0].header[code] for code in ("ABC", "ACE", "ADC")] == ["B", "C", "C"]
    assert not any("from memory" in sentence for sentence in found.not_carried)
    made = {e["kind"]: e["fields"] for e in exchange.read(bytes_of(found.inspections)).entries}
    assert made["job"]["flow_control"] == "partly" and made["run"]["chainage_datum"] == "node_centre"
    assert made["stretch"]["lining"] == "cured_in_place"
