"""The compact written form: what is written is read back, and what cannot be read gets a sentence."""

import string

import pytest
from hypothesis import strategies as st
from parity import parity
from test_codes import CHARACTERS, MESSAGES, QUANTITIES, ROWS, SCRIPT, SENTENCES, each_row, sound
from twins import far

from webapp.survey.coding import written_form
from webapp.survey.coding.code_quantities import quantity_for
from webapp.survey.review import plausibility

OWN = [{**ROWS[0], "code": "XQ1"}]


def read(text):
    return written_form.read_code(ROWS, text)


WRITTEN = {
    "BAB B A 3 mm at 10-2 joint": {
        "code": "BAB", "characterisation_1": "B", "characterisation_2": "A", "quantification_1": 3,
        "clock": {"hour_from": 10, "hour_to": 2}, "at_joint": True,
    },
    "BAJ C 2.5 degrees at 3": {
        "code": "BAJ", "characterisation_1": "C", "quantification_1": 2.5, "clock": {"hour_from": 3},
    },
    "BAJ C 4 degrees at 3 turns left-up": {
        "code": "BAJ", "characterisation_1": "C", "quantification_1": 4, "clock": {"hour_from": 3},
        "turns_to": "left_up",
    },
    "BCC - B 15 degrees": {"code": "BCC", "characterisation_2": "B", "quantification_1": 15},
    "BCA A A 150 mm x 200 mm at 2": {
        "code": "BCA", "characterisation_1": "A", "characterisation_2": "A", "quantification_1": 150,
        "quantification_2": 200, "clock": {"hour_from": 2},
    },
    "BBH A A 2": {"code": "BBH", "characterisation_1": "A", "characterisation_2": "A", "quantification_1": 2},
    "BBA C 20 % at 12-12 not at joint start 3: fine: 3 mm\\nat the top \\\\": {
        "code": "BBA", "characterisation_1": "C", "quantification_1": 20, "at_joint": False,
        "clock": {"hour_from": 12, "hour_to": 12}, "continuous": {"role": "start", "number": 3},
        "remark": "fine: 3 mm\nat the top \\",
    },
    'XX "a:b \\"" x 7': {"code": "XX", "characterisation_1": 'a:b "', "quantification_2": 7},
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "fields"), WRITTEN.items(), ids=[text[:3] + str(n) for n, text in enumerate(WRITTEN)]
)
def test_written_by_hand(text, fields):
    assert written_form.compose_code(ROWS, fields) == text
    assert read(text) == {"fields": fields, "faults": []}


@each_row()
def test_every_row_is_written_and_read(row):
    for kind in [c["value"] for c in row["characterisation_1"]] or [None]:
        fields = sound(row, kind)
        assert read(written_form.compose_code(ROWS, fields)) == {"fields": fields, "faults": []}


def test_people_write_it_in_their_way():
    assert read("BBA B 7,5%")["fields"]["quantification_1"] == 7.5
    assert read("BAJ C 3 deg at 3") == read("BAJ C 3° at 3") == read("BAJ  C 3 degrees at 3 ")
    assert read("BAK D 10 %")["faults"] == read("BAK A 10 mm")["faults"] == []
    assert [f["code"] for f in read("BAK D 10 mm")["faults"]] == ["written_unit_unexpected"]


BAD = {
    "": "written_code_missing", "crack": "written_code_missing", "12": "written_code_missing",
    "BAB B A 3 %": "written_unit_unexpected", "BBH A A 2 mm": "written_unit_unexpected",
    "BAB B A at 13": "clock_hour_unknown", "BAB B A at": "written_unreadable",
    "BAB B A at 1-2-3": "written_unreadable", "BAB three": "written_unreadable",
    "BAB B A 3 mm 4 mm": "written_twice", "BAB joint joint": "written_twice",
    "BAB start": "written_unreadable", "BAB start 0": "written_unreadable",
    "BCA x wide": "written_unreadable",
    "BAB 9999999 mm": "written_unreadable", f"BAB {'9' * 999}": "written_unreadable",
    "BAB " + "x" * 4000: "written_too_long", 'BAB "': "written_unreadable",
}  # fmt: skip


@pytest.mark.parametrize(("text", "code"), BAD.items(), ids=[f"{n}" for n in range(len(BAD))])
def test_what_cannot_be_read_is_said(text, code):
    faults = read(text)["faults"]
    assert [one["code"] for one in faults][:1] == [code]
    assert all(plausibility.sentence(MESSAGES, SENTENCES, one).endswith((".", "remark")) for one in faults)


remarks = st.text(alphabet=string.printable + "äß€🙂", min_size=1, max_size=30)
letters = st.text(alphabet='ABZ19 a:-"\\\n', min_size=1, max_size=8)


@st.composite
def observations(draw):
    """Any sound observation of any row, with whatever it may carry."""
    row = draw(st.sampled_from([*ROWS, {"code": "XQ1"}]))
    fields = {"code": row["code"]}
    for name in CHARACTERS:
        known = [c["value"] for c in row.get(name, [])]
        if draw(st.booleans()):
            fields[name] = draw(st.sampled_from(known) if known else letters)
    for name in QUANTITIES:
        if (draw(st.booleans()) and quantity_for(row, name, None)) or row["code"] == "XQ1":
            fields[name] = draw(
                st.one_of(st.integers(0, 100_000), st.integers(0, 99_999).map(lambda n: n / 1000))
            )
    hours = st.integers(1, 12)
    if draw(st.booleans()):
        fields["clock"] = {"hour_from": draw(hours), **draw(st.sampled_from([{}, {"hour_to": draw(hours)}]))}
    if draw(st.booleans()):
        fields["at_joint"] = draw(st.booleans())
    if draw(st.booleans()):
        fields["turns_to"] = draw(st.sampled_from(written_form.TURNS))
    if draw(st.booleans()):
        role = draw(st.sampled_from(["start", "change", "finish"]))
        fields["continuous"] = {"role": role, "number": draw(st.integers(1, 999))}
    if draw(st.booleans()):
        fields["remark"] = draw(remarks)
    return fields


PARTS = ["BAB", "BCA", "B", "A", "-", "3", "2,5", "mm", "%", "x", "at", "10-2", "13", "joint", "not", "start"]
PARTS += [
    "turns",
    "left-up",
    "right",
    "7",
    ":",
    "a:",
    '"',
    '"q"',
    "\\",
    "\n",
    "3mm",
    "deg",
    "finish",
    "0",
    "1e5",
    "-1",
    "٣",
    "Z",
]
texts = st.one_of(st.text(max_size=20), st.lists(st.sampled_from(PARTS), max_size=9).map(" ".join))


@parity(
    "coding/written_form", st.lists(observations(), min_size=30, max_size=30),
    st.lists(texts, min_size=20, max_size=20), by=SCRIPT, of=50, each=1,
)  # fmt: skip
def test_all_that_is_written_is_read_and_the_same_on_both_sides(twin, many, typed):
    written = [written_form.compose_code(ROWS, fields) for fields in many]
    back = [written_form.read_code(ROWS, text) for text in [*written, *typed]]
    for fields, text, got in zip(many, written, back, strict=False):
        assert got == {"fields": fields, "faults": []}, text
    for one in (fault for got in back for fault in got["faults"]):
        assert plausibility.sentence(MESSAGES, SENTENCES, one)
    theirs = twin.call(SCRIPT, "write_and_read", many, typed)
    assert far({"written": written, "read": back}, theirs) == 0
