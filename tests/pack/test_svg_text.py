"""Every character that a person can enter leaves an SVG well-formed."""

from xml.etree import ElementTree

import pytest

from webapp.pack.svg import text, xml_text

ODD = ["\ufffe", "\uffff", "\x00", "\x0b", "\x1f", "\ud800"]


@pytest.mark.parametrize("char", ODD)
def test_what_xml_has_no_place_for_is_replaced(char):
    svg = f'<svg xmlns="http://www.w3.org/2000/svg">{text(0, 0, f"a{char}b")}</svg>'
    (element,) = ElementTree.fromstring(svg)
    assert element.text == "a\ufffdb"


def test_everything_else_stays():
    words = "".join(
        chr(n) for n in (*range(0x20, 0xD800), *range(0xE000, 0xFFFE), 0x1F4A7, 0x1FFFE, 0x10FFFF, 9, 10)
    )
    assert ElementTree.fromstring(f"<t>{xml_text(words)}</t>").text == words
