"""How an exchange file is spelled, and what is said of what it cannot hold."""

import exchange_reader as independent
import pytest
from exchange_files import bytes_of
from exchange_jobs import Rec

from webapp import exchange

RUN = Rec("r", "run", {"run_ref": "R1", "start_node_id": "n", "direction": "with_flow"})
NODE = Rec("n", "node", {"node_ref": "MH1"})


def written(*records, scale=1.0, **layout):
    """The file of a job, as its lines; its rows, read independently; and both lists of sentences."""
    found = exchange.inspections_of([RUN, NODE, *records], exchange.Places(scales={"r": scale}))
    done = exchange.compose(found.inspections, exchange.Layout(**layout))
    _, ((header, rows),) = independent.read_file(done.data)
    return header, rows, done, found.not_carried


def observation(name="o", **fields):
    return Rec(name, "observation", {"run_id": "r", "counter_m": 1, "code": "BBA", **fields})


def test_a_value_in_dispute_is_marked_where_it_stands():
    roots = observation(quantification_1=25, remark="At the joint")
    roots.conflicts["quantification_1"] = [("a:1", 25), ("b:1", 30)]
    _, rows, _, _ = written(roots)
    assert rows[0]["D"] == "25" and rows[0]["F"] == "NOT SETTLED, D: 25 or 30. At the joint"
    clear = observation(quantification_1=25)
    assert "F" not in written(clear)[1][0] or not written(clear)[1][0]["F"]


def test_line_ends_and_terminator_are_always_there():
    _, _, done, _ = written(observation())
    assert done.data.count(b"\r\n") == done.data.count(b"\n") == done.data.count(b"\r")
    assert done.data.endswith(b"\r\n#Z\r\n")
    assert bytes_of([]).splitlines() == [
        b"#A1=ISO-8859-1",
        b"#A2=en",
        b"#A3=,",
        b"#A4=.",
        b'#A5="',
        b"#A6=2010",
    ]


@pytest.mark.parametrize(
    ("text", "layout", "expected"),
    [
        ("a,b", {}, b'"a,b"'),
        ("#Z", {}, b'"#Z"'),
        ('say "so"', {}, b"say 'so'"),
        ("it's", {"quote": "'"}, b"it`s"),
        ("a;b", {"separator": ";", "quote": ""}, b"a/b"),
        ("#Z", {"separator": ";", "quote": ""}, b"No. Z"),
        ("two\nlines\r\nand\ttab", {}, b"two / lines / and tab"),
        ("Žižkov – 5 € ≥ 3 …", {}, b"Zizkov - 5 EUR >= 3 ..."),
        ("Žižkov", {"charset": "UTF-8"}, "Žižkov".encode()),
        ("é ½ ß", {}, "é ½ ß".encode("latin-1")),
        ("🙂 שלום", {}, b"? ????"),
        ("=1+1", {}, b"=1+1"),
    ],
)
def test_text_is_spelled_so_that_the_line_stays_whole(text, layout, expected):
    _, rows, done, _ = written(observation(remark=text), **layout)
    assert done.data.split(b"\r\n")[-3].endswith(exchange.Layout(**layout).separator.encode() + expected)
    assert len(rows) == 1


def test_characters_put_otherwise_are_listed_with_their_place():
    _, _, done, _ = written(observation(remark='ž "x" 🙂'))
    assert done.replaced == (
        "run R1, BBA at 1.00 m, column F: ž (U+017E) as z",
        "run R1, BBA at 1.00 m, column F: 🙂 (U+1F642) as ?",
        "run R1, BBA at 1.00 m, column F: \" as '",
    )


@pytest.mark.parametrize(
    "layout",
    [
        {"charset": "UTF-16"}, {"decimal": "·"}, {"separator": ".", "decimal": "."}, {"separator": "ab"},
        {"separator": "#"}, {"separator": "A"}, {"quote": '""'}, {"language": "en\r\n#Z"}, {"decimal": ","},
    ],
)  # fmt: skip
def test_signs_that_cannot_go_together_are_refused(layout):
    with pytest.raises(ValueError):
        bytes_of([], **layout)


def test_numbers_have_the_decimal_sign_and_no_exponent():
    _, (row,), _, _ = written(
        observation(counter_m=1234.5, quantification_1=12.50, quantification_2=0.0000001),
        decimal=",", separator=";",
    )  # fmt: skip
    assert (row["I"], row["D"], row["E"]) == ("1234,50", "12,5", "0")


def test_the_way_a_joint_turns_is_said_to_be_left_behind():
    *_, left = written(observation(code="BAJ", characterisation_1="C", turns_to="left"))
    wanted = "The exchange format has no place for which way the pipe turns at an angled joint (1)."
    assert wanted in list(left)


