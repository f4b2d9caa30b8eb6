"""Comments and spaces go from a script, and nothing else does."""

import itertools
import json
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from joined_code import MODULES

from webapp.web.joiner import strip
from webapp.web.joiner.join import stripped
from webapp.web.joiner.lexer import Refused, tokens
from webapp.web.joiner.strip import is_mark, written

# the tokens

names = st.sampled_from(["a", "$b", "_c", "in", "typeof", "return", "of1", "été", "#p", "async", "let"])
numbers = st.sampled_from(["0", "1.5", ".5", "1.", "0xfF", "1e-9", "1_000", "10n", "0b10"])
insides = st.text(st.sampled_from("ab/*{}()'\"`$\\ \n."), max_size=8)
strings = insides.map(lambda s: json.dumps(s.replace("\n", ""))) | insides.map(
    lambda s: "'" + s.replace("\\", "\\\\").replace("'", "\\'").replace("\n", "\\n") + "'"
)
templates = insides.map(lambda s: "`" + s.replace("\\", "\\\\").replace("`", "\\`").replace("$", "\\$") + "`")
operators = st.sampled_from(
    [
        "+",
        "-",
        "*",
        "/",
        "%",
        "**",
        "<",
        ">",
        "<=",
        "===",
        "!==",
        "&&",
        "||",
        "??",
        ">>>",
        "=",
        "+=",
        "/=",
        "?.",
        ".",
        ",",
    ]
)
prefixes = st.sampled_from(["!", "-", "+", "--", "++", "~", "typeof ", "..."])
regexes = st.sampled_from(
    ["/a/", "/[/]/g", "/\\//u", "/'`\"/", "/a*b+?/giy", "/[^\\]]{2,3}/", "/=/", "/\\/\\*/"]
)
gaps = st.sampled_from(
    ["", " ", "  ", "\n", "\n\n  ", "/**/", " // a ' ` /* \n", "/* ' ` // \n */", "\t", "\u00a0"]
)
simple = names | numbers | strings | templates


@st.composite
def expressions(draw, depth=0):
    """Pieces of an expression, in an order that a parser would take: operand, operator, operand."""
    pieces = []
    for i in range(draw(st.integers(1, 4))):
        if i:
            pieces.append(draw(operators))
        if draw(st.booleans()):
            pieces.append(draw(prefixes))
        kind = draw(st.integers(0, 5)) if depth < 3 else 0
        if kind == 1:
            pieces += ["(", *draw(expressions(depth + 1)), ")"]
        elif kind == 2:
            pieces += ["[", *draw(expressions(depth + 1)), "]"]
        elif kind == 3:
            pieces += ["`x${", *draw(expressions(depth + 1)), "}y${", *draw(expressions(depth + 1)), "}`"]
        elif kind == 4 and pieces and pieces[-1] not in (".", "?.", "++", "--"):
            pieces.append(draw(regexes))
        else:
            pieces.append(
                draw(st.sampled_from(["a", "b1"])) if pieces[-1:] in (["."], ["?."]) else draw(simple)
            )
    return pieces


def spaced(draw, pieces):
    """The pieces with gaps between, at least a space where two would run together."""
    return "".join(f"{piece}{draw(gaps)} " for piece in pieces)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_stripping_keeps_every_token_and_every_line_break(data):
    source = spaced(data.draw, data.draw(expressions()))
    try:
        before = tokens(source)
    except Refused:
        return
    after = tokens(written(before))
    assert [(t.kind, t.text, t.depth) for t in after] == [(t.kind, t.text, t.depth) for t in before]
    breaks = [
        right.newline and not is_mark(left, *strip.AFTER) and not is_mark(right, *strip.BEFORE)
        for left, right in itertools.pairwise(before)
    ]
    assert [t.newline for t in after][1:-1] == breaks[:-1], "a line break can end a statement"
    assert written(after) == written(before), "twice is once"


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(MODULES), st.randoms(use_true_random=False))
def test_comments_and_spaces_between_tokens_change_nothing(path, random):
    found = tokens(path.read_text(encoding="utf-8"))
    quiet = (" ", "\t ", " /* a */", " /*'`*/ ", " /**/ ")
    loud = ("\n", "\r\n  ", " // it's `one\n", " /* \n */")
    parts = [random.choice(loud if token.newline else quiet) + token.text for token in found]
    again = tokens("".join(parts))
    assert [t.text for t in again] == [t.text for t in found]
    assert written(again).strip() == written(found).strip()


def test_a_script_that_stands_alone_is_stripped_too(tmp_path):
    path = Path(tmp_path / "a.js")
    path.write_text("// one\n  const a = 1; // two\n\n\n  /* three */ f(a + +a)\n", encoding="utf-8")
    assert stripped(path).strip() == "const a=1;f(a+ +a)"
