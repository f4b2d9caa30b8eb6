"""JavaScript in tokens.  What could be read in two ways is refused, never guessed."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

NAME, NUMBER, STRING, TEMPLATE, REGEX, MARK, END = "name number string template regex mark end".split()

GAP = re.compile(
    r"(?:[\t\v\f \u00a0\ufeff\u1680\u2000-\u200a\u202f\u205f\u3000\n\r\u2028\u2029]+"
    r"|//[^\n\r\u2028\u2029]*|/\*.*?\*/)+",
    re.S,
)
LINE_END = re.compile(r"[\n\r\u2028\u2029]")
TOKEN = re.compile(
    r"(?P<name>#?(?:[^\W\d]|\$)[\w$]*)"
    r"|(?P<number>(?:0[xX][\da-fA-F_]+|0[oO][0-7_]+|0[bB][01_]+"
    r"|(?:\d[\d_]*(?:\.[\d_]*)?|\.\d[\d_]*)(?:[eE][+-]?\d[\d_]*)?)n?)"
    r"|(?P<string>'(?:[^'\\\n\r]|\\(?:\r\n|.))*'|\"(?:[^\"\\\n\r]|\\(?:\r\n|.))*\")"
    r"|(?P<mark>>>>=|\.\.\.|===|!==|\*\*=|<<=|>>=|>>>|&&=|\|\|=|\?\?="
    r"|=>|==|!=|<=|>=|&&|\|\||\?\?|\?\.(?!\d)|\+\+|--|\+=|-=|\*=|%=|&=|\|=|\^=|<<|>>|\*\*"
    r"|[{}()\[\];,<>+\-*%&|^!~?:=.])",
    re.S,
)
CHUNK = re.compile(r"(?:[^`\\$]|\\.|\$(?!\{))*(?:`|\$\{)", re.S)
PATTERN = re.compile(
    r"/(?:[^/\\\[\n\r\u2028\u2029]|\\[^\n\r\u2028\u2029]|\[(?:[^\]\\\n\r\u2028\u2029]|\\[^\n\r\u2028\u2029])*\])+"
    r"/[A-Za-z]*"
)
DIVISION = re.compile(r"/=?")
WORD_START = re.compile(r"[\w$\\#]")
# After these words comes an operand, so a slash begins a regular expression.
BEFORE_OPERAND = frozenset(
    "return typeof case do else in instanceof new void delete throw await yield extends default".split()
)
BEFORE_BRACKET = frozenset("if while for with".split())  # and after their brackets a statement
OPENING, CLOSING = {"(": ")", "[": "]", "{": "}"}, frozenset(")]}")


class Refused(ValueError):
    """A form that is not taken, with the line where it stands."""

    def __init__(self, line: int, sentence: str):
        super().__init__(sentence)
        self.line, self.sentence = line, sentence


@dataclass(slots=True)
class Token:
    """One token; ``newline`` and ``gap`` say what stood before it, ``depth`` how many brackets are open."""

    kind: str
    text: str
    at: int
    gap: bool
    newline: bool
    depth: int


def line_of(source: str, at: int) -> int:
    """Return the number of the line at an offset, from 1."""
    return len(re.findall(r"\r\n|[\n\r\u2028\u2029]", source[:at])) + 1


def tokens(source: str) -> list[Token]:
    """Return the tokens of a module, the end among them; raise ``Refused`` with the line."""
    return list(_Reader(source).read())


class _Reader:
    def __init__(self, source: str):
        self.source, self.at = source, 0
        self.open: list[tuple[str, bool]] = []  # bracket, and whether a statement follows its end
        self.last: Token | None = None
        self.before: Token | None = None
        self.statement = False  # the last token closed a bracket after which a statement follows

    def refuse(self, sentence: str) -> Refused:
        return Refused(line_of(self.source, self.at), sentence)

    def read(self) -> Iterator[Token]:
        """Yield every token."""
        while True:
            start = self.at
            gap = GAP.match(self.source, start)
            if gap:
                self.at = gap.end()
            newline = bool(gap and LINE_END.search(self.source, start, self.at))
            if self.at == len(self.source):
                if self.open:
                    raise self.refuse(f"{self.open[-1][0]} is never closed")
                yield Token(END, "", self.at, bool(gap), newline, 0)
                return
            token = self._next(bool(gap), newline)
            yield token
            self.before, self.last = self.last, token

    def _next(self, gap: bool, newline: bool) -> Token:
        source, at = self.source, self.at
        found = TOKEN.match(source, at)
        if found:
            kind, text = str(found.lastgroup), found[0]
            self.at = found.end()
            if kind == NUMBER and WORD_START.match(source, self.at):
                raise self.refuse("a number runs into a word")
            depth = len(self.open)
            if kind == MARK:
                if text in CLOSING:
                    return self._close(text, at, gap, newline)
                self._open(text)
                if text == "<" and source.startswith("!--", self.at):
                    raise self.refuse("<!-- begins a comment in a plain script")
            return Token(kind, text, at, gap, newline, depth)
        if source[at] == "`":
            return self._template(at, at + 1, gap, newline)
        if source[at] == "/":
            return self._slash(gap, newline)
        raise self.refuse(f"{source[at]!r} begins no token")

    def _open(self, text: str) -> None:
        if text in OPENING:
            word = self.last is not None and self.last.kind == NAME and self.last.text in BEFORE_BRACKET
            member = self.before is not None and self.before.text in (".", "?.")
            self.open.append((text, word and not member))

    def _close(self, text: str, at: int, gap: bool, newline: bool) -> Token:
        if not self.open:
            raise self.refuse(f"{text} closes nothing")
        bracket, self.statement = self.open.pop()
        if bracket == "${" and text == "}":
            return self._template(at, at + 1, gap, newline)
        if OPENING.get(bracket) != text:
            raise self.refuse(f"{text} closes {bracket}")
        return Token(MARK, text, at, gap, newline, len(self.open))

    def _template(self, at: int, start: int, gap: bool, newline: bool) -> Token:
        found = CHUNK.match(self.source, start)
        if not found:
            raise self.refuse("a template is never closed")
        self.at = found.end()
        depth = len(self.open)
        if found[0].endswith("${"):
            self.open.append(("${", False))
        return Token(TEMPLATE, self.source[at : self.at], at, gap, newline, depth)

    def _slash(self, gap: bool, newline: bool) -> Token:
        at = self.at
        kind, form = (REGEX, PATTERN) if self._operand_next() else (MARK, DIVISION)
        found = form.match(self.source, at)
        if not found:
            raise self.refuse("a regular expression is never closed")
        self.at = found.end()
        return Token(kind, found[0], at, gap, newline, len(self.open))

    def _operand_next(self) -> bool:
        """Say whether a slash begins a regular expression here."""
        last = self.last
        if last is None:
            return True
        if last.kind == NAME:
            member = self.before is not None and self.before.text in (".", "?.")
            if last.text == "of" and not member:
                raise self.refuse("a slash after the word of")
            return last.text in BEFORE_OPERAND and not member
        if last.kind == TEMPLATE:
            return last.text.endswith("${")
        if last.kind != MARK:
            return False
        if last.text == "}":
            raise self.refuse("a slash after a closing brace: name the value first")
        if last.text == ")":
            return self.statement
        if last.text in ("++", "--"):
            return False
        return last.text != "]"