def test_distances_are_chainages():
    run = Rec("r", "run", {"run_ref": "R1", "counter_zero_m": 0.5})
    found = exchange.inspections_of([run, observation(counter_m=10.5)], exchange.Places(scales={"r": 1.02}))
    assert found.inspections[0].rows[0]["I"] == pytest.approx(10.2)
    _, (row,), _, _ = written(observation(counter_m=0.001), scale=0.5)
    assert row["I"] == "0.00"


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"clock": {"hour_from": 12, "hour_to": 12}}, {"G": "12", "H": "12"}),
        ({"clock": {"hour_from": 3}}, {"G": "3"}),
        ({"continuous": {"role": "start", "number": 7}}, {"J": "A07"}),
        ({"continuous": {"role": "finish", "number": 107}}, {"J": "B107"}),
        ({"continuous": {"role": "change", "number": 1}}, {"J": "C01"}),
        ({"at_joint": True}, {"K": "A"}),
        ({"at_joint": False}, {}),
        ({"characterisation_1": "B", "characterisation_2": "C"}, {"B": "B", "C": "C"}),
    ],
)
def test_what_an_observation_carries(fields, expected):
    _, (row,), _, _ = written(observation(**fields))
    assert row == {"I": "1.00", "A": "BBA", **expected}


def test_a_photo_is_named_and_a_loose_one_gets_a_row():
    each = [{"belongs_to": "o"}, {"belongs_to": "o"}, {"caption": "Outside"}]
    base = {"run_id": "r", "counter_m": 2}
    photos = [Rec(f"p{n}", "photo", {"sha256": f"{n}" * 64, **base, **more}) for n, more in enumerate(each)]
    _, rows, _, lost = written(observation(), *photos)
    assert rows == [
        {"I": "1.00", "A": "BBA", "M": "0" * 16},
        {"I": "2.00", "A": "BDA", "M": "2" * 16, "F": "Outside"},
    ]
    assert any("further photos" in sentence and "(1)" in sentence for sentence in lost)


def test_the_pipe_begins_in_the_header_and_changes_in_rows():
    pipe = {"run_id": "r", "shape": "circular", "material": "vitrified_clay", "pipe_unit_length_m": 0.6}
    header, rows, _, _ = written(
        Rec("s1", "stretch", {**pipe, "from_counter_m": 0, "height_mm": 150}),
        Rec("s2", "stretch", {**pipe, "from_counter_m": 4, "height_mm": 150, "material": "pvc_u"}),
        Rec(
            "s3", "stretch", {**pipe, "from_counter_m": 9, "shape": "egg", "height_mm": 300, "width_mm": 200}
        ),
    )
    assert [header[c] for c in ("ACA", "ACB", "ACC", "ACD", "ACG")] == ["A", "150", "150", "AE", "600"]
    assert rows == [
        {"I": "4.00", "A": "AED", "B": "AX"},
        {"I": "9.00", "A": "AEC", "B": "C", "D": "300", "E": "200"},
        {"I": "9.00", "A": "AED", "B": "AE"},
    ]


def test_letters_that_nobody_checked_are_not_written_but_said():
    stretch = Rec("s", "stretch", {"run_id": "r", "from_counter_m": 0, "lining": "cured_in_place"})
    run = Rec("r", "run", {"run_ref": "R1", "chainage_datum": "wall_face"})
    job = Rec("j", "job", {"flow_control": "blocked"})
    found = exchange.inspections_of([run, stretch, job])
    assert not {"ABC", "ACE", "ADC"} & set(found.inspections[0].header)
    for code in ("ABC", "ACE", "ADC"):
        assert any(f"({code})" in sentence and "from memory" in sentence for sentence in found.not_carried)


TWO_CODES = {"code": [("a:1", "BBA"), ("b:1", "BBB")]}


def test_what_is_left_behind_is_counted():
    _, _, _, lost = written(
        Rec("x1", "reading", {"run_id": "r"}), Rec("x2", "reading", {"run_id": "r"}),
        Rec("x3", "level_tie", {"run_id": "r"}), Rec("x4", "check", {}),
        Rec("n2", "node", {"node_ref": "B", "position": {"lat_deg": 1, "lon_deg": 1}}),
        Rec("o1", "observation", {"run_id": "r", "counter_m": 4, "code": "BBA"}, TWO_CODES),
        Rec("o2", "observation", {"run_id": "r", "code": "BBA"}),
        Rec("o3", "observation", {"run_id": "gone", "counter_m": 4, "code": "BBA"}),
        Rec("o4", "observation", {"run_id": "r", "counter_m": 4, "code": "BBB"}, removed=True),
        Rec("p", "photo", {"sha256": "a" * 64, "run_id": "r"}),
        Rec("j", "job", {"title": "T", "purpose": "tracing"}),
        Rec("t", "remark", {"text": "On the job"}),
    )  # fmt: skip
    output = "\n".join(lost)
    for words in (
        "inclination readings (2)", "level ties (1)", "checks and safety answers (1)",
        "positions of nodes (1)",
        "conflicts (the value shown is written, the others in the remark where there is one) (1)",
        "observations without a code or a distance (1)",
        "records of no run (1)", "the pictures themselves (only names of files are written) (1)",
        "photos that stand at no distance (1)", "the job’s title (1)", "remarks on the job (1)",
        "no letter for 'tracing'",
    ):  # fmt: skip
        assert words in output, words
    assert "BBB" not in output


def test_remarks_stand_at_their_distance_or_on_the_run():
    header, rows, _, _ = written(
        Rec("t1", "remark", {"run_id": "r", "text": "No distance"}),
        Rec("t2", "remark", {"run_id": "r", "counter_m": 2.5, "text": "Here"}),
    )
    assert header["ADE"] == "No distance"
    assert rows == [{"I": "2.50", "A": "BDB", "F": "Here"}]
