"""Exchange files from elsewhere: whatever is sound in them is taken, everything else is told."""

import json

import exchange_files as files
import pytest

from webapp import exchange
from webapp.schemas import check_entry
from webapp.schemas.base import is_uuid

ROWS = ["0.00,,BCD,A,,,,,,,,", "3.50,,BBA,B,,10,,9,3,A,,fine roots", "9.00,,BCE,A,,,,,,,,"]


def sentences(report, outcome=None):
    return [n.sentence for n in report.notes if outcome in (None, n.outcome)]


def observations(report):
    return files.of_kind(report, "observation")


def test_the_example_becomes_a_job():
    report = exchange.read(files.EXAMPLE.encode("latin-1"))
    job, (first, second) = files.of_kind(report, "job")[0], files.of_kind(report, "run")
    assert job == {
        "title": "Exchange file: run K-21 and 1 more", "client_reference": "PI-26-7", "purpose": "routine",
        "site": "Saltmarsh Lane, bank of the creek", "surveyor": "A. Nobody", "surveyed_on": "2026-04-09",
        "weather": "dry",
    }  # fmt: skip
    assert [n["node_ref"] for n in files.of_kind(report, "node")] == ["OUT-1", "CH-4", "CH-5"]
    assert (first["run_ref"], first["direction"], first["expected_length_m"]) == (
        "K-21",
        "against_flow",
        27.4,
    )
    assert (first["end_reason"], first["end_counter_m"]) == ("node_reached", 27.4)
    assert "end_reason" not in second and second["end_counter_m"] == 12.2
    assert first["finish_node_id"] == second["start_node_id"]
    pipe = files.of_kind(report, "stretch")[0]
    assert (pipe["shape"], pipe["height_mm"], pipe["material"]) == ("circular", 300, "concrete")
    assert pipe["pipe_unit_length_m"] == 1.25 and "width_mm" not in pipe and pipe["to_counter_m"] == 27.4
    assert len(observations(report)) == 14
    crack = observations(report)[3]
    assert crack["clock"] == {"hour_from": 11, "hour_to": 1} and crack["quantification_1"] == 1.5
    assert crack["continuous"] == {"role": "start", "number": 1}
    assert observations(report)[6]["remark"] == "shells, then sand"
    assert observations(report)[9]["clock"] == {"hour_from": 12, "hour_to": 12}
    assert observations(report)[2]["at_joint"] is True
    assert not sentences(report, "left_out") and not sentences(report, "remark")
    for code in ("AAM", "AAN", "ABC", "ABG", "ACJ", "ACK", "ACM"):
        assert any(f"header {code} = " in s for s in sentences(report, "kept")), code


def test_the_same_file_twice_is_the_same_job_and_another_file_is_another():
    data = files.EXAMPLE.encode("latin-1")
    one, two = exchange.read(data), exchange.read(data)
    assert one.entries == two.entries
    other = exchange.read(data.replace(b"shells", b"snails"))
    assert other.job_id != one.job_id and other.writer != one.writer
    ids = [e["record_id"] for e in one.entries]
    assert not set(ids) & {e["record_id"] for e in other.entries}
    assert len(set(ids)) == len(ids) and all(map(is_uuid, ids))
    assert one.writer.startswith("xfer-") and len(one.writer) == 29
    assert [e["number"] for e in one.entries] == list(range(1, len(ids) + 1))
    assert all(check_entry(e) == {} for e in one.entries)
    json.dumps(one.entries, allow_nan=False)


@pytest.mark.parametrize(
    "spell",
    [
        lambda t: t.replace("\r\n", "\n"),
        lambda t: t.replace("\r\n", "\r"),
        lambda t: "".join(line + ("\r\n", "\n", "\r")[n % 3] for n, line in enumerate(t.split("\r\n"))),
        lambda t: t.replace("\r\n", "\r\n\r\n"),
        lambda t: t.replace("#Z\r\n", "#Z \r\n"),
        lambda t: t[: t.rindex("#Z")],
        lambda t: "\r\n" + t,
        lambda t: t.replace("#A6=2010\r\n", ""),
        lambda t: t.replace('#A5="\r\n', ""),
        lambda t: t.replace("#A3=,\r\n", "").replace("#A4=.\r\n", ""),
        lambda t: t.replace("#A1=ISO-8859-1\r\n", ""),
        lambda t: t.replace("#B02=", "#B2=").replace("#B01=", "#B1="),
        lambda t: t[t.index("#B01") :],
    ],
    ids=["LF", "CR", "mixed", "blank lines", "#Z and a space", "no last #Z", "blank first", "no A6", "no A5",
         "no A3, A4", "no A1", "short block numbers", "no #A lines"],
)  # fmt: skip
def test_other_spellings_of_the_same_thing(spell):
    plain = exchange.read(files.EXAMPLE.encode("latin-1"))
    other = exchange.read(spell(files.EXAMPLE).encode("latin-1"))
    for kind in ("job", "node", "stretch", "observation"):
        made = [{k: v for k, v in f.items() if not k.endswith("_id")} for f in files.of_kind(other, kind)]
        assert made == [
            {k: v for k, v in f.items() if not k.endswith("_id")} for f in files.of_kind(plain, kind)
        ]
    assert not sentences(other, "left_out") and not sentences(other, "remark")


