"""Bad exchange files: told line by line, never a traceback, nothing half-imported."""

import json

import exchange_files as files
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from webapp import exchange
from webapp.errors import AppError
from webapp.schemas import check_entry

EXAMPLE = files.EXAMPLE.encode("latin-1")
GOOD = "3.50,,BBA,B,,10,,9,3,A,,roots"


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("1,,BBA,B,,10,,13,,,,", "clock position '13'"),
        ("1,,BBA,B,,10,,0,,,,", "clock position '0'"),
        ("1,,BBA,B,,10,,2.5,,,,", "clock position '2.5'"),
        ("1,,BBA,B,,10,,noon,,,,", "clock position 'noon'"),
        ("1,,BBA,B,,10,,,3,,,", "a clock position ends"),
        ("1,,BBA,B,,a few,,9,,,,", "quantification 'a few' is not a number"),
        ("1,,BBA,B,,-5,,9,,,,", "must lie between 0 and 100000"),
        ("1,,BBA,B,,1e3,,9,,,,", "quantification '1e3'"),
        ("1,,BBA,B,,=2+3,,9,,,,", "quantification '=2+3'"),
        ("about 3,,BBA,B,,,,,,,,", "distance 'about 3' is not a number"),
        (",,BBA,B,,,,,,,,", "it has no distance"),
        ("99999,,BBA,B,,,,,,,,", "further than 5000 m"),
        ("1,,,B,,,,,,,,", "it has no code"),
        ("1,,bba,B,,,,,,,,", "A code is made of capital letters"),
        ("1,,BBA,B,,10,,9,3,A,,a,b", "13 fields under 12 columns"),
        ('1,,BBA,B,,10,,9,3,A,,"open', "a text delimiter is not closed"),
        ("nan,,BBA,B,,,,,,,,", "distance 'nan'"),
        ("\u0661,,BBA,B,,,,,,,,", "distance '?'"),
    ],
)
def test_a_bad_row_is_kept_as_a_remark_with_its_reason(row, reason):
    report = exchange.read(files.one_run([GOOD, row.replace("\u0661", "?"), GOOD]))
    (note,) = [n for n in report.notes if n.outcome == "remark"]
    assert reason in note.why and note.line == 11
    (remark,) = [
        r for r in files.of_kind(report, "remark") if r["text"].startswith("Row of the exchange file")
    ]
    assert reason in remark["text"] and row.replace("\u0661", "?") in remark["text"]
    assert len(files.of_kind(report, "observation")) == 2
    assert all(check_entry(e) == {} for e in report.entries)


@pytest.mark.parametrize(
    ("spoil", "line", "outcome", "words"),
    [
        (lambda t: t.replace("#C=", "stray\r\n#C=", 1), 13, "left_out", "no column line stands above it"),
        (lambda t: t.replace("#Z\r\n", "#Z\r\n1.0,BBA\r\n", 1), 26, "left_out", "outside of an inspection"),
        (lambda t: t.replace("#Z\r\n", "#Q=what\r\n#Z\r\n", 1), 25, "left_out", "no such line is known"),
        (lambda t: t.replace("PI-26-7,C,27.4", "PI-26-7"), 10, "changed", "9 codes, 7 values"),
        (lambda t: t.replace("A,300,300", "A,three,300"), 12, "kept", "it is not a number"),
        (lambda t: t.replace("A,300,300", "A,5,300"), 12, "kept", "must lie between 10 and 20000 mm"),
        (lambda t: t.replace("A,300,300,AG", "A,300,300,QQ"), 12, "kept", "it is not in the list"),
        (lambda t: t.replace("2026-04-09,10", "2026-02-31,10"), 10, "kept", "It is no date"),
        (lambda t: t.replace("AAK,AAN", "AAK,AAK", 1), 8, "left_out", "the code is there already"),
        (lambda t: t.replace("AAK,AAN", "AAK,A N", 1), 8, "left_out", "that is no header code"),
        (lambda t: t.replace("M,N,F", "M,M,F", 1), 13, "left_out", "it is named twice"),
        (lambda t: t.replace(",A1,BAB", ",S1,BAB"), 17, "kept", "A01, B01 or C01"),
        (lambda t: t.replace("7,,A,IMG2", "7,,Y,IMG2"), 16, "kept", "only A (at a joint) is known"),
        (lambda t: t.replace("BAJ,B", "BAJ,Q"), 16, "kept", "it is not in the table"),
        (lambda t: t.replace("shells", "she\x07lls"), 20, "changed", "each is now a ?"),
        (lambda t: t.replace("#A4=.", "#A4=x"), 4, "assumed", "'x' is none"),
        (lambda t: t + "#A3=;\r\n", 37, "left_out", "after the first inspection"),
        (lambda t: t.replace("00:05:33,\r\n", "00:05:33\r\n"), 23, "changed", "fields are missing"),
        (lambda t: t[:-20], 35, "assumed", "not ended by #Z"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_line(spoil, line, outcome, words):
    report = exchange.read(spoil(files.EXAMPLE).encode("latin-1"))
    found = [(n.line, n.outcome) for n in report.notes if words in n.why]
    assert found == [(line, outcome)], [n.sentence for n in report.notes]
    assert len(files.of_kind(report, "run")) == 2


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "exchange_empty"),
        (b"\xef\xbb\xbf\r\n\r\n", "exchange_empty"),
        (files.HEAD.encode(), "exchange_empty"),
        (files.HEAD.encode() + b"#Z\r\n", "exchange_empty"),
        (files.HEAD.encode() + b"#B01=AAA\r\n\r\n#C=I,A\r\n#Z\r\n", "exchange_empty"),
        (b"PK\x03\x04 a zip", "exchange_unreadable"),
        (b"%PDF-1.7", "exchange_unreadable"),
        (b"counter;inclination\r\n1;2\r\n", "exchange_unreadable"),
        (b'{"format": "fallbook-job"}', "exchange_unreadable"),
        (EXAMPLE.replace(b"shells", b"sh\0lls"), "exchange_unreadable"),
        (files.EXAMPLE.encode("utf-16"), "exchange_unreadable"),
        (EXAMPLE.replace(b"#C=I,J,A,", b"#C=I,J,Q,", 1), "exchange_unreadable"),
        (EXAMPLE.replace(b"#C=I,J,A,", b"#C=Q,J,A,", 1), "exchange_unreadable"),
        (EXAMPLE + b" " * exchange.MAX_BYTES, "exchange_too_large"),
    ],
)
def test_an_unusable_file_is_refused_whole(data, code):
    with pytest.raises(AppError) as refused:
        exchange.read(data)
    assert refused.value.code == code
    assert refused.value.sentence.endswith(".")


