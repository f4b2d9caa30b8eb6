"""The code table, row by row: what it holds, and what a check says of an observation of each code."""

import json
import math
import re
from pathlib import Path

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import far

from webapp import tables
from webapp.survey.coding import code_search, codes
from webapp.survey.coding.code_quantities import quantity_for
from webapp.survey.review import plausibility

SCRIPT = "../../tests/js/code_cases"
HERE = Path(__file__).resolve().parent
TABLE = tables.load("observation_codes")
ROWS = TABLE["rows"]
SENTENCES = tables.load("findings")["rows"]
MESSAGES = tables.messages()
PHRASES = {
    half: found
    for name in ("phrases", "phrases_later")
    for half, found in json.loads((HERE / f"{name}.json").read_text(encoding="utf-8")).items()
}
PICTOGRAMS = (HERE.parents[1] / "static" / "js" / "ui" / "pictograms.js").read_text(encoding="utf-8")
CHARACTERS, QUANTITIES = (
    tuple(f"{part}_{n}" for n in (1, 2)) for part in ("characterisation", "quantification")
)


def each_row():
    return pytest.mark.parametrize("row", ROWS, ids=[row["code"] for row in ROWS])


def sound(row, first=None, second=None):
    """An observation of a code with everything that it needs."""
    fields = {"code": row["code"]}
    one = first or (row["characterisation_1"][0]["value"] if row["characterisation_1"] else None)
    if one:
        fields["characterisation_1"] = one
    only = row.get("characterisation_2_with")
    if second or (row["characterisation_2_needed"] and (only is None or one in only)):
        fields["characterisation_2"] = second or row["characterisation_2"][0]["value"]
    for name in QUANTITIES:
        if requested := quantity_for(row, name, one):
            fields[name] = requested["usual"][0] if requested["usual"] else requested["least"]
    if row["clock_references"]:
        fields["clock"] = {"hour_from": 12}
    if row["joint"] == "optional":
        fields["at_joint"] = True
    chosen = [c for f in CHARACTERS for c in row[f] if c["value"] == fields.get(f)]
    if row["remark_needed"] or any(c.get("remark") for c in chosen):
        fields["remark"] = "A thing"
    return fields


def names(fields, rows=ROWS):
    return [one["code"] for one in codes.check_observation(rows, fields)]


def without(fields, *gone):
    return {k: v for k, v in fields.items() if k not in gone}


@each_row()
def test_every_row_is_whole(row):
    assert re.fullmatch("B[A-D][A-Z]", row["code"]) and row["title"] and row["help"].endswith(".")
    assert row["source"] and row["status"] and set(row["certainty"].values()) <= {
        "seen in the document named", "secondary source", "inferred", "from memory, fairly sure",
        "from memory, shaky", "common practice, no source",
    }  # fmt: skip
    assert row["group"] == {"A": "fabric", "B": "operation", "C": "inventory", "D": "other"}[row["code"][1]]
    assert f"\n  {row['pictogram']}: [" in PICTOGRAMS
    assert len(row["search_words"].split(",")) >= 5
    for name in QUANTITIES:
        for kind in ["", *(c["value"] for c in row["characterisation_1"])]:
            if requested := quantity_for(row, name, kind):
                assert 0 <= requested["least"] < requested["most"]
                assert all(requested["least"] <= v <= requested["most"] for v in requested["usual"])
                assert row["certainty"]["ranges"] == "common practice, no source"


@each_row()
def test_what_a_row_asks_for_is_enough_and_every_lack_is_said(row):
    kinds = [c["value"] for c in row["characterisation_1"]] or [None]
    for kind in kinds:
        assert names(sound(row, kind)) == [], kind
    fields = sound(row, (row.get("clock_needed_with") or row.get("characterisation_2_with") or [None])[0])
    lacking = {name for f in fields for name in names(without(fields, f)) if f != "code"}
    expected = {
        "characterisation_missing": row["characterisation_1_needed"] or row["characterisation_2_needed"],
        "characterisation_either": row.get("either_characterisation", False),
        "clock_missing": row["clock_needed"] or "clock_needed_with" in row,
        "remark_missing": row["remark_needed"] or "remark" in fields,
        "quantification_missing": any((quantity_for(row, f, "") or {}).get("needed") for f in QUANTITIES),
    }
    assert lacking == {name for name, so in expected.items() if so}


@each_row()
def test_what_a_row_does_not_take_is_said(row):
    fields = sound(row)
    assert "characterisation_unknown" in names({**fields, "characterisation_1": "QQ"})
    for name in QUANTITIES:
        requested = quantity_for(row, name, fields.get("characterisation_1"))
        if requested is None:
            assert "quantification_not_taken" in names({**fields, name: 1})
        else:
            beyond = "quantification_beyond_whole" if requested["unit"] == "%" else "quantification_unlikely"
            assert beyond in names({**fields, name: max(requested["most"], 100) * 1.01})
            if requested["least"] > 0:
                assert "quantification_unlikely" in names({**fields, name: 0})
            assert "quantification_unreadable" in names({**fields, name: "a lot"})
    two = {"clock": {"hour_from": 10, "hour_to": 2}}
    clock = ["clock_not_taken", "clock_too_many", None][row["clock_references"]]
    assert names({**fields, **two}) == ([clock] if clock else [])
    thirteen = names({**fields, "clock": {"hour_from": 13}})
    assert thirteen == ["clock_hour_unknown" if row["clock_references"] else "clock_not_taken"]
    start = names({**fields, "continuous": {"role": "start", "number": 1}})
    assert start == ([] if row["continuous"] else ["continuous_not_taken"])
    joint = {at: names({**fields, "at_joint": at}) for at in (True, False)}
    assert (
        joint
        == {
            "optional": {True: [], False: []},
            "inherent": {True: [], False: ["joint_always"]},
            "n/a": {True: ["joint_not_taken"], False: []},
        }[row["joint"]]
    )


