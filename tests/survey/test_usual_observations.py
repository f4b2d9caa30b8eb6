"""The keys of the usual observations: each is one of the code table's, and has what five touches need."""

from webapp import tables
from webapp.survey.coding.codes import check_observation, find_code

TABLE = tables.load("usual_observations")
CODES = tables.load("observation_codes")["rows"]
KEYS = [key for row in TABLE["rows"] for key in row["keys"]]
KINDS = ("characterisation_1", "characterisation_2")


def test_every_key_is_sound_and_gives_the_kinds_that_its_code_needs():
    for key in KEYS:
        row = find_code(CODES, key["code"])
        assert row is not None, key
        assert row["pictogram"]
        found = check_observation(CODES, {n: v for n, v in key.items() if n != "words"} | {"counter_m": 1})
        wrong = [one["code"] for one in found if one["code"].startswith("characterisation")]
        assert wrong == [], (key, wrong)


def test_names_tell_the_keys_apart_and_a_row_fits_the_phone():
    assert len({(key["code"], key["words"]) for key in KEYS}) == len(KEYS) >= 30
    for row in TABLE["rows"]:
        assert len(row["keys"]) == (3 if row.get("code") else 4)
        assert row.get("code") in {None, *(key["code"] for key in row["keys"])}
    assert "no source" in TABLE["source"]


def test_after_a_key_at_most_two_questions_are_left():
    for key in KEYS:
        row = find_code(CODES, key["code"])
        needed = {
            name
            for name in ("quantification_1", "quantification_2")
            if (row[name] or {}).get("needed") is True
        }
        assert len(needed) + bool(row["clock_references"]) <= 2, key


def test_a_finish_is_not_asked_how_much():
    seen = {"code": "BBA", "characterisation_1": "C", "clock": {"hour_from": 12}, "counter_m": 1}
    finish = seen | {"continuous": {"role": "finish", "number": 1}}
    assert [one["code"] for one in check_observation(CODES, seen)] == ["quantification_missing"]
    assert check_observation(CODES, finish) == []