def test_too_many_rows_are_refused(monkeypatch):
    monkeypatch.setattr("webapp.exchange.parser.MAX_ROWS", 5)
    with pytest.raises(AppError) as refused:
        exchange.read(EXAMPLE)
    assert refused.value.code == "exchange_too_large" and "rows" in refused.value.sentence


def test_formulas_stay_text():
    row = '1,,BDB,,,,,,,,,"=HYPERLINK(1,2)"'
    assert files.of_kind(exchange.read(files.one_run([row])), "observation")[0]["remark"] == "=HYPERLINK(1,2)"


@pytest.mark.parametrize("cut", range(0, len(EXAMPLE), 37))
def test_a_file_cut_anywhere_is_told_or_refused(cut):
    try:
        report = exchange.read(EXAMPLE[:cut])
    except AppError as error:
        assert error.code in ("exchange_empty", "exchange_unreadable")
        return
    ended = EXAMPLE[:cut].rstrip(b"\r\n").endswith(b"#Z")
    last = EXAMPLE[:cut].rstrip(b"\r\n").count(b"\n") + 1
    assert ended or any(n.line == last for n in report.notes), report.lines()


def test_utf_8_cut_inside_a_letter():
    data = files.EXAMPLE.replace("ISO-8859-1", "UTF-8").replace("bricks", "é").encode()
    report = exchange.read(data[: data.index("é".encode()) + 1])
    assert report.layout.charset == "UTF-8"
    assert any("cut inside it" in n.why for n in report.notes)


def test_looks_like_tells_exchange_files_from_others():
    assert exchange.looks_like(EXAMPLE[:300]) and exchange.looks_like(b"\xef\xbb\xbf\r\n#B01=AAA\n")
    for other in (b"", b"PK\x03\x04", b"#A=1", b"# A1=", b'{"a": 1}', b"I,J,A"):
        assert not exchange.looks_like(other)


PIECES = st.sampled_from(
    [b"#A1=UTF-8", b"#A3=;", b"#A3=", b"#A4=,", b"#A5='", b"#A5=", b"#B01=AAA,AAB", b"#B01=AAA", b"#B999=X",
     b"#B02=ACB,ACA", b"#C=I,A,F", b"#C=I,A", b"#C=", b"#Z", b"", b",", b"1.0,BBA,x", b"1.0;BBA;x",
     b"-1,AEC,A", b'"', b"'", b'1,BDB,"a""b"', b"\xff\xfe", b"\xc3", b"#", b"0,AED", b"5000,BCE",
     b"-5000,BCD",
     b"9" * 400, b"1," * 500]
)  # fmt: skip
ENDS = st.sampled_from([b"\r\n", b"\n", b"\r", b""])
LINES = st.lists(st.tuples(PIECES | st.binary(max_size=12), ENDS).map(b"".join), max_size=25).map(b"".join)
DAMAGE = st.lists(
    st.tuples(st.integers(0, len(EXAMPLE)), st.binary(max_size=6), st.integers(0, 40)), max_size=4
)


def damaged(blows):
    data = EXAMPLE
    for at, put, gone in blows:
        data = data[:at] + put + data[at + gone :]
    return data


@settings(max_examples=150, deadline=None)
@given(LINES.map(lambda tail: b"#A6=2010\r\n" + tail) | DAMAGE.map(damaged))
@example(b"#B01=AAA\r\n\r\n#B01=AAA\r\n#C=I,A\r\n1,BBA\r\n")
@example(b"#C=A,I\r\nBBA,1")
@example(b"#A6=2010\r\n#B01=AAA,AAB\r\n\xef\xbb\xbf\r\n")  # a value that cannot be seen
def test_no_bytes_bring_the_reader_down(data):
    try:
        report = exchange.read(data)
    except AppError as error:
        assert error.code.startswith("exchange_")
        return
    assert all(check_entry(e) == {} for e in report.entries)
    json.dumps(report.entries, allow_nan=False)
    assert report.lines()
    once = files.again(data)
    assert files.again(once) == once