def test_the_order_of_columns_comes_from_the_file():
    data = files.one_run(["rest of a brick,3,BBE,1.25", ",,BCE,4"], columns="F,G,A,I")
    first, second = observations(exchange.read(data))
    assert (first["code"], first["counter_m"], first["remark"]) == ("BBE", 1.25, "rest of a brick")
    assert first["clock"] == {"hour_from": 3} and second["code"] == "BCE"


def test_decimal_commas_and_semicolons():
    head = files.HEAD.replace("#A3=,", "#A3=;").replace("#A4=.", "#A4=,")
    data = files.one_run(["3,55;BBA;2,5"], columns="I;A;D", header="#B01=AAA;ABQ\r\nR1;12,5\r\n", head=head)
    report = exchange.read(data)
    assert observations(report)[0]["counter_m"] == 3.55 and observations(report)[0]["quantification_1"] == 2.5
    assert files.of_kind(report, "run")[0]["expected_length_m"] == 12.5


@pytest.mark.parametrize(
    ("declared", "encoded", "mark", "found"),
    [
        ("ISO-8859-1", "latin-1", b"", "ISO-8859-1"), ("UTF-8", "utf-8", b"", "UTF-8"),
        ("utf8", "utf-8", b"", "UTF-8"), ("", "utf-8", b"", "UTF-8"), ("", "latin-1", b"", "ISO-8859-1"),
        ("klingon", "latin-1", b"", "ISO-8859-1"), ("ISO-8859-1", "utf-8", b"\xef\xbb\xbf", "UTF-8"),
        ("UTF-8", "latin-1", b"", "ISO-8859-1"), ("windows-1252", "cp1252", b"", "ISO-8859-1"),
    ],
)  # fmt: skip
def test_character_sets_declared_or_found(declared, encoded, mark, found):
    text = files.one_run(["1.0,BDB,PLACE"], columns="I,A,F").decode("latin-1").replace("PLACE", "Gewölbe é")
    text = text.replace("#A1=ISO-8859-1\r\n", f"#A1={declared}\r\n" if declared else "")
    report = exchange.read(mark + text.encode(encoded))
    assert observations(report)[0]["remark"] == "Gewölbe é"
    assert report.layout.charset == found


def test_letters_of_windows_in_a_latin_file_are_what_they_mean():
    data = files.one_run(["1.0,BDB,X"], columns="I,A,F").replace(b",X", b",10 \x80 \x96 dear")
    assert observations(exchange.read(data))[0]["remark"] == "10 € – dear"


def test_unknown_codes_and_columns_are_kept_as_given_and_listed():
    data = files.one_run(
        ["1.0,XAB,Q,north,7"], columns="I,A,B,O,P", header="#B01=AAA,XYZ,ACK\r\nR1,local,C\r\n"
    )
    report = exchange.read(data)
    output = "\n".join(sentences(report, "kept"))
    for words in (
        "code XAB",
        "column O of 1 row",
        "column P of 1 row",
        "header XYZ = 'local'",
        "it means: Both",
    ):
        assert words in output, words
    assert observations(report)[0]["code"] == "XAB"
    written = files.again(data).decode("latin-1")
    assert "local" in written and ",XAB,Q," in written and ",north,7," in written
    assert files.again(written.encode("latin-1")).decode("latin-1") == written


def test_letters_from_memory_are_not_made_into_claims():
    report = exchange.read(files.one_run(ROWS, header="#B01=AAA,ABC,ACE,ADC\r\nR1,A,C,B\r\n"))
    assert "chainage_datum" not in files.of_kind(report, "run")[0]
    assert "flow_control" not in files.of_kind(report, "job")[0]
    assert len([s for s in sentences(report, "kept") if "not certain yet" in s]) == 3


