"""Names that stand only within functions, made short.  Names of modules and properties stay as they are.

A name is changed everywhere in its module or nowhere, so what it means at each place cannot change; and only
where every place at which it stands is understood.  A place that could be read in two ways is refused.
"""

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from .lexer import BEFORE_OPERAND, END, MARK, NAME, NUMBER, STRING, TEMPLATE, Refused, Token
from .strip import is_mark, is_word

BLOCK, OBJECT, CLASS, INSIDE = "block object class inside".split()
KEY, VALUE = "key value".split()
DECLARING = frozenset("const let var".split())
BEFORE_BLOCK = frozenset("else try finally do catch static".split())
WORDS = frozenset(  # of the language, and of the browser where a name of ours is likely
    (
        "break case catch class const continue debugger default delete do else export extends finally for "
        "function if import in instanceof new return super switch this throw try typeof var void while "
        "with yield let static enum await implements package protected interface private public null true "
        "false async of get set as from undefined NaN Infinity arguments eval globalThis window self "
        "document navigator location history name status event top parent length origin screen "
        "performance fetch caches crypto close open stop print find focus blur scroll confirm alert "
        "prompt atob btoa constructor parseFloat parseInt isFinite isNaN encodeURI encodeURIComponent "
        "decodeURI decodeURIComponent escape unescape structuredClone queueMicrotask setTimeout "
        "setInterval clearTimeout clearInterval requestAnimationFrame cancelAnimationFrame "
        "requestIdleCallback matchMedia getComputedStyle addEventListener removeEventListener "
        "dispatchEvent postMessage console indexedDB localStorage sessionStorage innerHeight innerWidth "
        "devicePixelRatio isSecureContext reportError trustedTypes visualViewport importScripts clients "
        "registration"
    ).split()
)
SHORT_ENOUGH = 2
LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(slots=True)
class _Place:
    """One open bracket: what may stand in it, and what was seen in it."""

    kind: str
    state: str = ""
    ternaries: int = 0
    colon: str = ""
    declares: bool = False  # const, let or var stands in it, and its statement goes on
    is_pattern: bool = False  # what it takes apart gets names
    is_params: bool = False
    is_default: bool = False  # after the equals sign of a parameter or of a part of a pattern
    names: list[str] = field(default_factory=list)  # which it declares if it is a list of parameters


def shortened(tokens: list[Token], kept: set[str]) -> list[Token]:
    """Return the tokens of a module with its inner names short; ``kept`` are those of the module itself.

    Raise ``Refused`` with an offset in place of the line where a place is not understood.
    """
    reader = _Reader(tokens)
    reader.read()
    new = _new_names(reader, kept, {t.text for t in tokens if t.kind == NAME})
    out: list[Token] = []
    for i, token in enumerate(tokens):
        short = new.get(token.text) if i in reader.uses else None
        if short is None:
            out.append(token)
        elif i in reader.shorthand:
            out += [token, Token(MARK, ":", token.at, False, False, token.depth)]
            out.append(Token(NAME, short, token.at, False, False, token.depth))
        else:
            out.append(replace(token, text=short))
    return out


def _new_names(reader: "_Reader", kept: set[str], taken: set[str]) -> dict[str, str]:
    count = Counter(reader.tokens[i].text for i in reader.uses)
    wanted = [
        name
        for name in count
        if name in reader.declared
        and name not in kept | reader.unclear | WORDS
        and len(name) > SHORT_ENOUGH
        and not name.startswith("#")
        and not name[0].isupper()  # a class, and every class of the browser
    ]
    wanted.sort(key=lambda name: -count[name])
    taken = taken | kept | WORDS
    new: dict[str, str] = {}
    for name in wanted:
        new[name] = next(one for one in _candidates(name) if one not in taken)
        taken.add(new[name])
    return new


def _candidates(name: str) -> Iterator[str]:
    """Yield short names, the letters of the name first: often the same in every module, which packs well."""
    own = [one for one in name.lower() if one in LETTERS]
    yield from (*own, *(one.upper() for one in own[:1]), *LETTERS)
    yield from (own[0] + one for one in own[1:] if own)
    for length in itertools.count(2):
        yield from ("".join(one) for one in itertools.product(LETTERS, repeat=length))


