"""What a module brings in and gives out, read from its tokens.

Taken::

    import { a, b as c } from './x.js';      export function a() {}      export { a, b as c };
    import * as x from './x.js';             export async function a()   export { a } from './x.js';
                                             export class A {}           export {};
                                             export const A = 1;

Every other form is refused with its line.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from .lexer import END, NAME, STRING, Refused, Token, line_of, tokens
from .names import shortened
from .strip import is_mark, is_word, written

RESERVED = "modules__"  # the name under which the joined script finds its modules


@dataclass(slots=True)
class Import:
    """Names brought in from one module: (its name there, its name here); ``whole`` for ``* as``."""

    path: str
    names: list[tuple[str, str]]
    whole: str
    line: int


@dataclass(slots=True)
class Module:
    """One module: what it brings in, what it gives out (name out, name within), its body without either."""

    imports: list[Import] = field(default_factory=list)
    exports: list[tuple[str, str]] = field(default_factory=list)
    body: str = ""


def read_module(source: str, watch: Callable[[list[Token]], object] | None = None) -> Module:
    """Return a module; raise ``Refused`` for a form that is not taken.

    ``watch`` is shown the tokens of its body before names are made short.
    """
    parser = _Parser(source)
    parser.parse()
    if watch:
        watch(parser.rest)
    return parser.finish()


class _Parser:
    def __init__(self, source: str):
        self.source = source
        self.tokens = tokens(source)
        self.at = 0
        self.module = Module()
        self.rest: list[Token] = []
        self.fixed: set[str] = set()  # names declared at the top that never change

    def refuse(self, token: Token, sentence: str) -> Refused:
        return Refused(line_of(self.source, token.at), sentence)

    def take(self) -> Token:
        token = self.tokens[self.at]
        self.at += 1
        return token

    @property
    def next(self) -> Token:
        return self.tokens[self.at]

    def parse(self) -> None:
        last: Token | None = None
        while self.next.kind != END:
            token = self.take()
            member = last is not None and is_mark(last, ".", "?.")
            if token.kind == NAME and not member:
                if token.text == "import":
                    self._import(token)
                    last = None
                    continue
                if token.text == "export":
                    self._export(token)
                    last = None
                    continue
                self._plain(token)
            self.rest.append(token)
            last = token
        self._check_lists()

    def finish(self) -> Module:
        try:
            self.module.body = written(shortened(self.rest, self.fixed))
        except Refused as error:
            raise Refused(line_of(self.source, error.line), error.sentence) from error
        return self.module

    def _plain(self, token: Token) -> None:
        if token.text == RESERVED:
            raise self.refuse(token, f"{RESERVED} is the joined script's own name")
        if token.depth:
            return
        if token.text == "await":
            raise self.refuse(token, "await stands outside every function")
        if token.text in ("function", "class", "const"):
            name = self.next if not is_mark(self.next, "*") else self.tokens[self.at + 1]
            if name.kind == NAME:
                self.fixed.add(name.text)

    def _import(self, word: Token) -> None:
        if word.depth or is_mark(self.next, "(", "."):
            raise self.refuse(word, "import() and import.meta are not taken: import names at the top")
        names: list[tuple[str, str]] = []
        whole = ""
        if is_mark(self.next, "{"):
            names = self._names()
        elif is_mark(self.next, "*"):
            self.take()
            self._word("as")
            whole = self._name()
        else:
            raise self.refuse(word, "only import { names } and import * as name are taken")
        self._word("from")
        self.module.imports.append(self._from(word, names, whole))
        self.next.newline = True
        self.fixed.update(here for _, here in names)
        if whole:
            self.fixed.add(whole)

    def _from(self, word: Token, names: list[tuple[str, str]], whole: str) -> Import:
        path = self.take()
        if path.kind != STRING or "\\" in path.text:
            raise self.refuse(path, "a path in quotes is missing")
        if not is_mark(self.next, ";"):
            raise self.refuse(word, "a semicolon is missing at the end")
        self.take()
        return Import(path.text[1:-1], names, whole, line_of(self.source, word.at))

    def _export(self, word: Token) -> None:
        if word.depth:
            raise self.refuse(word, "export stands within brackets")
        following = self.next
        if is_mark(following, "{"):
            self._export_list(word)
            self.next.newline = True
            return
        if is_word(following, "async"):
            following = self.tokens[self.at + 1]
            if not is_word(following, "function"):
                raise self.refuse(word, "export async goes with function only")
        if not is_word(following, "function", "class", "const"):
            raise self.refuse(word, f"export {following.text} is not taken")
        name = self.tokens[self.tokens.index(following, self.at) + 1]
        if is_mark(name, "*"):
            name = self.tokens[self.tokens.index(name, self.at) + 1]
        if name.kind != NAME:
            raise self.refuse(word, "what is exported needs one name")
        if following.text == "const":
            self._one_const(word)
        self.next.newline = True
        self.module.exports.append((name.text, name.text))

    def _one_const(self, word: Token) -> None:
        """See that a constant is one name, set once, with its semicolon."""
        if not is_mark(self.tokens[self.at + 2], "="):
            raise self.refuse(word, "export const goes with one name and its value")
        for token in self.tokens[self.at + 3 :]:
            if token.depth:
                continue
            if is_mark(token, ";"):
                return
            if is_mark(token, ","):
                raise self.refuse(token, "export const goes with one name only")
            if token.kind == END or is_word(token, "export", "import", "const", "let"):
                break
        raise self.refuse(word, "a semicolon is missing at the end")

    def _export_list(self, word: Token) -> None:
        names = self._names()
        if is_word(self.next, "from"):
            self.take()
            inner = [
                (there, f"{RESERVED[:-1]}{len(self.module.exports) + i}")
                for i, (there, _) in enumerate(names)
            ]
            self.module.imports.append(self._from(word, inner, ""))
            self.fixed.update(here for _, here in inner)
            self.module.exports += [(out, here) for (_, out), (_, here) in zip(names, inner, strict=True)]
            return
        if not is_mark(self.next, ";"):
            raise self.refuse(word, "a semicolon is missing at the end")
        self.take()
        self.module.exports += [(out, within) for within, out in names]

    def _check_lists(self) -> None:
        seen: set[str] = set()
        for out, within in self.module.exports:
            if within not in self.fixed:
                raise Refused(
                    1, f"{within} is exported but no import, function, class or constant at the top"
                )
            if out in seen:
                raise Refused(1, f"{out} is exported twice")
            seen.add(out)

    def _names(self) -> list[tuple[str, str]]:
        """Read ``{ a, b as c }`` and return the pairs."""
        found: list[tuple[str, str]] = []
        self.take()
        while not is_mark(self.next, "}"):
            name = self._name()
            other = name
            if is_word(self.next, "as"):
                self.take()
                other = self._name()
            found.append((name, other))
            if not is_mark(self.next, "}"):
                comma = self.take()
                if not is_mark(comma, ","):
                    raise self.refuse(comma, "a comma is missing in a list of names")
        self.take()
        return found

    def _name(self) -> str:
        token = self.take()
        if token.kind != NAME or token.text == "default":
            raise self.refuse(token, f"{token.text} is no name that is taken here")
        return token.text

    def _word(self, text: str) -> None:
        token = self.take()
        if token.kind != NAME or token.text != text:
            raise self.refuse(token, f"{text} is missing")