def test_changes_of_pipe_start_new_stretches():
    rows = ["0,BCD,A,,", "4.5,AEC,C,300,200", "4.5,AED,AX,,", "7,AEF,,3000,", "8,AED,QQ,,", "9,BCE,A,,"]
    header = "#B01=AAA,ACA,ACB,ACC,ACD\r\nR1,A,150,150,AE\r\n"
    report = exchange.read(files.one_run(rows, columns="I,A,B,D,E", header=header))
    one, two, three = files.of_kind(report, "stretch")
    assert (one["from_counter_m"], one["to_counter_m"], one["material"]) == (0.0, 4.5, "vitrified_clay")
    assert (two["shape"], two["height_mm"], two["width_mm"], two["material"]) == ("egg", 300, 200, "pvc_u")
    assert (three["from_counter_m"], three["to_counter_m"], three["pipe_unit_length_m"]) == (7, 9, 3)
    assert [o["code"] for o in observations(report)] == ["BCD", "AED", "BCE"]


def test_places_before_the_datum_are_kept():
    report = exchange.read(files.one_run(["-0.40,BCD", "2.10,BBA"], columns="I,A"))
    assert files.of_kind(report, "run")[0]["counter_zero_m"] == 0.4
    assert [o["counter_m"] for o in observations(report)] == [0, 2.5]
    assert b"-0.40,,BCD" in files.again(files.one_run(["-0.40,BCD", "2.10,BBA"], columns="I,A"))


@pytest.mark.parametrize(
    ("header", "start", "finish"),
    [
        ("AAB,AAD,AAF\r\nB,A,B", "B", "A"), ("AAB,AAD,AAF\r\nA,A,B", "A", "B"), ("AAD,AAF\r\nA,B", "A", "B"),
        ("AAB\r\nA", "A", None), ("AAB,AAD,AAF\r\nC,A,B", "C", "B"),
    ],
)  # fmt: skip
def test_where_it_starts_is_said_by_the_start_node(header, start, finish):
    codes, values = header.split("\r\n")
    data = files.one_run(ROWS, header=f"#B01=AAA,{codes}\r\nR1,{values}\r\n")
    report = exchange.read(data)
    run = files.of_kind(report, "run")[0]
    refs = {r.id: r.fields["node_ref"] for r in files.records(report) if r.kind == "node"}
    assert (refs.get(run.get("start_node_id")), refs.get(run.get("finish_node_id"))) == (start, finish)
    assert f"#B01=AAA,{codes}\r\nR1,{values}\r\n".encode() in files.again(data)


def test_inspections_that_differ_keep_their_own():
    data = files.EXAMPLE.replace("11:40,A. Nobody", "11:40,B. Nobody").encode("latin-1")
    report = exchange.read(data)
    assert files.of_kind(report, "job")[0]["surveyor"] == "A. Nobody"
    assert any(
        "header ABH = 'B. Nobody'" in s and "another inspection" in s for s in sentences(report, "kept")
    )
    assert b"11:40,B. Nobody" in files.again(data)


def test_long_text_is_kept_whole():
    data = files.one_run(
        [f"1.0,BDB,{'long ' * 2000}end"], columns="I,A,F", header=f"#B01=AAA\r\n{'r' * 90}\r\n"
    )
    report = exchange.read(data)
    assert all(check_entry(e) == {} for e in report.entries)
    assert files.of_kind(report, "run")[0]["run_ref"] == "r" * 60
    assert ("long " * 2000 + "end").encode() in files.again(data) and b"r" * 90 in files.again(data)


def test_the_report_counts_and_tells_line_by_line():
    first, *rest = exchange.read(files.EXAMPLE.encode("latin-1")).lines()
    assert "2 runs, 14 observations, 2 stretches, 3 nodes" in first
    numbers = [int(line.split(":")[0].removeprefix("line ")) for line in rest]
    assert numbers == sorted(numbers) and numbers[0] > 0


def test_changes_at_one_place_in_another_order_stay_in_that_order():
    rows = ["0,BCD,A,,", "4.5,AED,AX,,", "4.5,AEC,C,300,200", "4.5,AED,AG,,", "9,BCE,A,,"]
    header = "#B01=AAA,ACA,ACB,ACC,ACD\r\nR1,A,150,150,AE\r\n"
    data = files.one_run(rows, columns="I,A,B,D,E", header=header)
    pipes = files.of_kind(exchange.read(data), "stretch")
    assert [p["material"] for p in pipes] == ["vitrified_clay", "pvc_u", "concrete"]
    changes = [line[:11] for line in files.again(data).split(b"\r\n") if line.startswith(b"4.50")]
    assert changes == [b"4.50,,AED,A", b"4.50,,AEC,C", b"4.50,,AED,A"]