class _Reader:
    def __init__(self, tokens: list[Token]):
        self.tokens = tokens
        self.uses: set[int] = set()  # where a name stands for a value
        self.shorthand: set[int] = set()  # and for a key at once
        self.declared: set[str] = set()
        self.unclear: set[str] = set()
        self.places = [_Place(BLOCK)]
        self.class_ahead: list[int] = []  # depths at which the braces of a class come next
        self.closed = _Place(INSIDE)

    def refuse(self, token: Token, sentence: str) -> Refused:
        return Refused(token.at, sentence)

    def read(self) -> None:
        for i, token in enumerate(self.tokens):
            before = self.tokens[i - 1] if i else None
            if token.kind == NAME:
                self._name(i, token, before)
            elif token.kind == MARK:
                self._mark(i, token, before)
            elif token.kind == TEMPLATE:
                self._template(token)

    # names

    def _name(self, i: int, token: Token, before: Token | None) -> None:
        place, after = self.places[-1], self._after(i)
        if before is not None and is_mark(before, ".", "?."):
            return
        if place.state == KEY:
            self._key(i, token, after)
            return
        self._check_field(place, token, before)
        if token.text in DECLARING:
            place.declares = True
        elif token.text == "class":
            self.class_ahead.append(len(self.places))
        if token.text in WORDS or token.text.startswith("#"):
            return
        if is_mark(after, ":") and place.kind == BLOCK and not place.ternaries:
            self.unclear.add(token.text)  # a label, or the end of a case
        self._use(i, token)
        if before is not None and self._declares(place, before):
            self.declared.add(token.text)
        if is_mark(after, "=>"):
            self.declared.add(token.text)

    def _declares(self, place: _Place, before: Token) -> bool:
        if is_word(before, *DECLARING, "function", "class"):
            return True
        if place.is_pattern:
            return not place.is_default
        return place.declares and is_mark(before, ",")

    def _use(self, i: int, token: Token) -> None:
        self.uses.add(i)
        if not self.places[-1].is_default:
            self.places[-1].names.append(token.text)

    def _key(self, i: int, token: Token, after: Token) -> None:
        """Read a name where a key or a member begins."""
        place = self.places[-1]
        if place.kind == OBJECT and is_mark(after, ",", "}", "="):
            if token.text.startswith("#") or token.text in WORDS:
                self.unclear.add(token.text)
            self._use(i, token)
            self.shorthand.add(i)
            if place.is_pattern:
                self.declared.add(token.text)
            if is_mark(after, "="):
                place.state = VALUE
        elif place.kind == CLASS and is_mark(after, "="):
            place.state = VALUE
        elif not (
            is_mark(after, ":", "(", "[", "*", "{") or (place.kind == CLASS and is_mark(after, ";", "}"))
        ) and after.kind not in (NAME, STRING, NUMBER):
            raise self.refuse(token, "a key that is not understood")

    def _check_field(self, place: _Place, token: Token, before: Token | None) -> None:
        if place.kind == CLASS and token.newline and before is not None:
            ends = before.kind != MARK or before.text in (")", "]", "}", "++", "--")
            if ends and not (before.kind == NAME and before.text in BEFORE_OPERAND):
                raise self.refuse(token, "a semicolon is missing after a field of a class")

    def _template(self, token: Token) -> None:
        if token.text.startswith("}"):
            self._leave()
        if token.text.endswith("${"):
            self.places.append(_Place(INSIDE))

    def _after(self, i: int) -> Token:
        return self.tokens[i + 1] if i + 1 < len(self.tokens) else Token(END, "", 0, False, False, 0)

    # marks

    def _mark(self, i: int, token: Token, before: Token | None) -> None:
        place, text = self.places[-1], token.text
        if text == "{":
            self._brace(token, before)
        elif text in ("(", "["):
            self.places.append(self._bracket(text, i, before))
        elif text in (")", "]", "}"):
            self._leave()
            if text == ")":
                self._after_params(i)
        elif text == "?":
            place.ternaries += 1
        elif text == ":":
            self._colon(place, token)
        elif text == "=" and place.kind != BLOCK:
            place.is_default = True
        elif text in (",", ";"):
            place.ternaries, place.is_default = 0, False
            if place.kind in (OBJECT, CLASS) and text == ("," if place.kind == OBJECT else ";"):
                place.state = KEY
            if text == ";":
                place.declares = False
        elif text == "..." and place.state == KEY:
            place.state = VALUE

    def _colon(self, place: _Place, token: Token) -> None:
        if place.ternaries:
            place.ternaries -= 1
            place.colon = VALUE
        elif place.kind == OBJECT and place.state == KEY:
            place.state = place.colon = VALUE
        elif place.kind == BLOCK:
            place.colon = BLOCK
        else:
            raise self.refuse(token, "a colon that is not understood")

    def _brace(self, token: Token, before: Token | None) -> None:
        kind = self._brace_kind(token, before)
        is_pattern = kind == OBJECT and self._begins_pattern(before)
        self.places.append(_Place(kind, KEY if kind in (OBJECT, CLASS) else "", is_pattern=is_pattern))

    def _begins_pattern(self, before: Token | None) -> bool:
        place = self.places[-1]
        if before is None or is_word(before, *DECLARING):
            return before is not None
        return (place.is_pattern and not place.is_default) or (place.declares and is_mark(before, ","))

    def _brace_kind(self, token: Token, before: Token | None) -> str:
        if self.class_ahead and self.class_ahead[-1] == len(self.places):
            self.class_ahead.pop()
            return CLASS
        if before is None or is_mark(before, "=>", ")", ";", "{", "}"):
            return BLOCK
        if is_mark(before, ":"):
            return BLOCK if self.places[-1].colon == BLOCK else OBJECT
        if before.kind == MARK and before.text != "]":
            return OBJECT
        if before.kind == NAME and before.text in BEFORE_BLOCK:
            return BLOCK
        if before.kind == NAME and (before.text in BEFORE_OPERAND | DECLARING or before.text == "of"):
            return OBJECT
        if before.kind == TEMPLATE and before.text.endswith("${"):
            return OBJECT
        raise self.refuse(token, "a brace that is not understood")

    def _bracket(self, text: str, i: int, before: Token | None) -> _Place:
        found = _Place(INSIDE, is_pattern=text == "[" and self._begins_pattern(before))
        if text == "(" and before is not None:
            earlier = self.tokens[i - 2] if i > 1 else None
            named = before.kind == NAME and earlier is not None and is_word(earlier, "function")
            starred = named or (earlier is not None and is_mark(earlier, "*") and self._is_generator(i))
            caught = is_word(before, "catch") and not (earlier is not None and is_mark(earlier, ".", "?."))
            found.is_params = caught or starred or is_word(before, "function") or self.places[-1].state == KEY
        return found

    def _is_generator(self, i: int) -> bool:
        return i > 2 and is_word(self.tokens[i - 3], "function")

    def _after_params(self, i: int) -> None:
        if self.closed.is_params or is_mark(self._after(i), "=>"):
            self.declared.update(self.closed.names)

    def _leave(self) -> None:
        self.closed = self.places.pop()
        if self.closed.kind != BLOCK and not self.places[-1].is_default:
            self.places[-1].names += self.closed.names
