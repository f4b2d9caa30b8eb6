"""A reader of exchange files written from what is known of the format, and from nothing of ours.

It is strict: it takes only what the format says, so that a file with a fault in it fails here.
"""

import re


def fields_of(line, separator, delimiter):
    """Part a line at separators that stand outside of text delimiters."""
    found, inside, current = [], False, ""
    for sign in line:
        if delimiter and sign == delimiter:
            inside = not inside
        elif sign == separator and not inside:
            found.append(current)
            current = ""
        else:
            current += sign
    assert not inside, line
    return [*found, current]


def read_file(data):
    """Return the layout and the inspections: header values by code, rows by column letter."""
    first = data.split(b"\r\n", 1)[0].decode("ascii")
    assert first.startswith("#A1=")
    text = data.decode(first[4:])
    assert text.endswith("\r\n")
    lines = text[:-2].split("\r\n")
    assert not any("\r" in line or "\n" in line for line in lines)
    layout, at = {}, 0
    while lines[at].startswith("#A"):
        name, _, value = lines[at].partition("=")
        layout[name[1:]] = value
        at += 1
    assert list(layout) == ["A1", "A2", "A3", "A4", "A5", "A6"]
    assert layout["A6"] == "2010"
    inspections = []
    while at < len(lines):
        at, inspection = read_inspection(lines, at, layout["A3"], layout["A5"])
        inspections.append(inspection)
    return layout, inspections


def read_inspection(lines, at, separator, delimiter):
    """Read header pairs, the column line and rows up to #Z."""
    header, block = {}, 1
    while lines[at].startswith("#B"):
        name, _, codes = lines[at].partition("=")
        assert name == f"#B{block:02d}"
        codes, values = codes.split(separator), fields_of(lines[at + 1], separator, delimiter)
        assert len(codes) == len(values), lines[at : at + 2]
        assert not set(codes) & set(header)
        header.update(zip(codes, values, strict=True))
        at, block = at + 2, block + 1
    assert header and lines[at].startswith("#C=")
    columns = lines[at][3:].split(separator)
    assert len(set(columns)) == len(columns)
    at, rows = at + 1, []
    while lines[at] != "#Z":
        assert not lines[at].startswith("#"), lines[at]
        values = fields_of(lines[at], separator, delimiter)
        assert len(values) == len(columns), lines[at]
        rows.append({c: v for c, v in zip(columns, values, strict=True) if v})
        at += 1
    return at + 1, (header, rows)


def number(text, decimal):
    """Read a number with the file's own decimal sign and no thousands sign."""
    assert re.fullmatch(rf"-?\d+({re.escape(decimal)}\d+)?", text), text
    return float(text.replace(decimal, "."))
