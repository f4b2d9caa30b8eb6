"""Tokens written again without comments, indentation and spaces that divide nothing."""

import re
from collections.abc import Iterable

from .lexer import END, MARK, NAME, NUMBER, REGEX, TEMPLATE, Token

# A line break says nothing after a mark that waits for more, and before one that no statement begins with.
# Not so around ++ and --, and before * (in a class it may begin a generator) or what may begin an operand.
AFTER = frozenset(
    "; { , ( [ . ?. ... => = += -= *= %= **= <<= >>= >>>= &= |= ^= &&= ||= ??= ? : ! ~ + - * % ** < > <= >= "
    "== != === !== << >> >>> & | ^ && || ??".split()
)
BEFORE = frozenset("} ) ] ; , . ?. ? : = += -= < > <= >= == != === !== << >> >>> & | ^ && || ?? % **".split())
WORD = re.compile(r"[\w$#]")


def written(tokens: Iterable[Token]) -> str:
    """Return the text of tokens.  A line break stays one, but where none can end a statement or begin one."""
    parts: list[str] = []
    last: Token | None = None
    for token in tokens:
        if token.kind == END:
            break
        if last is not None:
            if token.newline and not (is_mark(last, *AFTER) or is_mark(token, *BEFORE)):
                parts.append("\n")
            elif needs_space(last, token):
                parts.append(" ")
        parts.append(token.text)
        last = token
    return "".join(parts)


def needs_space(left: Token, right: Token) -> bool:
    """Say whether two tokens side by side would be read as something else."""
    end, start = left.text[-1], right.text[0]
    if WORD.match(start) and (left.kind == REGEX or (WORD.match(end) and left.kind != TEMPLATE)):
        return True
    if left.kind == NUMBER and start == ".":
        return True
    if left.kind == MARK and right.kind in (MARK, REGEX, NUMBER):
        # +  ++x, a < !--b, / /x/, ? .5 and the like: a space costs one byte, a wrong reading everything.
        return end in "+-<>=&|?*/!.%^" and start in "+-<>=&|?*/!.%^"
    return False


def is_word(token: Token, *texts: str) -> bool:
    """Say whether a token is one of these names."""
    return token.kind == NAME and token.text in texts


def is_mark(token: Token, *texts: str) -> bool:
    """Say whether a token is one of these marks."""
    return token.kind == MARK and token.text in texts