def test_a_second_letter_goes_with_its_first_and_units_with_their_kind():
    six = {"clock": {"hour_from": 6}}
    brick = {"code": "BAD", "characterisation_1": "A", "characterisation_2": "A", **six}
    assert names(brick) == ["characterisation_2_only_with"]
    row = codes.find_code(ROWS, "BAJ")
    assert [quantity_for(row, QUANTITIES[0], kind)["unit"] for kind in "ABC"] == ["mm", "mm", "degrees"]
    angled = {"code": "BAJ", "characterisation_1": "C", "quantification_1": 70, **six}
    assert names(angled) == ["quantification_unlikely"]
    assert names({"code": "BAJ", "characterisation_1": "A", "quantification_1": 70}) == []
    other = {"code": "BBB", "characterisation_1": "Z", "quantification_1": 5, "clock": {"hour_from": 6}}
    assert names(other) == ["remark_missing"] and names({**other, "remark": "Wax"}) == []


rubbish = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 200),
    st.sampled_from([math.nan, math.inf, -0.5, 0.25, 33.3, 250.5, 99999.5]), st.text(max_size=4), st.just([]),
    st.just(["A"]), st.just({}), st.sampled_from(["A", "B", "C", "Z", "start"]),
    st.fixed_dictionaries({"hour_from": st.sampled_from([None, 0, 1, 12, 13, 2.5, "3", True, []])},
                          optional={"hour_to": st.sampled_from([None, 3, 14, "x"])}),
    st.fixed_dictionaries({"role": st.sampled_from(["start", "end", None, 3])},
                          optional={"number": st.sampled_from([1, 0, 1.5, "1", None])}),
)  # fmt: skip
NAMES = (*CHARACTERS, *QUANTITIES, "clock", "at_joint", "continuous", "remark")
observations = st.fixed_dictionaries(
    {"code": st.one_of(st.sampled_from([row["code"] for row in ROWS]), rubbish)},
    optional={name: rubbish for name in NAMES},
)


@parity(
    "coding/codes",
    "coding/code_quantities",
    st.lists(observations, min_size=50, max_size=50),
    by=SCRIPT,
    of=50,
    each=1,
)
def test_anything_at_all_gets_sentences_and_the_same_on_both_sides(twin, many):
    ours = []
    for fields in many:
        found = codes.check_observation(ROWS, fields)
        sentences = [plausibility.sentence(MESSAGES, SENTENCES, one) for one in found]
        row = codes.find_code(ROWS, fields["code"])
        kind = fields.get("characterisation_1")
        requested = [quantity_for(row, name, kind) if row else None for name in QUANTITIES]
        ours.append({"found": found, "said": sentences, "asked": requested})
        assert all(text.endswith((".", "?")) and text[0] != " " for text in sentences)
    assert far(ours, twin.call(SCRIPT, "check_many", many)) == 0


def named(row):
    return row["code"] or f"stretch:{row['change']}"


@pytest.mark.parametrize(("half", "least"), [("tuning", 100), ("kept_apart", 100), ("later", 50)])
def test_every_phrase_finds_its_code_among_the_first_three(half, least):
    index = code_search.build_index(TABLE)
    missed = []
    for text, code in PHRASES[half]:
        found = [named(row) for row in code_search.search_index(index, text, 3)]
        missed += [] if code in found else [(text, code, found)]
    assert missed == [] and len(PHRASES[half]) >= least


def test_the_phrases_reach_every_row():
    """In both halves together; each half alone has most."""
    reached = {code for half in ("tuning", "kept_apart") for _, code in PHRASES[half]}
    assert reached == {named(row) for row in (*ROWS, *TABLE["changes"])}


def test_a_code_typed_comes_first_and_nothing_comes_of_nothing():
    for row in ROWS:
        assert code_search.search_codes(TABLE, row["code"].lower(), 1) == [row]
    assert code_search.search_codes(TABLE, "", 3) == ROWS[:3]
    assert code_search.search_codes(TABLE, "zzqqxxjj", 3) == []
    assert code_search.search_codes({"rows": ROWS}, "roots", 1)[0]["code"] == "BBA"


WORDS = sorted({w for r in (*ROWS, *TABLE["changes"]) for w in r["search_words"].replace(",", "").split()})
typed = st.one_of(
    st.lists(st.sampled_from(WORDS), max_size=4).map(" ".join), st.text(max_size=12),
    st.sampled_from(WORDS).flatmap(lambda w: st.permutations(w).map("".join)),
)  # fmt: skip


def found_by_both(twin, texts):
    index = code_search.build_index(TABLE)
    ours = [[named(row) for row in code_search.search_index(index, text, 5)] for text in texts]
    theirs = twin.call(SCRIPT, "search_many", texts, 5)
    for text, here, there in zip(texts, ours, theirs, strict=True):
        assert here == there, text


def test_the_phrases_find_the_same_on_both_sides(twin):
    found_by_both(twin, [text for half in ("tuning", "kept_apart", "later") for text, _ in PHRASES[half]])


@parity("coding/code_search", st.lists(typed, min_size=20, max_size=20), by=SCRIPT, of=20, each=1)
def test_any_words_find_the_same_on_both_sides(twin, texts):
    found_by_both(twin, texts)
